/**
 * The ruling couple beside each other one of its kiln. Where they sit and how thick their sheaths are keeps them apart, and
 * in a climb with the door shut they stay about as far apart as they were. What changes that is one of them.
 *
 * Judged only in a climb and its hold, some minutes after the door was shut: when the heat goes off, or the door opens, a
 * bare bead leaves a sheathed couple by eighty degrees in two minutes, and nobody is wrong.
 */
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';

export interface PairVerdict {
  /** Within minutes: it leapt or slid. Over half an hour: it drifts. */
  readonly pace: 'fast' | 'slow';
  /** Which of the two left; null where nobody can tell. */
  readonly left: 'ruling' | 'other' | null;
  readonly sinceMs: number;
  /** How far the other was above the ruling one before, and by how much that has changed. */
  readonly beforeC: number;
  readonly byC: number;
  /** It went the most of the way within one half minute. */
  readonly isLeap: boolean;
}

export interface PairWatch {
  /** Half minutes, oldest first. */
  readonly bins: readonly PairBin[];
  readonly open: OpenBin | null;
  readonly verdict: PairVerdict | null;
  /** Half minutes in a row that speak for it. */
  readonly fastCount: number;
  readonly slowCount: number;
}

/** A time in which heat or door were in doubt. */
export interface Unrest {
  readonly firstMs: number;
  readonly lastMs: number;
}

/** Each couple that does not rule, beside the one that does. */
export interface CouplePairs {
  readonly by: Readonly<Record<string, PairWatch>>;
  readonly unrest: Unrest | null;
}

interface PairBin {
  readonly atMs: number;
  readonly rulingC: number;
  readonly otherC: number;
}

interface OpenBin {
  readonly fromMs: number;
  readonly rulingSumC: number;
  readonly rulingCount: number;
  readonly otherSumC: number;
  readonly otherCount: number;
}

export const NO_PAIRS: CouplePairs = { by: {}, unrest: null };

export const NO_PAIR: PairWatch = { bins: [], open: null, verdict: null, fastCount: 0, slowCount: 0 };

const BIN_S = 30;
/** Sparse readings: a half minute with only one of the two is made longer. */
const KEPT_BINS = 66;
/**
 * In two hundred pairs of couples of simulated kilns, shut and heated, their distance changed by 22 °C at most within
 * minutes, and by 15 °C in half an hour in one of fifty. Ours.
 */
const FAST_C = 24;
const FAST_BINS = 5;
/** Of one that does not rule nothing is urgent, and a ruling couple in a thick sheath shows a turned flame minutes later. */
const OTHER_BINS = 10;
/** Before that, the way that each came. */
const BEFORE_BINS = 8;
/** A flame that is turned moves both, the thicker sheath later: the other one must go on as it went. */
const OTHER_RATIO = 0.12;
const OTHER_C = 2;
/** Where the heat may have gone the other one must be seen to go on for longer, and nearer to its way. */
const DOUBTFUL_S = 200;
const DOUBTFUL_BINS = 7;
const DOUBTFUL_RATIO = 0.06;
const FAST_COUNT = 2;
const STOOD_RATIO = 0.7;
const LEAP_RATIO = 0.55;
const SLOW_C = 12;
const SLOW_BINS = [30, 40, 60] as const;
/** Each third of the way has its part. */
const PART_RATIO = 0.15;
/** How far it may lie off its straight way on average. */
const SMOOTH_RATIO = 0.12;
const SLOW_COUNT = 3;
/** A pair that comes back to where it was is well again. */
const BACK_RATIO = 0.4;

/**
 * Carries on by one reading of either.
 * @param isSteady in a climb or its hold, with the door shut for some minutes
 * @param doubtS how long the heat seems to have been gone, or the door open: a thick sheath shows it minutes after a bare
 *   bead; null while all is calm
 */
export function watchPair(
  watch: PairWatch,
  who: 'ruling' | 'other',
  now: { readonly atMs: number; readonly celsius: number },
  isSteady: boolean,
  doubtS: number | null,
): PairWatch {
  if (!isSteady) return watch.bins.length === 0 && watch.open === null ? watch : { ...NO_PAIR, verdict: watch.verdict };
  const open = add(watch.open, who, now);
  const isFull = secondsBetween(open.fromMs, now.atMs) >= BIN_S && open.rulingCount > 0 && open.otherCount > 0;
  if (!isFull) {
    // One of the two has fallen silent.
    const isLost = secondsBetween(open.fromMs, now.atMs) > 4 * S_PER_MIN;
    return isLost ? { ...NO_PAIR, verdict: watch.verdict } : { ...watch, open };
  }
  const bin: PairBin = {
    atMs: now.atMs,
    rulingC: open.rulingSumC / open.rulingCount,
    otherC: open.otherSumC / open.otherCount,
  };
  return judge({ ...watch, bins: [...watch.bins.slice(1 - KEPT_BINS), bin], open: null }, doubtS);
}

function add(open: OpenBin | null, who: 'ruling' | 'other', now: { readonly atMs: number; readonly celsius: number }) {
  const before = open ?? { fromMs: now.atMs, rulingSumC: 0, rulingCount: 0, otherSumC: 0, otherCount: 0 };
  return who === 'ruling'
    ? { ...before, rulingSumC: before.rulingSumC + now.celsius, rulingCount: before.rulingCount + 1 }
    : { ...before, otherSumC: before.otherSumC + now.celsius, otherCount: before.otherCount + 1 };
}

