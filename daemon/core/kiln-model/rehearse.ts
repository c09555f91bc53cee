/** What a schedule would do in a kiln whose ways are known: the curve, where the kiln can't follow, when hands are needed. */
import { BAND_SIGMAS } from '../numbers/band.ts';
import { MS_PER_S } from '../numbers/units.ts';
import { type Schedule, targetC } from '../plan/schedule.ts';
import { calendarOfHands, type HandsMoment, type HandsOf } from './calendar-of-hands.ts';
import { fireInModel, type ModelFiring, type ShortOfPace } from './fire-in-model.ts';
import { movedModels, sigmaOf, type UnsureModel } from './spread.ts';

export interface Rehearsal {
  readonly startedAtMs: number;
  readonly points: readonly RehearsedPoint[];
  readonly segments: readonly RehearsedSegment[];
  readonly hands: readonly RehearsedHands[];
  /** When the door or lid may be cracked, and when it can be unloaded. */
  readonly cracksAt: When | null;
  readonly unloadsAt: When | null;
  readonly safeOpenC: number;
  readonly peakC: number;
}

export interface RehearsedPoint {
  readonly atMs: number;
  readonly celsius: number;
  readonly lowC: number;
  readonly highC: number;
  readonly heatRatio: number;
  readonly segment: number;
}

/** An instant with the bounds that should hold it nine times in ten. */
export interface When {
  readonly atMs: number;
  readonly earliestMs: number;
  readonly latestMs: number;
}

export interface RehearsedSegment {
  readonly segment: number;
  readonly startsAt: When;
  readonly endsAt: When;
  readonly startC: number;
  readonly endC: number;
  readonly goalC: number;
  readonly isReached: boolean;
  readonly short: ShortOfPace | null;
}

export interface RehearsedHands extends HandsMoment {
  readonly fromMs: number;
  readonly toMs: number;
  readonly callAtMs: number;
}

export interface RehearsalConditions extends HandsOf {
  readonly startedAtMs: number;
  readonly startC: number;
  readonly roomC: number;
}
/** A point of the curve each so many seconds. */
const POINT_S = 60;
/** A time is never told surer than this: nobody lights a kiln to the second. Ours. */
const LEAST_HALF_S = 60;

export function rehearse(known: UnsureModel, schedule: Schedule, conditions: RehearsalConditions): Rehearsal {
  const { startedAtMs } = conditions;
  const firing = fireInModel(known.model, schedule, conditions);
  const pairs = movedModels(known).map(
    ([up, down]) => [fireInModel(up, schedule, conditions), fireInModel(down, schedule, conditions)] as const,
  );
  const atMs = (s: number): number => startedAtMs + s * MS_PER_S;
  const when = (figure: (of: ModelFiring) => number | null): When | null => {
    const s = figure(firing);
    if (s === null) return null;
    const sigmaS = sigmaOf(pairs.map(([up, down]) => [figure(up) ?? s, figure(down) ?? s] as const)) ?? 0;
    const halfS = Math.max(BAND_SIGMAS * sigmaS, s === 0 ? 0 : LEAST_HALF_S);
    return { atMs: atMs(s), earliestMs: Math.round(atMs(s - halfS)), latestMs: Math.round(atMs(s + halfS)) };
  };
  const at = (s: number): When => ({ atMs: atMs(s), earliestMs: atMs(s), latestMs: atMs(s) });
  return {
    startedAtMs,
    points: bandOf(known, firing, pairs, startedAtMs),
    segments: firing.segments.map((ran, i) => ({
      segment: ran.segment,
      startsAt: when((f) => f.segments[i]?.startS ?? null) ?? at(ran.startS),
      endsAt: when((f) => f.segments[i]?.endS ?? null) ?? at(ran.endS),
      startC: ran.startC,
      endC: ran.endC,
      goalC: targetC(schedule, ran.segment),
      isReached: ran.isReached,
      short: ran.short,
    })),
    hands: calendarOfHands(schedule, firing, conditions).map((moment) => ({
      ...moment,
      fromMs: atMs(moment.fromS),
      toMs: atMs(moment.toS),
      callAtMs: atMs(moment.fromS - moment.callMinutes * 60),
    })),
    cracksAt: when((f) => f.cracksAtS),
    unloadsAt: when((f) => f.unloadsAtS),
    safeOpenC: conditions.safeOpenC,
    peakC: firing.points.reduce((high, p) => Math.max(high, p.shownC), Number.NEGATIVE_INFINITY),
  };
}

type Pair = readonly [ModelFiring, ModelFiring];

function bandOf(
  known: UnsureModel,
  firing: ModelFiring,
  pairs: readonly Pair[],
  startedAtMs: number,
): RehearsedPoint[] {
  const shownC = (f: ModelFiring, index: number): number | null => {
    const point = f.points[Math.min(index, f.points.length - 1)];
    return point?.shownC ?? null;
  };
  return firing.points.flatMap((point, index): RehearsedPoint[] => {
    if (point.atS % POINT_S !== 0) return [];
    const sigmaC = sigmaOf(pairs.map(([up, down]) => [shownC(up, index), shownC(down, index)] as const)) ?? 0;
    const halfC = BAND_SIGMAS * Math.hypot(sigmaC, known.errorC);
    return [
      {
        atMs: startedAtMs + point.atS * MS_PER_S,
        celsius: round(point.shownC),
        lowC: round(point.shownC - halfC),
        highC: round(point.shownC + halfC),
        heatRatio: Math.round(point.heatRatio * 1000) / 1000,
        segment: point.segment,
      },
    ];
  });
}

function round(celsius: number): number {
  return Math.round(celsius * 10) / 10;
}
