/**
 * Looks ahead from each reading of the ruling sensor: draws the lines on, judges what had been promised for now, asks all
 * opinions, and makes of them what is expected and what comes if nobody turns anything.
 */
import type { TimedC } from '../numbers/line-fit.ts';
import { secondsBetween } from '../numbers/units.ts';
import { abilityOf, learnAbility } from './ability.ts';
import { blend, type Looks } from './blend.ts';
import type { Foresight, Known } from './foresight.ts';
import { learnNoise, rememberPlan, seeRange } from './latest-way.ts';
import { drawOn, lineOf, WINDOW_COUNT, windowFrom, windowS } from './lines.ts';
import { JUDGED, lookS } from './looks.ts';
import { askAll, firstWeights, type Sight } from './opinions.ts';
import { type Ability, pathReader, planPath, unprovenFallC } from './plan-path.ts';
import {
  canBeJudged,
  isPromiseDue,
  isWeighingDue,
  type Judged,
  keepPromises,
  NOT_JUDGED,
  promise,
} from './promises.ts';
import { aheadC, type Prospect } from './prospect.ts';
import { apartSquareC, weigh, worseThanBest } from './trust.ts';

/** All opinions are asked so often: after so many seconds, or after the kiln has moved by so much. Ours. */
const ASKED_EACH_S = 10;
const ASKED_EACH_C = 0.25;
/** A reading so many times its usual noise off is a reason to ask at once. */
const SURPRISED_NOISES = 3;
/** The window, counted from the shortest, that tells what the kiln is now. */
const LEVEL_WINDOW = 1;
/** Two readings closer than this are one for the way; faster instruments than twenty a second are not for kilns. Ours. */
const LEAST_STEP_S = 0.05;
/** What the kiln can do is told by the pace over so long at least: a flame just lit leaps for a moment. */
const ABILITY_S = 45;

const JUDGED_PLACES: readonly number[] = JUDGED.map((_, i) => i);

export function lookAhead(before: Foresight, now: TimedC, known: Known): Foresight {
  const { last } = before.lines;
  // Readings that come in a burst say nothing of the way: a degree within a millisecond is no pace.
  if (last !== null && secondsBetween(last.atMs, now.atMs) < LEAST_STEP_S) return before;
  const lines = drawOn(before.lines, now, known.isLeap, known.intervalS);
  const { intervalS } = lines;
  const stepS = last === null ? 0 : secondsBetween(last.atMs, now.atMs);
  const ability = windowFrom(ABILITY_S, intervalS);
  const steady = lineOf(lines, ability);
  const { highsC, lowsC } = seeRange(before, now.celsius, stepS);
  const { climbPerS, fallS } = learnAbility(before, known, steady, windowS(ability, intervalS), now.celsius, stepS);
  const next: Foresight = {
    lines,
    readingCount: before.readingCount + 1,
    firstWeights: intervalS === before.lines.intervalS ? before.firstWeights : firstWeights(intervalS),
    noiseC: learnNoise(before, LEVEL_WINDOW, now, stepS, known.isLeap),
    highsC,
    lowsC,
    climbPerS,
    fallS,
    planned: before.planned,
    judged: keepPromises(before.judged, last, now, intervalS),
    prospect: before.prospect,
  };
  return intervalS > 0 && isWorthAsking(next, now, steady.slopePerS) ? ask(next, now, known) : next;
}

/** Some seconds have gone, the kiln has moved on, or it is not where it was to be expected. */
function isWorthAsking({ prospect, noiseC }: Foresight, now: TimedC, slopePerS: number): boolean {
  if (prospect === null) return true;
  const sinceS = secondsBetween(prospect.atMs, now.atMs);
  if (sinceS >= ASKED_EACH_S - 0.01 || sinceS * Math.abs(slopePerS) >= ASKED_EACH_C) return true;
  return Math.abs(now.celsius - aheadC(prospect.expected, sinceS)) > SURPRISED_NOISES * noiseC;
}

