/**
 * Two couples of one kiln that come apart further than corners, holds and hands explain. `parting.ts` sees a small bend on
 * an even climb; this sees a larger change on any heated way, whatever plan and door did meanwhile.
 */
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import { apartC, type Bend, type Of, otherOf, type PairMinute, type Parting, rulingOf } from './parting.ts';

export interface Apart {
  /** From when on, how far the other was above the ruling one then, and by how much that has changed. */
  readonly sinceMs: number;
  readonly beforeC: number;
  readonly byC: number;
}

const OVER_S = [4, 6, 8, 10, 13, 16, 20].map((minutes) => minutes * S_PER_MIN);
/** Means come at uneven times, and sparse readings make sparse ones. */
const EARLY_S = 20;
const LATE_S = 150;
/**
 * Of 700 pairs of sound couples of simulated kilns, heated, with the door shut or propped, none came apart or together by more
 * than 6.5 °C within twenty minutes, beyond what its lag explains and the way that it went before; within half an hour three
 * did by 8 °C. Ours.
 */
const PARTS_C = 7;
/** A pair comes together by a share of what it is apart. */
const CLOSES_RATIO = 0.5;
/** The heat was turned, which shows in both: then they come nearer by themselves. */
const TURNED_RATIO = 0.5;
/** Below this, by the ruling couple, a kiln that has just been lit is so uneven that any pair changes. Ours. */
const LIT_FROM_C = 150;
/** And below this any pair may come together, but by no more than it was apart. Ours. */
const GLOWS_FROM_C = 250;
/**
 * A kiln that comes to rest is uneven in another way than on its climb, and comes to that ever more slowly; what drifts goes
 * on as it began: in the last minutes by no less than this share of what it did in any others. Ours.
 */
const GOES_ON_RATIO = 0.6;
const GOES_ON_S = 4 * S_PER_MIN;
/** A door that was moved moves each of them in its way; by then that is over. Ours. */
const DOOR_S = 7 * S_PER_MIN;
/** And leaves them this much further apart than with the door ajar, or nearer. From simulated firings. */
const DOOR_PARTS_C = 18;
/** Two sheaths follow a change of pace this much apart, at most: the thickest beside a bare bead. Ours. */
const LAG_S = 1.2 * S_PER_MIN;
/**
 * By then even the thickest sheath goes at a quarter of the change that a bare bead shows: where one has turned by more than
 * so many times what the other has, that is its own doing and no lag. Ours.
 */
const FOLLOWS_RATIO = 4;
const PACE_OVER_S = 170;
/** A controller's slow cycle must be small beside it. */
const SCATTER_RATIO = 4;
const SWING_RATIO = 1.2;
const BEFORE_S = 10 * S_PER_MIN;
const LEAST_BEFORE_S = 520;

/** Whether two have come further apart by `byC`, be it on the other side; else they have come together. */
export function isWider({ beforeC, byC }: Pick<Apart, 'beforeC' | 'byC'>): boolean {
  return byC * beforeC >= 0 || Math.abs(beforeC + byC) > Math.abs(beforeC);
}

/** Whether they have come apart, at the last of `minutes`. */
export function findApart(minutes: readonly PairMinute[]): Parting | null {
  const last = minutes.length - 1;
  if (minutes[last]?.isHeated !== true || hasMovedDoor(minutes, DOOR_S)) return null;
  let first = last;
  for (const overS of OVER_S) {
    while (first > 0 && agoS(minutes, first) < overS - EARLY_S) {
      first--;
      if (minutes[first]?.isHeated !== true) return null;
    }
    const start = minutes[first];
    if (start === undefined || first < 1 || agoS(minutes, first) > overS + LATE_S) return null;
    if (start.rulingC < LIT_FROM_C) return null;
    const before = beginOf(minutes, first);
    if (secondsBetween(minutes[before]?.atMs ?? 0, start.atMs) < LEAST_BEFORE_S) return null;
    const beforeC = middleC(minutes, first + 1);
    const byC = middleC(minutes, last) - beforeC;
    if (!isApart(minutes, before, first, { beforeC, byC })) continue;
    const bendOf = (of: Of): Bend => bendBetween(minutes, before, first, of);
    const fromMs = minutes[before]?.atMs ?? 0;
    return {
      fromMs,
      sinceMs: start.atMs,
      beforeC,
      byC,
      hasBend: true,
      ruling: bendOf(rulingOf),
      other: bendOf(otherOf),
    };
  }
  return null;
}

function hasMovedDoor(minutes: readonly PairMinute[], withinS: number): boolean {
  const last = minutes[minutes.length - 1];
  for (let i = minutes.length - 1; i >= 0 && agoS(minutes, i) < withinS; i--) {
    if (minutes[i]?.isShut !== last?.isShut) return true;
  }
  return false;
}

function beginOf(minutes: readonly PairMinute[], first: number): number {
  const untilMs = minutes[first]?.atMs ?? 0;
  let at = first;
  while (at > 0 && secondsBetween(minutes[at]?.atMs ?? 0, untilMs) < BEFORE_S) at--;
  return at;
}

