/** What hand and eye did as it stands now: an act that was set right shows what was really done, and what was first logged. */
import { inShownUnit } from './unit.ts';
import type { ActEvent } from './wire-types.ts';

export interface StandingAct extends ActEvent {
  /** What was logged first, where it was corrected. */
  readonly first?: { readonly what: string; readonly value?: string | undefined };
}

/** Of a correction: nothing was done at that instant. */
export const STRUCK_OUT = 'not done';

/** In the order of their instants; corrections themselves are not among them. */
export function standingActs(acts: readonly ActEvent[]): readonly StandingAct[] {
  const standing: StandingAct[] = [];
  for (const act of acts) {
    if (act.deed !== 'act' || act.correctsAtMs !== undefined) continue;
    const last = acts.findLast((one) => one.deed === 'act' && one.correctsAtMs === act.atMs);
    if (last === undefined) standing.push(act);
    else if (last.what !== STRUCK_OUT) {
      const { value: _first, ...rest } = act;
      const value = last.value === undefined ? {} : { value: last.value };
      standing.push({ ...rest, what: last.what, ...value, first: { what: act.what, value: act.value } });
    }
  }
  return standing.sort((a, b) => a.atMs - b.atMs);
}

/** What is no act at the kiln has no place on its curve. */
const NOT_DRAWN: ReadonlySet<string> = new Set(['bell heard', 'watch handed to']);

export function drawnActs(acts: readonly ActEvent[]): readonly StandingAct[] {
  return standingActs(acts).filter((act) => !NOT_DRAWN.has(act.what));
}

/** A valve that seeks its pace is turned again and again: of what follows within this, the last is told in words. */
const SEEKING_MS = 4 * 60_000;

/** Whether this act's word is left to a later one of the same thing, soon after it. */
export function isFollowed(acts: readonly StandingAct[], act: StandingAct): boolean {
  return acts.some((other) => other.what === act.what && other.atMs > act.atMs && other.atMs - act.atMs <= SEEKING_MS);
}

/** What the hand pyrometer showed, as it was logged; null for any other act. */
export function handReadingC({ what, value }: StandingAct): number | null {
  const figure = what === 'hand pyrometer' ? value?.match(/\d+(?:\.\d+)?/)?.[0] : undefined;
  return figure === undefined ? null : Number(figure);
}

/** "valve mark 3"; a temperature in the degrees of this screen. */
export function actWords({ what, value }: { readonly what: string; readonly value?: string | undefined }): string {
  return value === undefined ? what : `${what} ${shownValue(value)}`;
}

/** Kept in °C, however it is shown. */
export function shownValue(value: string): string {
  return value.includes('°C') ? inShownUnit(value) : value;
}

/** Who watches: the last one to whom it was handed. */
export function watcherOf(acts: readonly ActEvent[]): StandingAct | null {
  return standingActs(acts).findLast((act) => act.what === 'watch handed to') ?? null;
}

export function wasBellHeard(acts: readonly ActEvent[]): boolean {
  return standingActs(acts).some((act) => act.what === 'bell heard');
}

/** So much beyond its temperature an act of last time is still told, as long as nothing like it was logged. Ours. */
const BEYOND_C = 15;
/** The same thing done so near the temperature of last time is it. Ours. */
const LIKE_C = 25;

/**
 * Of what the hand did last time, the act that comes next: on the way up the first one at a higher temperature than now,
 * on the way down the first one at a lower. One that was just passed still stands, until it is logged: a late hand asks for
 * it most of all. The hottest act parts the two ways.
 *
 * @param now what was logged in this firing
 */
export function nextOfLastTime(
  last: readonly ActEvent[],
  now: readonly ActEvent[],
  nowC: number,
  isFalling: boolean,
): StandingAct | null {
  const known = drawnActs(last).filter((act) => act.celsius !== null);
  const done = drawnActs(now);
  const topC = Math.max(...known.map((act) => act.celsius ?? Number.NEGATIVE_INFINITY));
  const top = known.findIndex((act) => act.celsius === topC);
  const isDone = ({ what, celsius }: StandingAct): boolean =>
    done.some((act) => act.what === what && Math.abs((act.celsius ?? 1e6) - (celsius ?? 0)) <= LIKE_C);
  return (
    known.find((act, i) => {
      const aheadC = isFalling ? nowC - (act.celsius ?? 0) : (act.celsius ?? 0) - nowC;
      const isOfThisWay = isFalling ? i >= top : i <= top;
      return isOfThisWay && (aheadC > 1 || (aheadC > -BEYOND_C && !isDone(act)));
    }) ?? null
  );
}
