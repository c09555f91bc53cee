/**
 * One couple of a kiln falls and the others go on their way. A door, a flame and a fuse take heat from all of them, if not
 * from all alike: what takes it from one alone is that couple's own trouble. Told within a minute, in whatever the kiln
 * does; what comes slower, or may be a thick sheath that follows later, is for `couple-pairs.ts`.
 */
import type { TimedC } from '../numbers/line-fit.ts';
import { countOf, readingAt, readingUntil } from '../numbers/timed-list.ts';
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import { rateAgo } from './heating-rate.ts';
import type { SensorTrack } from './sensor-track.ts';

export interface LonelyWatch {
  readonly fall: Fall | null;
  /** The deepest fall so far that the others did not follow and that came back by itself, °C: a bead beside an element. */
  readonly usualC: number;
}

/** Where a couple was, and how it went, as the fall began. */
interface Way extends TimedC {
  readonly slopePerS: number;
  readonly noiseC: number;
  /** A climb goes no further than the plan wants. */
  readonly mostC: number;
}

interface Fall {
  readonly own: Way;
  readonly beside: readonly (Way & { readonly name: string })[];
  readonly nowC: number;
  /** Where it was two minutes before it fell: what a stroke of the relay lifted comes back to there by itself. */
  readonly roseFromC: number;
  readonly deepestC: number;
  /** When it began to be worth a thought. */
  readonly sinceMs: number;
  /** The ruling couple, as heat was wanted. */
  readonly isUrgent: boolean;
  /** `waits`: the others have hardly moved, which may still come. */
  readonly is: 'lonely' | 'waits' | 'followed' | 'told';
}

/** What has been found as it came to be sure. */
export interface FoundAlone {
  readonly sinceMs: number;
  readonly fallC: number;
  /** How far the other was above the one that fell, as it began. */
  readonly aboveC: number;
}

export const NEVER_FELL: LonelyWatch = { fall: null, usualC: 0 };

/** A fall is measured from the line of the two minutes before the last one. */
const BACK_S = 60;
const BASE_S = 120;
/**
 * From here on it is worth a thought; so far from its way it is told. In 200 simulated firings no sound couple stood alone by
 * more than 8 °C. Ours.
 */
const DOUBT_C = 7;
const TOLD_C = 14;
const NOISE_RATIO = 6;
/**
 * Of the ruling couple it is told so long after it was worth a thought: by then the thickest sheath shows a door, and all but the
 * thickest a flame that is out. Of another couple nothing is urgent, and it may be a bead beside a slow ruling one. Ours,
 * tried on simulated kilns with couples as unequal as they come.
 */
const STANDS_S = { electric: 45, gas: 60 } as const;
const OTHER_STANDS_S = 150;
const READINGS = 3.5;
/** What has not become sure by then may be a little thing that stays: it holds nothing else back any longer. */
const DOUBT_S = 150;
/** The others are untouched within this, and surely touched from that on; of the fall's depth, or °C. */
const UNTOUCHED_RATIO = 0.03;
const UNTOUCHED_C = 1.5;
const TOUCHED_RATIO = 0.12;
const TOUCHED_C = 6;
const STRAYS_NOISE_RATIO = 2.5;
const MEAN_OVER_S = 10;
/** What comes back by itself, as a short look through the spyhole does, is no couple's fault. */
const STAYS_RATIO = 0.75;
const BACK_RATIO = 0.4;
/** What fell as deep before and came back is its habit. */
const HABIT_RATIO = 1.5;
const FORGOTTEN_S = 20 * S_PER_MIN;
/** While a kiln is lit its couples go their own ways, and a cold one has no temperature to lose. Common practice, no source. */
const LEAST_C = 150;

interface Known {
  readonly isRuling: boolean;
  readonly heat: 'gas' | 'electric';
  /** The plan wants no heat: a couple near flame, door or vent falls first, and nothing is urgent. */
  readonly isLeftToFall: boolean;
  /** Its switch says so: the one beside it falls first, and by far the most. */
  readonly hasMovedDoor: boolean;
  /** How far the plan still wants the kiln to climb. */
  readonly climbC: number;
}

/**
 * Carries on by one good reading of `track`, already filed.
 *
 * @param others couples of the same kiln that speak and are believed
 */
export function watchLonely(
  before: LonelyWatch,
  track: SensorTrack,
  others: readonly SensorTrack[],
  known: Known,
): LonelyWatch {
  const now = track.last;
  if (now === null) return before;
  if (before.fall === null) {
    if (known.hasMovedDoor) return before;
    const fall = beginFall(track, now, others, known);
    return fall === null ? before : { ...before, fall };
  }
  return followFall(before, before.fall, track, now, others, known);
}

/** How far it has fallen without the others, while that is not yet sure; null while there is nothing to doubt. */
export function lonelyDoubtC({ fall }: LonelyWatch, nowMs: number): number | null {
  if (fall?.is !== 'lonely' || secondsBetween(fall.sinceMs, nowMs) > DOUBT_S) return null;
  return fall.own.celsius - fall.nowC;
}

/** That it has just become sure. */
export function foundAlone(before: LonelyWatch, after: LonelyWatch, other: string): FoundAlone | null {
  const { fall } = after;
  if (fall?.is !== 'told' || before.fall?.is === 'told') return null;
  const { own, beside, nowC } = fall;
  return {
    sinceMs: own.atMs,
    fallC: own.celsius - nowC,
    aboveC: (besideOf(beside, other)?.celsius ?? own.celsius) - own.celsius,
  };
}

