/**
 * Two couples of one kiln that part little by little: one of them drifts, or one half of the kiln no longer heats.
 *
 * A sound pair is apart by many degrees, more so the cooler the kiln, the thinner the one sheath and the faster the climb;
 * all that makes it come together as the kiln grows hot, never part. So what is looked for is a bend in their distance,
 * away from the way on which they were, and what widens it needs less proof than what only makes them meet sooner. The
 * thicker sheath shows a turned flame later: the part of the distance that follows the ruling couple's own pace is fitted
 * along and counts for nothing.
 */
import { cholesky, solveCholesky } from '../kiln-model/normal-equations.ts';
import { clamp, S_PER_MIN, secondsBetween } from '../numbers/units.ts';

/** What both showed on average in a minute or so. */
export interface PairMinute {
  readonly atMs: number;
  readonly rulingC: number;
  readonly otherC: number;
  /** The ruling couple's pace over the last minutes, °C/s. */
  readonly pacePerS: number;
  /** In a climb or its hold, and neither heat nor door in doubt. */
  readonly isHeated: boolean;
  /** Neither is the door open nor does the plan let it stand ajar. */
  readonly isShut: boolean;
}

export interface Parting {
  /** Since when their way is known. */
  readonly fromMs: number;
  /** From when on, how far the other was above the ruling one then, and by how much that has changed against the old way. */
  readonly sinceMs: number;
  readonly beforeC: number;
  readonly byC: number;
  /** They bent there from a way that is known; without it they have parted all along. */
  readonly hasBend: boolean;
  /** What each of them did there. */
  readonly ruling: Bend;
  readonly other: Bend;
}

/** How much a pace has changed, what it has been since, and what it was before, °C/s. */
export interface Bend {
  readonly byPerS: number;
  readonly sincePerS: number;
  readonly beforePerS: number;
}

export type Of = (minute: PairMinute) => number;

export const rulingOf: Of = (m) => m.rulingC;
export const otherOf: Of = (m) => m.otherC;

const NO_BEND: Bend = { byPerS: 0, sincePerS: 0, beforePerS: 0 };

interface Where {
  readonly hasBend: boolean;
  readonly isShut: boolean;
}

/** Of minutes further back nothing is asked. */
export const KEPT_MINUTES = 58;
const PACE_OVER_S = 4 * S_PER_MIN;

/** How far back the bend may lie, and how long the way before it must be known. */
const SINCE_S = [10, 15, 20, 26, 32].map((minutes) => minutes * S_PER_MIN);
const BEFORE_S = [12, 20].map((minutes) => minutes * S_PER_MIN);
/** With the door ajar, or in a cool kiln, a hand's waves are as long as the shorter of them. */
const BEFORE_AJAR_S = 20 * S_PER_MIN;
/** A flame that is turned low for a minute brings two sheaths together for ten. */
const CLOSING_FROM_S = 15 * S_PER_MIN;
const CLOSING_UNTIL_S = 26 * S_PER_MIN;
const TURNED_RATIO = 0.5;
/** Where nothing is known of the way before, they must have parted for longer. */
const ALL_ALONG_S = [16, 20, 26, 32].map((minutes) => minutes * S_PER_MIN);
/**
 * In 344 simulated kilns with two or three couples the distance of a sound pair, heated with the door as the plan wants
 * it, never bent so as to widen by more than 6 °C, nor to close by more than 13 °C, in that time. With the door shut,
 * above 350 °C, none closed by more than 9 °C, and none widened by more than 7.5 °C without any bend. Ours.
 */
const WIDENS_C = 7;
const CLOSES_C = 15;
const CLOSES_SHUT_C = 10;
const ALL_ALONG_C = 8;
/** Below this, by the ruling couple, a kiln is so uneven that any pair changes. */
const BEND_FROM_C = 220;
const GLOWS_FROM_C = 350;
/** A controller's slow cycle, or a hand that makes waves, must be small beside it. */
const SCATTER_RATIO = 4;
/** As near as this they are not apart to either side. */
const TOGETHER_C = 3;
/** Sparse readings still give so many means on either side. */
const LEAST_COUNT = 6;
/** How many means at a pace of 1 °C a minute it takes until what pace does is half believed. */
const PACE_TRUST = 2;

