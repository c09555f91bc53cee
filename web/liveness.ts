/**
 * Is what the page shows true now? Judged by the ages that the daemon states (real seconds) and by the page's own
 * monotonic clock since it heard them: the browser's wall clock plays no part.
 */

/** Without a heartbeat for this long the number turns grey (requirement D10). */
export const GREY_AFTER_S = 3;
/** And after this long it is covered: a second or two under the ten of requirement D10, since the page looks once a second. */
export const NOT_LIVE_AFTER_S = 8;

export type Liveness =
  /** Nothing was heard yet since the page was opened. */
  | { readonly kind: 'waiting' }
  | { readonly kind: 'live'; readonly ageS: number }
  | { readonly kind: 'grey'; readonly ageS: number; readonly silentS: number }
  /** The daemon has not been heard. */
  | { readonly kind: 'not-live'; readonly silentS: number }
  /** The daemon is heard, the sensor is not; null when it never spoke. */
  | { readonly kind: 'no-reading'; readonly ageS: number | null };

export interface Heard {
  /** The page's monotonic clock when the last heartbeat or snapshot came; null before the first. */
  readonly heardMs: number | null;
  /** Age of the reading in real seconds as the daemon stated it then. */
  readonly ageS: number | null;
  readonly staleAfterS: number;
}

/** @param nowMs the page's monotonic clock */
export function judgeLiveness(heard: Heard, nowMs: number): Liveness {
  if (heard.heardMs === null) return { kind: 'waiting' };
  const silentS = Math.max(0, (nowMs - heard.heardMs) / 1000);
  if (silentS >= NOT_LIVE_AFTER_S) return { kind: 'not-live', silentS };
  if (heard.ageS === null) return { kind: 'no-reading', ageS: null };
  const ageS = heard.ageS + silentS;
  // The silence of the daemon itself is told as such, not as a dumb sensor's.
  if (heard.ageS > heard.staleAfterS || (ageS > heard.staleAfterS && silentS <= GREY_AFTER_S))
    return { kind: 'no-reading', ageS };
  if (silentS > GREY_AFTER_S) return { kind: 'grey', ageS, silentS };
  return { kind: 'live', ageS };
}

/** True when the number shown may be taken for the kiln's temperature now. */
export function isCurrent(liveness: Liveness): boolean {
  return liveness.kind === 'live' || liveness.kind === 'grey';
}

/**
 * A clock for silence. `performance.now` stands still in some browsers while the machine sleeps; then the wall clock
 * ran ahead of it between two looks, and the time slept through counts as silence. A wall clock that is wrong by a
 * constant changes nothing; one that is set forward covers the number until the next heartbeat, a second at most.
 */
export function silenceClock(monotonicMs: () => number, wallMs: () => number): () => number {
  let lastMonotonic = monotonicMs();
  let lastWall = wallMs();
  let sleptMs = 0;
  return () => {
    const monotonic = monotonicMs();
    const wall = wallMs();
    const missing = wall - lastWall - (monotonic - lastMonotonic);
    if (missing > 2000) sleptMs += missing;
    lastMonotonic = monotonic;
    lastWall = wall;
    return monotonic + sleptMs;
  };
}
