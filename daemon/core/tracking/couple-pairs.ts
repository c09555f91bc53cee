/**
 * The ruling couple beside each other one of its kiln. Where they sit and how thick their sheaths are keeps them apart, and
 * in a climb with the door shut they stay about as far apart as they were. What changes that is one of them.
 *
 * Judged only in a climb and its hold, some minutes after the door was shut: when the heat goes off, or the door opens, a
 * bare bead leaves a sheathed couple by eighty degrees in two minutes, and nobody is wrong.
 */
import type { TimedC } from '../numbers/line-fit.ts';
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import { findApart } from './coming-apart.ts';
import { findLeap, mayHaveLeapt } from './leapt-apart.ts';
import type { FoundAlone, LonelyWatch } from './lonely-fall.ts';
import { apartAtRest, NO_REST, type PairRest, watchRest } from './pair-rest.ts';
import { apartC, findParting, type PairMinute, type Parting, withMinute } from './parting.ts';

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
  /** Minutes, oldest first, whatever the kiln does. */
  readonly minutes: readonly PairMinute[];
  readonly openMinute: OpenBin | null;
  readonly rest: PairRest;
  readonly verdict: PairVerdict | null;
  /** Half minutes in a row that speak for a fast change, minutes for a slow one. */
  readonly fastCount: number;
  readonly slowCount: number;
  /** How far the ruling one has fallen while this one goes on, as long as that is not sure; else null. */
  readonly doubtC: number | null;
}

/** What the firing knows round the pair. */
export interface PairKnown {
  /** In a climb or its hold. */
  readonly isHeated: boolean;
  /** With the door shut for some minutes as well. */
  readonly isSteady: boolean;
  /**
   * How long the heat seems to have been gone, or the door open: a thick sheath shows it minutes after a bare bead; null
   * while all is calm.
   */
  readonly doubtS: number | null;
  /** Since when plan, door and heat have let both go their way up; null while they do not. */
  readonly evenFromMs: number | null;
  readonly isShut: boolean;
  /** The pace that a controller with a couple of its own holds; null where a hand goes by ours. */
  readonly controlledPerS: number | null;
}

/** A time in which heat or door were in doubt. */
export interface Unrest {
  readonly firstMs: number;
  readonly lastMs: number;
}

