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

/** Copied where a figure for each opinion is worked out: engines then keep bare doubles from the beginning. */
const EMPTY: readonly number[] = new Array(OPINION_COUNT).fill(Number.NaN);

/** Of one judged look. */
export interface Score {
  /** Sum of squared errors of each opinion, forgotten as time goes, and of how many promises. */
  readonly squares: readonly number[];
  readonly promiseCount: number;
  /** By how much worse than the best, as a logarithm. */
  readonly worse: readonly number[];
  readonly weights: Weights;
}

/** Of all opinions, and of those that do not know the plan among themselves. */
export interface Weights {
  readonly all: readonly number[];
  readonly untouched: readonly number[];
}

export const NO_SCORE: Score = { squares: [], promiseCount: 0, worse: [], weights: { all: [], untouched: [] } };

/** Errors are forgotten to 1/e over so many times the way ahead. */
const FORGET_RATIO = 4;
/** So many promises kept make a look's word count in full. */
const PROVED = 10;
const POWER = 5.15;
const FLOOR_RATIO = 0.06;
const LEAST_SQUARE_C = 1e-7;
/** How far a look's word carries to others, as a logarithm of the ratio; and how little from a farther one to a nearer. */
const CARRIES = 1.5;
const BACKWARDS = 0.016;
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
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0; i < OPINION_COUNT; i++) {
    const off = (said[i] ?? Number.NaN) - trueC;
    const square = (score.squares[i] ?? 0) * keptRatio + (Number.isNaN(off) ? stoodIn : off * off);
    squares[i] = square;
    if (square < best) best = square;
  }
  const floor = FLOOR_RATIO * best + LEAST_SQUARE_C * count;
  const worse = EMPTY.slice();
  for (let i = 0; i < OPINION_COUNT; i++) worse[i] = Math.log(((squares[i] ?? 0) + floor) / (best + floor));
  return { squares, promiseCount: count, worse, weights: score.weights };
}

/** How much of the past is kept when `sinceS` have gone by. */
export function keptRatio(judged: number, sinceS: number): number {
  return Math.exp(-sinceS / (FORGET_RATIO * judgedS(judged)));
}

/** How far the word of one judged look carries to another, by the place of the hearer and then of the speaker. */
const CARRIED = JUDGED.map((_, hearer) =>
  JUDGED.map((_look, speaker) => {
    const apart = Math.log(judgedS(speaker) / judgedS(hearer));
    return Math.exp(-0.5 * (apart / CARRIES) ** 2) * (apart > 0 ? BACKWARDS : 1);
  }),
);

/** A corner of the plan shows in the far looks only: what a nearer one says against the plan carries less. */
const PLAN_FADES = 0.15;
const CARRIED_OF_PLAN = CARRIED.map((hearer, h) =>
  hearer.map((share, speaker) => share * Math.min(judgedS(speaker) / judgedS(h), 1) ** PLAN_FADES),
);

/**
 * Weights at a judged look, from all looks' scores.
 * @param first what each opinion weighs before it has proved anything
 */
export function weigh(scores: readonly Score[], judged: number, first: readonly number[]): Weights {
  const worse = EMPTY.slice().fill(0);
  let voices = 0;
  for (let g = 0; g < JUDGED.length; g++) {
    const score = scores[g];
    if (score === undefined || score.promiseCount === 0) continue;
    const provedRatio = clamp(score.promiseCount / PROVED, 0, 1);
    const share = (CARRIED[judged]?.[g] ?? 0) * provedRatio;
    if (share < LEAST_SHARE) continue;
    voices += share;
    const ofPlan = (CARRIED_OF_PLAN[judged]?.[g] ?? 0) * provedRatio;
    for (let i = 0; i < OPINION_COUNT; i++) {
      worse[i] = (worse[i] ?? 0) + (i < KNOWS_PLAN_FROM ? share : ofPlan) * (score.worse[i] ?? 0);
    }
  }
  const power = POWER / (voices + DOUBT);
  return {
    all: weightsOf(worse, first, power, OPINION_COUNT),
    untouched: weightsOf(worse, first, power, KNOWS_PLAN_FROM),
  };
}

/** Of the first `count` opinions, the best of them at its full weight. */
function weightsOf(worse: readonly number[], first: readonly number[], power: number, count: number): number[] {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < count; i++) least = Math.min(least, worse[i] ?? least);
  const weights = EMPTY.slice(0, count);
  for (let i = 0; i < count; i++) {
    const exponent = power * ((worse[i] ?? 0) - least);
    weights[i] = exponent > LEAST_EXPONENT ? 0 : (first[i] ?? 0) * Math.exp(-exponent);
  }
  return weights;
}
