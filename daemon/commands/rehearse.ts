/** `spyhole rehearse`: what a schedule would do in a kiln whose ways are known from its firings. */
import { readFittedKiln, unsureModelOf } from '../config/fitted-kiln-file.ts';
import { readKilnFile } from '../config/kiln-file.ts';
import { readScheduleFile } from '../config/schedule-file.ts';
import { rehearsalLines } from '../core/kiln-model/rehearsal-words.ts';
import { type Rehearsal, rehearse as rehearsed } from '../core/kiln-model/rehearse.ts';
import { ConfigError } from '../errors.ts';

export interface RehearseOptions {
  readonly schedule: string;
  readonly fitted: string;
  readonly kiln?: string | undefined;
  /** HH:MM by the clock on the wall. */
  readonly starts?: string | undefined;
  readonly json?: boolean | undefined;
}

/** Where neither schedule nor kiln says when it may be opened; common practice, no source. */
const SAFE_OPEN_C = 150;
const STARTS = /^([01]?\d|2[0-3]):([0-5]\d)$/;

/** @throws ConfigError for files that cannot be used */
export function rehearse(options: RehearseOptions, print: (line: string) => void, nowMs: number): void {
  const schedule = readScheduleFile(options.schedule);
  const fitted = readFittedKiln(options.fitted);
  const kiln = options.kiln === undefined ? null : readKilnFile(options.kiln);
  if (kiln !== null && kiln.heat !== fitted.heat) {
    const what = `${kiln.name} is fired by ${kiln.heat}, the fitted kiln by ${fitted.heat}`;
    throw new ConfigError(options.fitted, [
      { what, where: 'heat', right: 'name the file that was fitted to this kiln' },
    ]);
  }
  const utcOffsetMinutes = -new Date(nowMs).getTimezoneOffset();
  const closure = kiln?.closure ?? (fitted.heat === 'gas' ? 'door' : 'lid');
  const rehearsal = rehearsed(unsureModelOf(fitted), schedule, {
    heat: fitted.heat,
    closure,
    safeOpenC: schedule.safeOpenC ?? kiln?.safeOpenC ?? SAFE_OPEN_C,
    startedAtMs: startMs(options.starts, nowMs),
    startC: fitted.roomC,
    roomC: fitted.roomC,
  });
  if (options.json === true) {
    print(JSON.stringify(asJson(rehearsal)));
    return;
  }
  const heatIsAtLeast = fitted.numbers.powerCPerH.told !== 'told';
  const lagIsUnknown = fitted.numbers.bothLagsS.told === 'unknown';
  const said = { name: kiln?.name ?? fitted.kiln, closure, utcOffsetMinutes, heatIsAtLeast, lagIsUnknown };
  for (const line of rehearsalLines(rehearsal, schedule, said)) print(line);
}

/** The next time that the clock on the wall says so. */
function startMs(starts: string | undefined, nowMs: number): number {
  if (starts === undefined) return Math.ceil(nowMs / 60_000) * 60_000;
  const [, hour, minute] = STARTS.exec(starts) ?? [];
  if (hour === undefined || minute === undefined) {
    const fault = {
      what: `found ${JSON.stringify(starts)}`,
      where: '--starts',
      right: 'write HH:MM, for example 09:30',
    };
    throw new ConfigError('the command line', [fault]);
  }
  const at = new Date(nowMs);
  at.setHours(Number(hour), Number(minute), 0, 0);
  if (at.getTime() < nowMs) at.setDate(at.getDate() + 1);
  return at.getTime();
}

/** Instants as they stand in every file: ISO 8601, UTC. */
function asJson(rehearsal: Rehearsal): object {
  const iso = (atMs: number): string => new Date(atMs).toISOString();
  const when = (at: Rehearsal['cracksAt']): object | null =>
    at === null ? null : { at: iso(at.atMs), earliest: iso(at.earliestMs), latest: iso(at.latestMs) };
  return {
    startedAt: iso(rehearsal.startedAtMs),
    peakC: rehearsal.peakC,
    segments: rehearsal.segments.map(({ startsAt, endsAt, ...segment }) => ({
      ...segment,
      startsAt: when(startsAt),
      endsAt: when(endsAt),
    })),
    hands: rehearsal.hands.map(({ fromMs, toMs, callAtMs, fromS: _fromS, toS: _toS, ...hands }) => ({
      from: iso(fromMs),
      to: iso(toMs),
      callAt: iso(callAtMs),
      ...hands,
    })),
    safeOpenC: rehearsal.safeOpenC,
    cracksAt: when(rehearsal.cracksAt),
    unloadsAt: when(rehearsal.unloadsAt),
    points: rehearsal.points.map(({ atMs, ...point }) => ({ at: iso(atMs), ...point })),
  };
}
