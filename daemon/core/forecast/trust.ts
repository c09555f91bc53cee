/**
 * Which opinions to believe: at each judged look every opinion is held against what came true, lately more than long ago,
 * and counts the more the smaller its error. What was right on nearer looks, which come true sooner, counts for the
 * farther ones too, until they have proved themselves.
 *
 * Source: aggregation of experts by discounted losses (from memory); the constants were fitted to the tuning firings of the
 * simulated corpus and to recorded runs together, and hold for all of them.
 */
import { clamp } from '../numbers/units.ts';
import { JUDGED, judgedS } from './looks.ts';
import { KNOWS_PLAN_FROM, OPINION_COUNT } from './opinions.ts';

/**
 * Copied where a figure for each opinion is worked out. Not by `new Array(n).fill`, which engines take for an array with
 * holes: out of one without they read bare doubles.
 */
const EMPTY: readonly number[] = Array.from({ length: OPINION_COUNT }, () => Number.NaN);
const NOTHING: readonly number[] = [];

/** Of one judged look. */
export interface Score {
  /** Sum of squared errors of each opinion, forgotten as time goes, and of how many promises. */
  readonly squares: readonly number[];
  readonly promiseCount: number;
}

/** Of all opinions, and of those that do not know the plan among themselves. */
export interface Weights {
  readonly all: readonly number[];
  readonly untouched: readonly number[];
}

export const NO_WEIGHTS: Weights = { all: [], untouched: [] };
export const NO_SCORE: Score = { squares: [], promiseCount: 0 };

/** Errors are forgotten to 1/e over so many times the way ahead. */
const FORGET_RATIO = 5;
/** So many promises kept make a look's word count in full. */
const PROVED = 5;
const POWER = 5.15;
const FLOOR_RATIO = 0.06;
const LEAST_SQUARE_C = 1e-7;
/** An error counts only beside this share of how far the opinions are apart now, as squares. */
const APART_RATIO = 0.03;
/** How far a look's word carries to farther ones, as a logarithm of the ratio. */
const CARRIES = 1.8;
const DOUBT = 0.018;
/** A look whose word carries less than this is not asked. */
const LEAST_SHARE = 0.05;
/** Beyond this an opinion is not heard at all. */
const LEAST_EXPONENT = 10;

/**
 * A promise has fallen due.
 * @param said what each opinion foresaw; NaN where it had none
 * @param stoodInC stands in for those that had none: the whole forecast's own
 */
export function judge(
  score: Score,
  said: readonly number[],
  stoodInC: number,
  trueC: number,
  keptRatio: number,
): Score {
  const squares = EMPTY.slice();
  const count = score.promiseCount * keptRatio + 1;
  const stoodIn = 2 * (stoodInC - trueC) ** 2;
  for (let i = 0; i < OPINION_COUNT; i++) {
    const off = (said[i] ?? Number.NaN) - trueC;
    squares[i] = (score.squares[i] ?? 0) * keptRatio + (Number.isNaN(off) ? stoodIn : off * off);
  }
  return { squares, promiseCount: count };
}

/**
 * By how much worse than the best each opinion was at a look, as a logarithm.
 * @param apartSquare how far the opinions are apart there now, °C²: who erred by hundredths in a hold has proved nothing
 *   of a corner, where they are degrees apart
 */
export function worseThanBest({ squares, promiseCount }: Score, apartSquare: number): readonly number[] {
  if (promiseCount === 0) return NOTHING;
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0; i < OPINION_COUNT; i++) best = Math.min(best, squares[i] ?? best);
  const floor = FLOOR_RATIO * best + (LEAST_SQUARE_C + APART_RATIO * apartSquare) * promiseCount;
  const worse = EMPTY.slice();
  const atBest = Math.log(best + floor);
  for (let i = 0; i < OPINION_COUNT; i++) worse[i] = Math.log((squares[i] ?? 0) + floor) - atBest;
  return worse;
}