/** Files what both showed lately. */
export function withMinute(minutes: readonly PairMinute[], now: Omit<PairMinute, 'pacePerS'>): readonly PairMinute[] {
  let i = minutes.length - 1;
  while (i > 0 && secondsBetween(minutes[i]?.atMs ?? 0, now.atMs) < PACE_OVER_S - 1) i--;
  const then = minutes[i];
  const pacePerS = then === undefined ? 0 : (now.rulingC - then.rulingC) / secondsBetween(then.atMs, now.atMs);
  return [...minutes.slice(1 - KEPT_MINUTES), { ...now, pacePerS }];
}

/**
 * Whether they part, at the last of `minutes`.
 * @param fromMs since when the plan, the door and the heat have let both go their way
 * @param isShut with the door shut, both see the wall glow: a pair that only widens can be told there
 */
export function findParting(minutes: readonly PairMinute[], fromMs: number, isShut: boolean): Parting | null {
  const last = minutes[minutes.length - 1];
  if (last === undefined) return null;
  for (const sinceS of SINCE_S) {
    const bentMs = last.atMs - sinceS * 1000;
    for (const beforeS of BEFORE_S) {
      const startMs = bentMs - beforeS * 1000;
      if (startMs < fromMs) break;
      const parting = bendAt(minutes, startMs, bentMs, { hasBend: true, isShut });
      if (parting !== null) return parting;
    }
  }
  if (!isShut) return null;
  for (const alongS of ALL_ALONG_S) {
    const startMs = last.atMs - alongS * 1000;
    if (startMs < fromMs) break;
    const parting = bendAt(minutes, startMs, startMs, { hasBend: false, isShut });
    if (parting !== null) return parting;
  }
  return null;
}

/** Least squares over the minutes from `startMs` on: where they were, their way, its bend, and a share of the ruling one's pace. */
function bendAt(minutes: readonly PairMinute[], startMs: number, bentMs: number, where: Where): Parting | null {
  const { hasBend } = where;
  const last = minutes[minutes.length - 1];
  if (last === undefined) return null;
  let first = minutes.length - 1;
  let bent = first;
  // Half a minute of grace: means come at uneven times.
  while (first > 0 && (minutes[first - 1]?.atMs ?? 0) >= startMs - 30_000) {
    first--;
    if ((minutes[first]?.atMs ?? 0) >= bentMs - 30_000) bent = first;
  }
  const start = minutes[first];
  const corner = minutes[bent];
  if (start === undefined || corner === undefined) return null;
  const isWhole = secondsBetween(startMs, start.atMs) < 3 * S_PER_MIN;
  const isFilled = minutes.length - bent >= LEAST_COUNT && (!hasBend || bent - first >= LEAST_COUNT);
  if (!isWhole || !isFilled || corner.rulingC < (hasBend ? BEND_FROM_C : GLOWS_FROM_C)) return null;
  const glows = where.isShut && start.rulingC >= GLOWS_FROM_C;
  if (hasBend && !glows && secondsBetween(startMs, bentMs) < BEFORE_AJAR_S) return null;
  const fit = fitWay(minutes, first, corner.atMs, apartC, { hasBend, hasPace: true });
  if (fit === null) return null;
  const sinceS = secondsBetween(corner.atMs, last.atMs);
  // Neither that they stay where they were nor that they go on as they came is a bend, nor anything between.
  const expectedPerS = clamp(fit.sincePerS, Math.min(fit.beforePerS, 0), Math.max(fit.beforePerS, 0));
  const byC = (fit.sincePerS - (hasBend ? expectedPerS : 0)) * sinceS;
  const beforeC = meanRound(minutes, bent);
  const isWider = byC * beforeC > 0 || Math.abs(beforeC) < TOGETHER_C;
  const agoS = secondsBetween(bentMs, last.atMs);
  if (!isWider && (!hasBend || agoS < CLOSING_FROM_S || agoS > CLOSING_UNTIL_S)) return null;
  // Any pair comes together as its kiln grows hot.
  if (!isWider && !glows && Math.abs(byC) <= Math.abs(beforeC)) return null;
  const limitC = limitFor(isWider, glows, hasBend);
  if (Math.abs(byC) < Math.max(limitC, SCATTER_RATIO * fit.scatterC)) return null;
  const bendOf = (of: Of): Bend => fitWay(minutes, first, corner.atMs, of, { hasBend, hasPace: false }) ?? NO_BEND;
  const [ruling, other] = [bendOf(rulingOf), bendOf(otherOf)];
  // The heat was turned: then they come nearer by themselves.
  if (!isWider && Math.abs(ruling.byPerS) > TURNED_RATIO * Math.abs(ruling.beforePerS)) return null;
  return { fromMs: startMs, sinceMs: corner.atMs, beforeC, byC, hasBend, ruling, other };
}