function isApart(
  minutes: readonly PairMinute[],
  before: number,
  first: number,
  { beforeC, byC }: Pick<Apart, 'beforeC' | 'byC'>,
): boolean {
  const last = minutes.length - 1;
  const rulingPerS = pacePerS(minutes, first, rulingOf);
  const turnedPerS = pacePerS(minutes, last, rulingOf) - rulingPerS;
  const otherTurnedPerS = pacePerS(minutes, last, otherOf) - pacePerS(minutes, first, otherOf);
  const turns = [Math.abs(turnedPerS), Math.abs(otherTurnedPerS)];
  const [most, least] = [Math.max(...turns), Math.min(...turns)];
  // What only one of them does is not the heat's.
  const heatPerS = Math.min(most, FOLLOWS_RATIO * least);
  const beyondC = Math.abs(byC) - goesOnC(minutes, before, first, byC) - LAG_S * heatPerS;
  const settledS = agoS(minutes, first) + DOOR_S;
  if (beyondC <= (hasMovedDoor(minutes, settledS) ? DOOR_PARTS_C : PARTS_C)) return false;
  const hasTurned = heatPerS > TURNED_RATIO * Math.abs(rulingPerS);
  if (hasTurned && diesAway(minutes, first, byC)) return false;
  if (!isWider({ beforeC, byC })) {
    const closesRatio = (minutes[first]?.rulingC ?? 0) < GLOWS_FROM_C ? 1 : CLOSES_RATIO;
    if (hasTurned || beyondC <= closesRatio * Math.abs(beforeC)) return false;
  }
  return beyondC > Math.max(SCATTER_RATIO * scatterC(minutes, first), SWING_RATIO * swingC(minutes, before, first + 2));
}

function diesAway(minutes: readonly PairMinute[], first: number, byC: number): boolean {
  const last = minutes.length - 1;
  let mostC = 0;
  let wentC = 0;
  let from = first + 1;
  for (let i = from; i <= last; i++) {
    while (agoS(minutes, from) - agoS(minutes, i) > GOES_ON_S + EARLY_S) from++;
    wentC = (middleC(minutes, i) - middleC(minutes, from)) * Math.sign(byC);
    mostC = Math.max(mostC, wentC);
  }
  return wentC < GOES_ON_RATIO * mostC;
}

/** What they would have gone that way as before. */
function goesOnC(minutes: readonly PairMinute[], before: number, first: number, byC: number): number {
  const beforeS = agoS(minutes, before) - agoS(minutes, first);
  const wentC = middleC(minutes, first + 1) - middleC(minutes, Math.max(before + 1, 2));
  return Math.max((Math.sign(byC) * wentC * agoS(minutes, first)) / beforeS, 0);
}

function bendBetween(minutes: readonly PairMinute[], before: number, first: number, of: Of): Bend {
  const paceOf = (from: number, to: number): number => {
    const [start, end] = [minutes[from], minutes[to]];
    return start === undefined || end === undefined ? 0 : (of(end) - of(start)) / secondsBetween(start.atMs, end.atMs);
  };
  const beforePerS = paceOf(before, first);
  const sincePerS = paceOf(first, minutes.length - 1);
  return { beforePerS, sincePerS, byPerS: sincePerS - beforePerS };
}

function pacePerS(minutes: readonly PairMinute[], at: number, of: Of): number {
  const end = minutes[at];
  let from = at;
  while (from > 0 && secondsBetween(minutes[from]?.atMs ?? 0, end?.atMs ?? 0) < PACE_OVER_S) from--;
  const start = minutes[from];
  if (start === undefined || end === undefined || from === at) return 0;
  return (of(end) - of(start)) / secondsBetween(start.atMs, end.atMs);
}

/** How far their distance is from going on as it went, from minute to minute: half the mean size of its second differences. */
function scatterC(minutes: readonly PairMinute[], first: number): number {
  let sum = 0;
  for (let i = first + 2; i < minutes.length; i++) {
    sum += Math.abs(apartAtC(minutes, i) - 2 * apartAtC(minutes, i - 1) + apartAtC(minutes, i - 2));
  }
  return sum / Math.max(minutes.length - first - 2, 1) / 2;
}

function swingC(minutes: readonly PairMinute[], from: number, to: number): number {
  let lowC = Number.POSITIVE_INFINITY;
  let highC = Number.NEGATIVE_INFINITY;
  for (let i = from; i < to; i++) {
    lowC = Math.min(lowC, apartAtC(minutes, i));
    highC = Math.max(highC, apartAtC(minutes, i));
  }
  return highC - lowC;
}

/** The middle one of three, the last of them at `end`: one leapt reading changes nothing. */
function middleC(minutes: readonly PairMinute[], end: number): number {
  const [a, b, c] = [apartAtC(minutes, end - 2), apartAtC(minutes, end - 1), apartAtC(minutes, end)];
  return Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
}

function apartAtC(minutes: readonly PairMinute[], at: number): number {
  const minute = minutes[at];
  return minute === undefined ? 0 : apartC(minute);
}

function agoS(minutes: readonly PairMinute[], at: number): number {
  return secondsBetween(minutes[at]?.atMs ?? 0, minutes[minutes.length - 1]?.atMs ?? 0);
}