function beginFall(
  track: SensorTrack,
  now: TimedC,
  others: readonly SensorTrack[],
  { isRuling, isLeftToFall, climbC }: Known,
): Fall | null {
  const { recent } = track;
  const then = readingUntil(recent, now.atMs - BACK_S * 1000);
  if (then === undefined || then.celsius - now.celsius < DOUBT_C || then.celsius < LEAST_C) return null;
  const own = wayOf(track, then.atMs, climbC);
  if (own === null) return null;
  const deepestC = expectedC(own, now.atMs, true) - now.celsius;
  if (deepestC < Math.max(DOUBT_C, NOISE_RATIO * own.noiseC)) return null;
  const beside: (Way & { readonly name: string })[] = [];
  for (const other of others) {
    const way = wayOf(other, own.atMs, climbC);
    if (way === null) return null;
    beside.push({ ...way, name: other.name });
  }
  if (others.length === 0) return null;
  const isUrgent = isRuling && !isLeftToFall;
  const roseFromC = readingUntil(recent, then.atMs - BASE_S * 1000)?.celsius ?? Number.POSITIVE_INFINITY;
  const fall = {
    own,
    beside,
    nowC: now.celsius,
    roseFromC,
    deepestC,
    sinceMs: now.atMs,
    isUrgent,
    is: 'lonely',
  } as const;
  return judgeFall(fall, now.atMs, others);
}

function besideOf(beside: Fall['beside'], name: string): Way | undefined {
  return beside.find((way) => way.name === name);
}

/** The line that ended at `endMs`. */
function wayOf(track: SensorTrack, endMs: number, climbC: number): Way | null {
  if (track.last === null) return null;
  const fit = rateAgo(track, Math.max(secondsBetween(endMs, track.last.atMs), 0), BASE_S);
  const end = readingUntil(track.recent, endMs);
  if (fit === undefined || end === undefined) return null;
  const { atEndC: celsius, slopePerS, noiseC } = fit;
  return { atMs: end.atMs, celsius, slopePerS, noiseC, mostC: celsius + climbC };
}

/** @param isFallOnly a climb that ends is no fall */
function expectedC(way: Way, atMs: number, isFallOnly = false): number {
  const slopePerS = isFallOnly ? Math.min(way.slopePerS, 0) : way.slopePerS;
  return Math.min(way.celsius + slopePerS * secondsBetween(way.atMs, atMs), way.mostC);
}

/** How far below its way the other one is, on average over the last seconds. */
function strayC(way: Way, { recent }: SensorTrack): number {
  const last = readingAt(recent, countOf(recent) - 1);
  if (last === undefined) return 0;
  let sum = 0;
  let count = 0;
  for (let i = countOf(recent) - 1; i >= 0; i--) {
    const reading = readingAt(recent, i);
    if (reading === undefined || secondsBetween(reading.atMs, last.atMs) > MEAN_OVER_S) break;
    sum += expectedC(way, reading.atMs) - reading.celsius;
    count++;
  }
  return sum / count;
}

function judgeFall(fall: Fall, atMs: number, others: readonly SensorTrack[]): Fall {
  const fallC = expectedC(fall.own, atMs, true) - fall.nowC;
  const deepestC = Math.max(fall.deepestC, fallC);
  let is: Fall['is'] = 'lonely';
  for (const other of others) {
    const way = besideOf(fall.beside, other.name);
    if (way === undefined) continue;
    const byC = strayC(way, other);
    if (byC > Math.max(TOUCHED_C, TOUCHED_RATIO * deepestC)) return { ...fall, deepestC, is: 'followed' };
    if (byC > Math.max(UNTOUCHED_C, UNTOUCHED_RATIO * deepestC, STRAYS_NOISE_RATIO * way.noiseC)) is = 'waits';
  }
  return { ...fall, deepestC, is };
}

function followFall(
  before: LonelyWatch,
  fall: Fall,
  track: SensorTrack,
  now: TimedC,
  others: readonly SensorTrack[],
  { heat }: Known,
): LonelyWatch {
  const { usualC } = before;
  const fallC = expectedC(fall.own, now.atMs, true) - now.celsius;
  if (fallC < BACK_RATIO * fall.deepestC) {
    const wasAlone = fall.is === 'lonely' || fall.is === 'waits';
    return { fall: null, usualC: wasAlone ? Math.max(usualC, fall.deepestC) : usualC };
  }
  if (fall.is !== 'told' && secondsBetween(fall.own.atMs, now.atMs) > FORGOTTEN_S) return { ...before, fall: null };
  if (fall.is === 'followed' || fall.is === 'told') return before;
  const heardOf = others.filter((o) => besideOf(fall.beside, o.name) !== undefined);
  if (heardOf.length === 0 || now.celsius < LEAST_C) return { ...before, fall: null };
  const next = judgeFall({ ...fall, nowC: now.celsius }, now.atMs, heardOf);
  const slowestS = Math.max(track.intervalS ?? 0, ...heardOf.map((o) => o.intervalS ?? 0));
  const standsS = Math.max(fall.isUrgent ? STANDS_S[heat] : OTHER_STANDS_S, READINGS * slowestS);
  const hasStood = secondsBetween(next.sinceMs, now.atMs) >= standsS;
  const isAway = awayC(next, now.atMs) > Math.max(TOLD_C, HABIT_RATIO * usualC);
  const stays = isAway && fallC > STAYS_RATIO * next.deepestC && now.celsius < next.roseFromC;
  return { ...before, fall: next.is === 'lonely' && hasStood && stays ? { ...next, is: 'told' } : next };
}

/** How far it is from where it would have gone with the others, which did go on. */
function awayC({ own, beside, nowC }: Fall, atMs: number): number {
  const slopePerS = Math.min(own.slopePerS, ...beside.map((way) => way.slopePerS));
  return expectedC({ ...own, slopePerS }, atMs) - nowC;
}
