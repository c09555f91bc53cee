/** The time on the wall, computed without a clock. */
const MIN_PER_DAY = 1440;

/**
 * "14:05" for an instant.
 * @param atMs UTC ms
 * @param utcOffsetMinutes minutes east of UTC of the clock on the wall
 */
export function timeOfDay(atMs: number, utcOffsetMinutes: number): string {
  const minutes = Math.floor(atMs / 60_000) + utcOffsetMinutes;
  const ofDay = ((minutes % MIN_PER_DAY) + MIN_PER_DAY) % MIN_PER_DAY;
  return `${String(Math.floor(ofDay / 60)).padStart(2, '0')}:${String(ofDay % 60).padStart(2, '0')}`;
}