function ask(state: Foresight, now: TimedC, known: Known): Foresight {
  const { noiseC } = state;
  const { intervalS } = state.lines;
  const ability = abilityOf(state, now.celsius);
  const plan = planAhead(state, now, known, ability);
  const sight: Sight = {
    now,
    lines: Array.from({ length: WINDOW_COUNT }, (_, i) => lineOf(state.lines, i)),
    middlesC: state.highsC.map((highC, i) => (highC + (state.lowsC[i] ?? highC)) / 2),
    rangesC: state.highsC.map((highC, i) => highC - (state.lowsC[i] ?? highC)),
    ability,
    plan,
  };
  const said = askAll(sight);
  const able = JUDGED_PLACES.filter((i) => canBeJudged(i, intervalS));
  const weighed = weighAnew(state, now.atMs, able, said);
  const looks = blend(weighed, able, said, noiseC, state.fallS === null ? unprovenC(now, known, ability) : []);
  const judged = weighed.map((one, i) =>
    able.includes(i) && isPromiseDue(one, i, now.atMs) ? promise(one, i, now.atMs, said, looks) : one,
  );
  const prospect = prospectOf(state, sight, known, looks);
  return { ...state, planned: plan?.past ?? state.planned, judged, prospect };
}

/** Where it is time for it. Only nearer looks are asked for a farther one, so the farthest that is due ends it. */
function weighAnew(
  state: Foresight,
  nowMs: number,
  able: readonly number[],
  said: readonly number[],
): readonly Judged[] {
  const due = able.filter((i) => isWeighingDue(state.judged[i] ?? NOT_JUDGED, i, nowMs));
  const farthest = due[due.length - 1] ?? -1;
  const scores = state.judged.map(({ score }) => score);
  const worse = scores.map((score, i) =>
    i > farthest ? [] : worseThanBest(score, apartSquareC(said, JUDGED[i] ?? 0, state.firstWeights[i] ?? [])),
  );
  return state.judged.map((one, i) => {
    if (!due.includes(i)) return one;
    const { score, errors, promises, promisedAtMs, learnedAtMs } = one;
    const weights = weigh(scores, worse, i, state.firstWeights[i] ?? []);
    return { score, weights, weighedAtMs: nowMs, errors, promises, promisedAtMs, learnedAtMs };
  });
}

function unprovenC(now: TimedC, { schedule, track }: Known, ability: Ability): readonly number[] {
  return schedule === null || track === null ? [] : unprovenFallC(schedule, track, now, ability);
}

function planAhead(state: Foresight, now: TimedC, { schedule, track }: Known, ability: Ability): Sight['plan'] {
  if (schedule === null || track === null) return null;
  const ahead = planPath(schedule, track, now, ability, 'plan');
  const plannedC = pathReader(ahead, ability.fallS)(now.atMs);
  return {
    ahead,
    own: planPath(schedule, track, now, ability, 'kiln'),
    past: rememberPlan(state.planned, now, plannedC),
  };
}

function prospectOf({ noiseC }: Foresight, { now, lines }: Sight, { rate }: Known, looks: Looks): Prospect {
  const { levelC, slopePerS } = lines[LEVEL_WINDOW] ?? { levelC: now.celsius, slopePerS: 0 };
  const { looked, expectedC, sigmaC, untouchedC } = looks;
  const aheadS = [0, ...looked.map(lookS)];
  const along = (first: number, then: readonly number[]): number[] => [
    first,
    ...looked.map((look) => then[look] ?? first),
  ];
  return {
    atMs: now.atMs,
    fromC: levelC,
    noiseC,
    ratePerS: rate?.slopePerS ?? slopePerS,
    // As long as nobody can say, any rate may be.
    rateSigmaPerS: rate?.slopeSigmaPerS ?? Math.max(Math.abs(slopePerS), 1),
    expected: { aheadS, celsius: along(levelC, expectedC), sigmaC: along(noiseC, sigmaC) },
    untouched: { aheadS, celsius: along(levelC, untouchedC) },
  };
}