function limitFor(isWider: boolean, isShut: boolean, hasBend: boolean): number {
  if (isWider) return hasBend ? WIDENS_C : ALL_ALONG_C;
  return isShut ? CLOSES_SHUT_C : CLOSES_C;
}

/** How far the other is above the ruling one, °C. */
export function apartC({ rulingC, otherC }: Pick<PairMinute, 'rulingC' | 'otherC'>): number {
  return otherC - rulingC;
}

function meanRound(minutes: readonly PairMinute[], at: number): number {
  const few = minutes.slice(Math.max(at - 1, 0), at + 2);
  return few.reduce((sum, minute) => sum + apartC(minute), 0) / few.length;
}

interface WayFit extends Bend {
  readonly scatterC: number;
}

/** Unknowns: where it was at the bend, its way before, the bend, and what a pace of 1 °C a minute makes of it. */
const UNKNOWNS = 4;
const SCALE_S = 600;

function fitWay(
  minutes: readonly PairMinute[],
  first: number,
  bentMs: number,
  of: Of,
  { hasBend, hasPace }: { readonly hasBend: boolean; readonly hasPace: boolean },
): WayFit | null {
  const a = Array.from({ length: UNKNOWNS }, () => new Float64Array(UNKNOWNS));
  const b = new Float64Array(UNKNOWNS);
  const rows: Float64Array[] = [];
  const at = (list: ArrayLike<number> | undefined, i: number): number => list?.[i] ?? 0;
  for (let i = first; i < minutes.length; i++) {
    const minute = minutes[i];
    if (minute === undefined) continue;
    const t = secondsBetween(bentMs, minute.atMs) / SCALE_S;
    const row = Float64Array.of(1, t, hasBend ? Math.max(t, 0) : 0, hasPace ? minute.pacePerS * S_PER_MIN : 0);
    rows.push(row);
    for (let k = 0; k < UNKNOWNS; k++) {
      b[k] = at(b, k) + at(row, k) * of(minute);
      for (let j = 0; j < UNKNOWNS; j++) (a[k] as Float64Array)[j] = at(a[k], j) + at(row, k) * at(row, j);
    }
  }
  // What is not asked must come out as nothing; so must what pace does, where the pace was even and says nothing of it.
  if (!hasBend) (a[2] as Float64Array)[2] = 1;
  (a[3] as Float64Array)[3] = at(a[3], 3) + PACE_TRUST;
  const lower = cholesky(a);
  if (lower === null) return null;
  const x = solveCholesky(lower, b);
  let squares = 0;
  for (const [i, row] of rows.entries()) {
    const minute = minutes[first + i];
    if (minute === undefined) continue;
    let offC = of(minute);
    for (let k = 0; k < UNKNOWNS; k++) offC -= at(row, k) * at(x, k);
    squares += offC * offC;
  }
  const beforePerS = at(x, 1) / SCALE_S;
  const byPerS = at(x, 2) / SCALE_S;
  const scatterC = Math.sqrt(squares / Math.max(rows.length - UNKNOWNS, 1));
  return { beforePerS, byPerS, sincePerS: beforePerS + byPerS, scatterC };
}