const apartC = (bin: PairBin): number => bin.otherC - bin.rulingC;

function judge(watch: PairWatch, doubtS: number | null): PairWatch {
  const { bins, verdict } = watch;
  const last = bins[bins.length - 1];
  if (last === undefined) return watch;
  if (verdict !== null) {
    const isBack = Math.abs(apartC(last) - verdict.beforeC) < BACK_RATIO * Math.abs(verdict.byC);
    // Where it was mended the way to here says nothing of what comes.
    return isBack ? NO_PAIR : watch;
  }
  const fast =
    doubtS === null
      ? calmChange(bins)
      : doubtS < DOUBTFUL_S
        ? null
        : fastChange(bins, DOUBTFUL_BINS, 'ruling', DOUBTFUL_RATIO);
  const fastCount = fast === null ? 0 : watch.fastCount + 1;
  if (fast !== null && fastCount >= FAST_COUNT) return { ...watch, verdict: fast, fastCount };
  const slow = slowChange(bins);
  const slowCount = slow === null ? 0 : watch.slowCount + 1;
  return { ...watch, fastCount, slowCount, verdict: slow !== null && slowCount >= SLOW_COUNT ? slow : null };
}

function calmChange(bins: readonly PairBin[]): PairVerdict | null {
  const ruling = fastChange(bins, FAST_BINS, 'ruling');
  if (ruling !== null) return ruling;
  const other = fastChange(bins, OTHER_BINS, 'other');
  return other !== null && hasStood(bins, other) ? other : null;
}

/** A bare bead shows a turned flame minutes before the sheath that rules. */
function hasStood(bins: readonly PairBin[], { beforeC, byC }: PairVerdict): boolean {
  const then = bins[bins.length - 1 - FAST_BINS];
  return then !== undefined && (apartC(then) - beforeC) / byC > STOOD_RATIO;
}

/** One of them left its way within the last minutes, and the other went on. */
function fastChange(
  bins: readonly PairBin[],
  back: number,
  who: 'ruling' | 'other',
  straysRatio = OTHER_RATIO,
): PairVerdict | null {
  const last = bins[bins.length - 1];
  const then = bins[bins.length - 1 - back];
  const before = bins[bins.length - 1 - back - BEFORE_BINS];
  if (last === undefined || then === undefined || before === undefined) return null;
  const byC = apartC(last) - apartC(then);
  if (Math.abs(byC) < FAST_C) return null;
  const ahead = secondsBetween(then.atMs, last.atMs) / secondsBetween(before.atMs, then.atMs);
  const strayC = (of: (bin: PairBin) => number): number => of(last) - of(then) - ahead * (of(then) - of(before));
  const ruling = strayC((b) => b.rulingC);
  const other = strayC((b) => b.otherC);
  const limitC = straysRatio * Math.abs(byC) + OTHER_C;
  if (Math.abs(who === 'ruling' ? other : ruling) > limitC) return null;
  return {
    pace: 'fast',
    left: who,
    sinceMs: then.atMs,
    beforeC: apartC(then),
    byC,
    isLeap: isLeap(bins.slice(-1 - back), byC),
  };
}

function isLeap(bins: readonly PairBin[], byC: number): boolean {
  return bins.some((bin, i) => {
    const before = bins[i - 1];
    return before !== undefined && (apartC(bin) - apartC(before)) / byC > LEAP_RATIO;
  });
}

/** They part, little by little, over the whole stretch. */
function slowChange(bins: readonly PairBin[]): PairVerdict | null {
  const last = bins.length - 1;
  for (const back of SLOW_BINS) {
    const first = last - back;
    if (first < 1) return null;
    const byC = smooth(bins, last) - smooth(bins, first);
    if (Math.abs(byC) < SLOW_C) continue;
    const third = Math.round(back / 3);
    const a = smooth(bins, first + third);
    const b = smooth(bins, last - third);
    const parts = [a - smooth(bins, first), b - a, smooth(bins, last) - b];
    if (parts.some((part) => part / byC < PART_RATIO)) continue;
    const from = bins[first];
    if (from === undefined || !isSmooth(bins, first, byC)) return null;
    return { pace: 'slow', left: null, sinceMs: from.atMs, beforeC: smooth(bins, first), byC, isLeap: false };
  }
  return null;
}

/** A hand at the valve makes a bare bead go to and fro beside a sheath; what drifts goes its way quietly. */
function isSmooth(bins: readonly PairBin[], first: number, byC: number): boolean {
  const count = bins.length - 1 - first;
  const fromC = smooth(bins, first);
  let sum = 0;
  for (let i = first; i < bins.length; i++) {
    const bin = bins[i];
    if (bin !== undefined) sum += Math.abs(apartC(bin) - fromC - (byC * (i - first)) / count);
  }
  return sum / (count + 1) <= SMOOTH_RATIO * Math.abs(byC);
}

/** Mean distance of the half minute and the one before it. */
function smooth(bins: readonly PairBin[], i: number): number {
  const [a, b] = [bins[i - 1], bins[i]];
  if (b === undefined) return 0;
  return a === undefined ? apartC(b) : (apartC(a) + apartC(b)) / 2;
}
