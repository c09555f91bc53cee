/** The instant that a payload says it was measured at: a number of seconds or less since 1970, or a text by ISO 8601. */

/** Up to these a number counts seconds, milliseconds, microseconds since 1970; above, nanoseconds. Each lies thousands of years off. */
const MOST_S = 1e11;
const MOST_MS = 1e14;
const MOST_US = 1e17;

const ISO = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)(?::(\d\d)(?:[.,](\d{1,9}))?)?\s*(Z|[+-]\d\d:?\d\d)$/i;
const DAY_MS = 86_400_000;

/**
 * A board's uptime or a running number comes out as an instant soon after 1970, which still says what came first.
 * @returns UTC ms; undefined for what is no time, or a time of day without a zone
 */
export function saidTimeMs(value: unknown): number | undefined {
  if (typeof value === 'number') return fromNumber(value);
  if (typeof value !== 'string') return undefined;
  const text = value.trim();
  return /^\d{1,20}(\.\d{1,9})?$/.test(text) ? fromNumber(Number(text)) : fromIso(text);
}

function fromNumber(count: number): number | undefined {
  if (!Number.isFinite(count) || count < 0) return undefined;
  if (count >= MOST_US) return Math.round(count / 1e6);
  if (count >= MOST_MS) return Math.round(count / 1e3);
  return Math.round(count >= MOST_S ? count : count * 1000);
}

function fromIso(text: string): number | undefined {
  const parts = ISO.exec(text);
  if (parts === null) return undefined;
  const [year = 0, month = 0, day = 0, hours = 0, minutes = 0, seconds = 0] = parts
    .slice(1, 7)
    .map((part) => Number(part ?? 0));
  if (month < 1 || month > 12 || day < 1 || day > lastDayOf(year, month)) return undefined;
  // A leap second is the 60th.
  if (hours > 23 || minutes > 59 || seconds > 60) return undefined;
  const offsetMinutes = zoneMinutes(parts[8] ?? 'Z');
  if (offsetMinutes === undefined) return undefined;
  const ofDayMs = ((hours * 60 + minutes - offsetMinutes) * 60 + seconds) * 1000;
  return daysSince1970(year, month, day) * DAY_MS + ofDayMs + Math.floor(Number(`0.${parts[7] ?? '0'}`) * 1000);
}

function zoneMinutes(zone: string): number | undefined {
  if (zone.toUpperCase() === 'Z') return 0;
  const hours = Number(zone.slice(1, 3));
  const minutes = Number(zone.slice(-2));
  if (hours > 14 || minutes > 59) return undefined;
  return (zone.startsWith('-') ? -1 : 1) * (hours * 60 + minutes);
}

function lastDayOf(year: number, month: number): number {
  if (month === 2) return year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 29 : 28;
  return [4, 6, 9, 11].includes(month) ? 30 : 31;
}

/** Counted in years that begin in March, so that a leap day is the last of its year. Gregorian calendar. */
function daysSince1970(year: number, month: number, day: number): number {
  const marchYear = month > 2 ? year : year - 1;
  const marchMonth = (month + 9) % 12;
  const daysOfYears =
    365 * marchYear + Math.floor(marchYear / 4) - Math.floor(marchYear / 100) + Math.floor(marchYear / 400);
  // From 1 March of year 0 to 1 January 1970 are 719,468 days.
  return daysOfYears + Math.floor((153 * marchMonth + 2) / 5) + day - 1 - 719_468;
}
