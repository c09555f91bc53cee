/** What was foreseen is kept until its time comes, then held against what came true. */
import type { TimedC } from '../numbers/line-fit.ts';
import { clamp, secondsBetween } from '../numbers/units.ts';
import type { Looks } from './blend.ts';
import { JUDGED, judgedS } from './looks.ts';
import { OPINION_COUNT } from './opinions.ts';
import { learnError, NO_ERRORS, type OwnErrors } from './own-errors.ts';
import { judge, keptRatio, NO_SCORE, NO_WEIGHTS, type Score, type Weights } from './trust.ts';

/** What was foreseen for a look that is still to come true. */
export interface Promised {
  readonly dueAtMs: number;
  readonly saidC: readonly number[];
  readonly celsius: number;
  readonly sigmaC: number;
}

/** One of the looks whose opinions are held against the truth. */
export interface Judged {
  readonly score: Score;
  readonly weights: Weights;
  readonly weighedAtMs: number | null;
  readonly errors: OwnErrors;
  readonly promises: readonly Promised[];
  readonly promisedAtMs: number | null;
  readonly learnedAtMs: number | null;
}

export const NOT_JUDGED: Judged = {
  score: NO_SCORE,
  weights: NO_WEIGHTS,
  weighedAtMs: null,
  errors: NO_ERRORS,
  promises: [],
  promisedAtMs: null,
  learnedAtMs: null,
};

/** A look nearer than so many readings cannot be judged; from here on any can, s. */
const NEAREST_READINGS = 2;
const ALWAYS_JUDGED_S = 120;
/** So many promises are open at a look, or fewer at the nearest ones. */
const OPEN_COUNT = 10;
const OPEN_LEAST = 4;
const PROMISED_EACH_S = 2;
/** The opinions are weighed anew so many times as often: at a corner the nearest looks know within seconds whom to believe. */
const WEIGHED_PER_PROMISE = 3;

export function canBeJudged(judged: number, intervalS: number): boolean {
  return judgedS(judged) >= NEAREST_READINGS * intervalS || judgedS(judged) >= ALWAYS_JUDGED_S;
}

/** Is it time for a new promise? */
export function isPromiseDue({ promisedAtMs }: Judged, judged: number, nowMs: number): boolean {
  return isDue(promisedAtMs, promisedEachS(judged), nowMs);
}

/** Is it time to weigh the opinions anew? */
export function isWeighingDue({ weighedAtMs }: Judged, judged: number, nowMs: number): boolean {
  return isDue(weighedAtMs, promisedEachS(judged) / WEIGHED_PER_PROMISE, nowMs);
}

function isDue(lastAtMs: number | null, eachS: number, nowMs: number): boolean {
  return lastAtMs === null || secondsBetween(lastAtMs, nowMs) >= eachS - 0.01;
}

function promisedEachS(judged: number): number {
  const aheadS = judgedS(judged);
  return Math.max(aheadS / OPEN_COUNT, Math.min(aheadS / OPEN_LEAST, PROMISED_EACH_S));
}

/** Promises what the look says now. */
export function promise(one: Judged, judged: number, nowMs: number, said: readonly number[], looks: Looks): Judged {
  const look = JUDGED[judged] ?? 0;
  const promised: Promised = {
    dueAtMs: nowMs + judgedS(judged) * 1000,
    saidC: said.slice(look * OPINION_COUNT, (look + 1) * OPINION_COUNT),
    celsius: looks.expectedC[look] ?? 0,
    sigmaC: looks.sigmaC[look] ?? 0,
  };
  const promises = one.promises.slice();
  promises.push(promised);
  const { score, weights, weighedAtMs, errors, learnedAtMs } = one;
  return { score, weights, weighedAtMs, errors, promises, promisedAtMs: nowMs, learnedAtMs };
}

/** Holds what was promised for the time since the last reading against what came. */
export function keepPromises(
  judged: readonly Judged[],
  last: TimedC | null,
  now: TimedC,
  intervalS: number,
): readonly Judged[] {
  if (last === null || !judged.some(({ promises }) => isPast(promises[0], now.atMs))) return judged;
  const lateMs = Math.max(3 * intervalS, 5) * 1000;
  return judged.map((one, i) => {
    if (!isPast(one.promises[0], now.atMs)) return one;
    let { score, errors, learnedAtMs } = one;
    let due = 0;
    for (; due < one.promises.length; due++) {
      const promise = one.promises[due];
      if (promise === undefined || !isPast(promise, now.atMs)) break;
      // What fell due in a pause of the readings is dropped unjudged.
      if (now.atMs - promise.dueAtMs > lateMs) continue;
      const share = clamp((now.atMs - promise.dueAtMs) / Math.max(now.atMs - last.atMs, 1), 0, 1);
      const trueC = now.celsius + (last.celsius - now.celsius) * share;
      const sinceS = learnedAtMs === null ? promisedEachS(i) : secondsBetween(learnedAtMs, promise.dueAtMs);
      const kept = keptRatio(i, Math.min(sinceS, judgedS(i)));
      score = judge(score, promise.saidC, promise.celsius, trueC, kept);
      errors = learnError(errors, trueC - promise.celsius, promise.sigmaC, kept);
      learnedAtMs = promise.dueAtMs;
    }
    const promises = one.promises.slice(due);
    const { weights, weighedAtMs, promisedAtMs } = one;
    return { score, weights, weighedAtMs, errors, promises, promisedAtMs, learnedAtMs };
  });
}

function isPast(promise: Promised | undefined, nowMs: number): boolean {
  return promise !== undefined && promise.dueAtMs <= nowMs;
}
