/** What hand and eye did as it stands now: an act that was set right shows what was really done, and what was first logged. */
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

/** "valve mark 3" */
export function actWords({ what, value }: { readonly what: string; readonly value?: string | undefined }): string {
  return value === undefined ? what : `${what} ${value}`;
}

/** Who watches: the last one to whom it was handed. */
export function watcherOf(acts: readonly ActEvent[]): StandingAct | null {
  return standingActs(acts).findLast((act) => act.what === 'watch handed to') ?? null;
}

export function wasBellHeard(acts: readonly ActEvent[]): boolean {
  return standingActs(acts).some((act) => act.what === 'bell heard');
}

/**
 * Of what the hand did last time, the act that comes next: on the way up the first one at a higher temperature than now,
 * on the way down the first one at a lower. The hottest act parts the two.
 */
export function nextOfLastTime(acts: readonly ActEvent[], nowC: number, isFalling: boolean): StandingAct | null {
  const known = drawnActs(acts).filter((act) => act.celsius !== null);
  const topC = Math.max(...known.map((act) => act.celsius ?? Number.NEGATIVE_INFINITY));
  const top = known.findIndex((act) => act.celsius === topC);
  return (
    known.find((act, i) => {
      const actC = act.celsius ?? 0;
      return isFalling ? i >= top && actC < nowC - 1 : i <= top && actC > nowC + 1;
    }) ?? null
  );
}