/** Mean square of the distances of the opinions from their mean at a look, each by what it weighs at first. */
export function apartSquareC(said: readonly number[], look: number, first: readonly number[]): number {
  const base = look * OPINION_COUNT;
  const zeroC = said[base] ?? 0;
  let weights = 0;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < OPINION_COUNT; i++) {
    const offC = (said[base + i] ?? Number.NaN) - zeroC;
    if (Number.isNaN(offC)) continue;
    const weight = first[i] ?? 0;
    weights += weight;
    sum += weight * offC;
    squares += weight * offC * offC;
  }
  return weights === 0 ? 0 : Math.max(squares / weights - (sum / weights) ** 2, 0);
}

/** How much of the past is kept when `sinceS` have gone by. */
export function keptRatio(judged: number, sinceS: number): number {
  return Math.exp(-sinceS / (FORGET_RATIO * judgedS(judged)));
}

/** How far one judged look's word carries to itself and to farther ones, by the place of the hearer and then of the speaker. */
const CARRIED = JUDGED.map((_, hearer) =>
  JUDGED.map((_look, speaker) => {
    const apart = Math.log(judgedS(hearer) / judgedS(speaker));
    return apart < 0 ? 0 : Math.exp(-0.5 * (apart / CARRIES) ** 2);
  }),
);

/** A corner of the plan shows in the far looks only: what a nearer one says against the plan carries less. */
const PLAN_FADES = 0.15;
const CARRIED_OF_PLAN = CARRIED.map((hearer, h) =>
  hearer.map((share, speaker) => share * Math.min(judgedS(speaker) / judgedS(h), 1) ** PLAN_FADES),
);

/**
 * Weights at a judged look, from all looks' scores.
 * @param worseOf of each judged look, as `worseThanBest` says it
 * @param first what each opinion weighs before it has proved anything
 */
export function weigh(
  scores: readonly Score[],
  worseOf: readonly (readonly number[])[],
  judged: number,
  first: readonly number[],
): Weights {
  const worse = EMPTY.slice().fill(0);
  let voices = 0;
  for (let g = 0; g <= judged; g++) {
    const score = scores[g];
    if (score === undefined || score.promiseCount === 0) continue;
    const provedRatio = clamp(score.promiseCount / PROVED, 0, 1);
    const share = (CARRIED[judged]?.[g] ?? 0) * provedRatio;
    if (share < LEAST_SHARE) continue;
    voices += share;
    const ofPlan = (CARRIED_OF_PLAN[judged]?.[g] ?? 0) * provedRatio;
    const spoken = worseOf[g] ?? NOTHING;
    for (let i = 0; i < KNOWS_PLAN_FROM; i++) worse[i] = (worse[i] ?? 0) + share * (spoken[i] ?? 0);
    for (let i = KNOWS_PLAN_FROM; i < OPINION_COUNT; i++) worse[i] = (worse[i] ?? 0) + ofPlan * (spoken[i] ?? 0);
  }
  const power = POWER / (voices + DOUBT);
  return weightsOf(worse, first, power);
}

/** Among those that do not know the plan the best of them counts in full, and so does the best of all. */
function weightsOf(worse: readonly number[], first: readonly number[], power: number): Weights {
  const leastUntouched = leastOf(worse, 0, KNOWS_PLAN_FROM);
  const least = Math.min(leastUntouched, leastOf(worse, KNOWS_PLAN_FROM, OPINION_COUNT));
  const all = EMPTY.slice();
  const untouched = EMPTY.slice(0, KNOWS_PLAN_FROM);
  const shareOfAll = Math.exp(power * (least - leastUntouched));
  for (let i = 0; i < KNOWS_PLAN_FROM; i++) {
    const weight = weightOf(power * ((worse[i] ?? 0) - leastUntouched), first[i] ?? 0);
    untouched[i] = weight;
    all[i] = weight * shareOfAll;
  }
  for (let i = KNOWS_PLAN_FROM; i < OPINION_COUNT; i++) {
    all[i] = weightOf(power * ((worse[i] ?? 0) - least), first[i] ?? 0);
  }
  return { all, untouched };
}

function leastOf(worse: readonly number[], from: number, to: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = from; i < to; i++) least = Math.min(least, worse[i] ?? least);
  return least;
}

function weightOf(exponent: number, first: number): number {
  return exponent > LEAST_EXPONENT ? 0 : first * Math.exp(-exponent);
}