/** Each couple that does not rule, beside the one that does. */
export interface CouplePairs {
  readonly by: Readonly<Record<string, PairWatch>>;
  /** Of each couple, whether it falls alone. */
  readonly lonely: Readonly<Record<string, LonelyWatch>>;
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

export const NO_PAIRS: CouplePairs = { by: {}, lonely: {}, unrest: null };

export const NO_PAIR: PairWatch = {
  bins: [],
  open: null,
  minutes: [],
  openMinute: null,
  rest: NO_REST,
  verdict: null,
  fastCount: 0,
  slowCount: 0,
  doubtC: null,
};

const BIN_S = 30;
const MINUTE_S = 60;
/** Sparse readings: a half minute with only one of the two is made longer. */
const KEPT_BINS = 24;
/**
 * In two hundred pairs of couples of simulated kilns, shut and heated, their distance changed by 22 °C at most within minutes;
 * in as many it did by 8 °C at most where it was the ruling one that left its way and the other went on. Ours.
 */
const FAST_C = { ruling: 14, other: 24 } as const;
const FAST_BINS = 5;
/** Of one that does not rule nothing is urgent, and a ruling couple in a thick sheath shows a turned flame minutes later. */
const OTHER_BINS = 10;
/** Before that, the way that each came. */
const BEFORE_BINS = 8;
/** A flame that is turned moves both, the thicker sheath later: the other one must go on as it went. */
const OTHER_RATIO = 0.12;
const OTHER_C = 2;
/** What left has gone by far the most of the way itself. */
const OWN_RATIO = 0.75;
/** Where the heat may have gone the other one must be seen to go on for longer, and nearer to its way. */
const DOUBTFUL_S = 200;
/** A fall stands out after so long, in a thick sheath. */
const DOUBT_COMES_S = 60;
const MOST_DOUBTFUL_BINS = 14;
const DOUBTFUL_RATIO = 0.06;
const FAST_COUNT = 2;
const STOOD_RATIO = 0.7;
const LEAP_RATIO = 0.55;
/** Minutes in a row after which it is told though nobody knows which of them left: the second one often says it. */
const SLOW_COUNT = 2;
const FAST_MINUTES = 6;
/** Of two that part, the pace of the one that stays has changed by no more than this share of what parts them. Ours. */
const STAYS_RATIO = 0.35;
/** No couple ages faster, °C/s; a half of the kiln that no longer heats leaves the other by twice that. 40 °C/h, ours. */
const AGES_PER_S = 40 / 3600;
/** A pair that comes back to where it was is well again. */
const BACK_RATIO = 0.4;

/** The ruling one has left, and shows less than it should: who goes by it fires too hot. */
export function isRulingLow({ left, byC }: PairVerdict): boolean {
  return left === 'ruling' && byC > 0;
}

/** What fell alone, and that it did, is plain: nothing else need be waited for. */
export function withFallen(watch: PairWatch, left: 'ruling' | 'other', found: FoundAlone): PairWatch {
  const { sinceMs, fallC, aboveC } = found;
  const sign = left === 'ruling' ? 1 : -1;
  return {
    ...watch,
    verdict: { pace: 'fast', left, sinceMs, beforeC: sign * aboveC, byC: sign * fallC, isLeap: false },
  };
}

/** Carries on by one reading of either. */
export function watchPair(before: PairWatch, who: 'ruling' | 'other', now: TimedC, known: PairKnown): PairWatch {
  return watchFast(watchSlow(before, who, now, known), who, now, known);
}

/** What has left its way within minutes, in half minutes of a steady climb. */
function watchFast(watch: PairWatch, who: 'ruling' | 'other', now: TimedC, known: PairKnown): PairWatch {
  if (!known.isSteady) {
    return watch.bins.length === 0 && watch.open === null ? watch : { ...watch, bins: [], open: null, fastCount: 0 };
  }
  const open = add(watch.open, who, now);
  if (!isFull(open, now.atMs, BIN_S)) {
    return isLost(open, now.atMs) ? { ...watch, bins: [], open: null, fastCount: 0 } : { ...watch, open };
  }
  return judgeFast({ ...watch, bins: [...watch.bins.slice(1 - KEPT_BINS), meanOf(open, now.atMs)], open: null }, known);
}

/** What parts little by little, in minutes. */
function watchSlow(watch: PairWatch, who: 'ruling' | 'other', now: TimedC, known: PairKnown): PairWatch {
  const openMinute = add(watch.openMinute, who, now);
  if (!isFull(openMinute, now.atMs, MINUTE_S)) {
    return isLost(openMinute, now.atMs) ? { ...watch, minutes: [], openMinute: null } : { ...watch, openMinute };
  }
  const isHeated = known.isHeated && known.doubtS === null;
  const minutes = withMinute(watch.minutes, { ...meanOf(openMinute, now.atMs), isHeated, isShut: known.isShut });
  const next = { ...watch, minutes, openMinute: null, rest: watchRest(watch.rest, minutes, known.isShut) };
  if (watch.verdict !== null) return next;
  const leap = findLeap(minutes);
  if (leap !== null) return { ...next, verdict: { ...leap, pace: 'fast', isLeap: true } };
  const isForFast = mayHaveLeapt(minutes) || (known.isSteady && hasLeftLately(minutes));
  const slow = isForFast ? null : slowVerdict(next, known);
  const slowCount = slow === null ? 0 : watch.slowCount + 1;
  const isPlain = slow !== null && (slow.left !== null || isBeyondAge(slow, now.atMs) || slowCount >= SLOW_COUNT);
  return { ...next, slowCount, verdict: isPlain ? slow : null };
}

/** No second minute says of it which of them left: see `whoLeft`. */
function isBeyondAge({ sinceMs, byC }: PairVerdict, atMs: number): boolean {
  return Math.abs(byC) > AGES_PER_S * secondsBetween(sinceMs, atMs);
}

/** What goes that fast is the other watch's to judge: it can say which of the two it was. */
function hasLeftLately(minutes: readonly PairMinute[]): boolean {
  const last = minutes[minutes.length - 1];
  const then = minutes[minutes.length - 1 - FAST_MINUTES];
  return last !== undefined && then !== undefined && Math.abs(apartC(last) - apartC(then)) > FAST_C.other;
}

function slowVerdict({ minutes, rest }: PairWatch, known: PairKnown): PairVerdict | null {
  const { evenFromMs, isShut, controlledPerS } = known;
  const parting = (evenFromMs === null ? null : findParting(minutes, evenFromMs, isShut)) ?? findApart(minutes);
  const apart = parting ?? apartAtRest(rest);
  if (apart === null) return null;
  const { sinceMs, beforeC, byC } = apart;
  // Where the plan did not go evenly, both have bent.
  const isEven = parting !== null && evenFromMs !== null && parting.fromMs >= evenFromMs;
  const left = isEven ? whoLeft(parting, controlledPerS) : null;
  return { pace: 'slow', left, sinceMs, beforeC, byC, isLeap: false };
}

/** By its own bend, or, where the way before is not known, by the pace that the controller holds. */
function whoLeft({ hasBend, ruling, other }: Parting, controlledPerS: number | null): PairVerdict['left'] {
  const [rulingPerS, otherPerS] = hasBend
    ? [ruling.byPerS, other.byPerS]
    : controlledPerS === null
      ? [Number.NaN, Number.NaN]
      : [ruling.sincePerS - controlledPerS, other.sincePerS - controlledPerS];
  const partsPerS = Math.abs(otherPerS - rulingPerS);
  if (partsPerS > AGES_PER_S) return null;
  if (Math.abs(otherPerS) < STAYS_RATIO * partsPerS) return 'ruling';
  return Math.abs(rulingPerS) < STAYS_RATIO * partsPerS ? 'other' : null;
}

const isFull = (open: OpenBin, atMs: number, overS: number): boolean =>
  secondsBetween(open.fromMs, atMs) >= overS && open.rulingCount > 0 && open.otherCount > 0;

/** One of the two has fallen silent. */
const isLost = (open: OpenBin, atMs: number): boolean => secondsBetween(open.fromMs, atMs) > 4 * S_PER_MIN;

const meanOf = (open: OpenBin, atMs: number): PairBin => ({
  atMs,
  rulingC: open.rulingSumC / open.rulingCount,
  otherC: open.otherSumC / open.otherCount,
});

function add(open: OpenBin | null, who: 'ruling' | 'other', now: TimedC): OpenBin {
  const isRuling = who === 'ruling';
  return {
    fromMs: open?.fromMs ?? now.atMs,
    rulingSumC: (open?.rulingSumC ?? 0) + (isRuling ? now.celsius : 0),
    rulingCount: (open?.rulingCount ?? 0) + (isRuling ? 1 : 0),
    otherSumC: (open?.otherSumC ?? 0) + (isRuling ? 0 : now.celsius),
    otherCount: (open?.otherCount ?? 0) + (isRuling ? 0 : 1),
  };
}

function judgeFast(watch: PairWatch, { doubtS }: PairKnown): PairWatch {
  const { bins, verdict } = watch;
  const last = bins[bins.length - 1];
  if (last === undefined) return watch;
  if (verdict !== null) {
    const isBack = Math.abs(apartC(last) - verdict.beforeC) < BACK_RATIO * Math.abs(verdict.byC);
    // Where it was mended the way to here says nothing of what comes.
    return isBack ? NO_PAIR : watch;
  }
  const fast = doubtS === null ? calmChange(bins) : doubtS < DOUBTFUL_S ? null : doubtfulChange(bins, doubtS);
  const fastCount = fast === null ? 0 : watch.fastCount + 1;
  return { ...watch, fastCount, verdict: fast !== null && fastCount >= FAST_COUNT ? fast : null };
}

function calmChange(bins: readonly PairBin[]): PairVerdict | null {
  const ruling = fastChange(bins, FAST_BINS, 'ruling');
  if (ruling !== null) return ruling;
  const other = fastChange(bins, OTHER_BINS, 'other');
  return other !== null && hasStood(bins, other) ? other : null;
}

/** From just before the heat seemed to go. */
function doubtfulChange(bins: readonly PairBin[], doubtS: number): PairVerdict | null {
  const back = Math.ceil((doubtS + DOUBT_COMES_S) / BIN_S);
  return back > MOST_DOUBTFUL_BINS ? null : fastChange(bins, back, 'ruling', DOUBTFUL_RATIO);
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
  if (Math.abs(byC) < FAST_C[who]) return null;
  const ahead = secondsBetween(then.atMs, last.atMs) / secondsBetween(before.atMs, then.atMs);
  const strayC = (of: (bin: PairBin) => number): number => of(last) - of(then) - ahead * (of(then) - of(before));
  // Towards the one that left; away from it, it goes on all the more.
  const towards = who === 'ruling' ? -Math.sign(byC) : Math.sign(byC);
  const own = towards * strayC(who === 'ruling' ? (b) => b.rulingC : (b) => b.otherC);
  const beside = towards * strayC(who === 'ruling' ? (b) => b.otherC : (b) => b.rulingC);
  if (beside > straysRatio * Math.abs(byC) + OTHER_C || own < OWN_RATIO * Math.abs(byC)) return null;
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
