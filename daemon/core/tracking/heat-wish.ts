/** What the plan wants of the heat at this moment, for those who watch whether it comes. */
import { secondsBetween } from '../numbers/units.ts';
import {
  climbTopC,
  goesDown,
  isAfterHold,
  isClimb,
  isFarBelowTop,
  isLetFall,
  mayStandOpen,
  pacePerS,
  proppedToC,
  type Schedule,
  targetC,
} from '../plan/schedule.ts';
import {
  countedS,
  ENOUGH_RATIO,
  hasHadItsHold,
  isHoldFromAbove,
  mayHaveHadItsHold,
  mayProgrammeEnd,
  overdueS,
  type PlanTrack,
  plannedNowC,
} from './plan-track.ts';
import { type Swing, swingBefore } from './swing.ts';
import type { Trace } from './trace.ts';
import type { Turn } from './turn.ts';

/** What the plan wants of the heat now. */
export type HeatWish =
  /** A climb, with more than the last degrees to go. */
  | 'climb'
  /** The last degrees of a climb, where hand or controller turn down. */
  | 'arrival'
  /** A hold. */
  | 'hold'
  /** The last minutes of a hold, when the hand may turn off, and a plan that wants nothing any more. */
  | 'ending'
  /** A fall at a pace that only heat can keep so slow. */
  | 'guided-fall'
  /** Left to fall: no heat at all. */
  | 'fall';

export interface Held {
  readonly goalC: number;
  /** Since the hold began. */
  readonly sinceS: number;
  /** So far below the plan's top that no colour minds. */
  readonly isFarBelowTop: boolean;
}

export interface HeatContext {
  readonly heat: 'gas' | 'electric';
  readonly wish: HeatWish;
  /** Of the hold, or of the ramp's end, °C. */
  readonly goalC: number;
  readonly toleranceC: number;
  /** Where the plan itself has a corner, or a lid was moved, the way bends by right: seconds since; Infinity if never. */
  readonly sinceCornerS: number;
  /** Where the kiln was at the plan's last corner, °C. */
  readonly startC: number;
  readonly sinceLidS: number;
  readonly sinceLightS: number;
  /** Seconds since by the clock all was over that comes before the next fall; -Infinity where it has no planned end. */
  readonly overdueS: number;
  /** Smoke is let off: the hand works at door, vent and flame. */
  readonly isPropped: boolean;
  /** It was until a few minutes ago: the door is being shut about now. */
  readonly wasPropped: boolean;
  /** Where the stretch before, in which smoke was let off, led to: the hand goes by that, the plan by its clock; null elsewhere. */
  readonly proppedToC: number | null;
  readonly plannedC: number | null;
  /** The pace that the plan wants of a climb, °C/s; null where it wants none. */
  readonly wantedPerS: number | null;
  /** The temperature of the hold that catches it on its way down, or has caught it; null where none does. */
  readonly landsOnC: number | null;
  /** Where a guided fall was let go, or a let-fall is caught: a controller swings there; null elsewhere. */
  readonly guidanceFromC: number | null;
  /** Where a hold lets go into a guided fall; null elsewhere. */
  readonly letGoC: number | null;
  /** The hold that it is in, or has left so lately that its controller may not have; null elsewhere. */
  readonly held: Held | null;
  /** The goal lies so far below the plan's top that no colour minds. */
  readonly isFarBelowTop: boolean;
  /** The hottest of this firing so far. */
  readonly peakC: number;
  /** How deep this kiln's temperature usually dips while it is heated. */
  readonly rippleC: number;
}

/** The last degrees of a climb, in tolerances and in °C: from here on hand or controller ease it. Common practice, no source. */
const ARRIVAL_TOLERANCES = 3;
const ARRIVAL_C = 25;
/**
 * The heat is often turned off a little before the clock of the hold runs out. A controller goes by its own couple and clock:
 * where the hold has done its work a fall is its end, and a fuse that goes costs nothing; so it is of a hand that anneals. At the
 * top a flame that is out is worth a call.
 */
const ENDING_S = 150;

/** A controller goes by its own clock, and may hold on for so long after the plan. Ours. */
export const LEFT_S = 300;

/** So long after smoke was let off the door is being shut, and what it cooled comes up again. Common practice, no source. */
export const SHUT_S = 720;

/** So close below its corner a controller's own couple or clock may be past it. Ours. */
const SOON_NEXT_C = 10;

interface Known {
  readonly heat: 'gas' | 'electric';
  readonly toleranceC: number;
  readonly lidMovedAtMs: number | null;
  readonly nowMs: number;
  readonly nowC: number;
  readonly rippleC: number;
  readonly peakC: number;
}

/** null without a plan, and while the firing has not begun to move. */
export function heatContext(schedule: Schedule | null, track: PlanTrack | null, known: Known): HeatContext | null {
  if (schedule === null || track === null || (track.segment === 0 && !track.hasMoved)) return null;
  const goalC = targetC(schedule, track.segment);
  const segment = schedule.segments[track.segment];
  const before = schedule.segments[track.segment - 1];
  const sinceCornerS = secondsBetween(track.startedAtMs, known.nowMs);
  const airedToC = proppedToC(schedule, track.segment);
  const wasPropped = airedToC !== null && sinceCornerS < SHUT_S;
  const wish = wishOf(schedule, track, known);
  return {
    heat: known.heat,
    wish,
    goalC,
    toleranceC: known.toleranceC,
    sinceCornerS,
    startC: track.startC,
    sinceLidS: known.lidMovedAtMs === null ? Number.POSITIVE_INFINITY : secondsBetween(known.lidMovedAtMs, known.nowMs),
    isPropped: mayStandOpen(segment) || wasPropped,
    wasPropped,
    proppedToC: airedToC,
    sinceLightS: secondsBetween(track.past[0]?.startedAtMs ?? track.startedAtMs, known.nowMs),
    overdueS: overdueS(schedule, track, known.nowMs),
    rippleC: known.rippleC,
    landsOnC: landsOnC(schedule, track.segment),
    guidanceFromC: isGuidanceChanged(schedule, track.segment) ? track.startC : null,
    letGoC: wish === 'guided-fall' && before?.kind === 'hold' ? track.startC : null,
    held: heldBy(schedule, track, wish, known.nowMs),
    isFarBelowTop: isFarBelowTop(schedule, goalC),
    peakC: known.peakC,
    wantedPerS: wantedPerS(schedule, track.segment, known.nowC),
    plannedC: plannedNowC(schedule, track, known.nowMs),
  };
}

/** Close to its corner a controller may have gone on to the next climb: the faster of the two counts, and none without a pace. */
function wantedPerS(schedule: Schedule, index: number, nowC: number): number | null {
  const ratePerS = pacePerS(schedule.segments[index]);
  if (ratePerS === null || !isClimb(schedule, index + 1) || nowC < targetC(schedule, index) - SOON_NEXT_C)
    return ratePerS;
  const nextPerS = pacePerS(schedule.segments[index + 1]);
  return nextPerS === null ? null : Math.max(ratePerS, nextPerS);
}

function landsOnC(schedule: Schedule, index: number): number | null {
  const hold = schedule.segments[index]?.kind === 'hold' ? index : index + 1;
  if (schedule.segments[hold]?.kind !== 'hold' || !goesDown(schedule, hold - 1)) return null;
  return targetC(schedule, hold);
}

function isGuidanceChanged(schedule: Schedule, index: number): boolean {
  const segment = schedule.segments[index];
  const before = schedule.segments[index - 1];
  if (segment?.kind !== 'ramp' || before?.kind !== 'ramp' || !goesDown(schedule, index - 1)) return false;
  return isLetFall(segment) !== isLetFall(before);
}

function heldBy(schedule: Schedule, track: PlanTrack, wish: HeatWish, nowMs: number): Held | null {
  const { segment: index, startedAtMs } = track;
  const sinceCornerS = secondsBetween(startedAtMs, nowMs);
  if (schedule.segments[index]?.kind === 'hold') {
    // At its end the controller of one that climbs on may do so already.
    const climbsOn = schedule.segments[index + 1] !== undefined && !goesDown(schedule, index + 1);
    return climbsOn && wish === 'ending' ? null : heldAt(schedule, index, sinceCornerS);
  }
  const last = track.past[track.past.length - 1];
  const isLeft = isAfterHold(schedule, index) && goesDown(schedule, index);
  if (!isLeft || last === undefined || sinceCornerS > LEFT_S) return null;
  return heldAt(schedule, index - 1, secondsBetween(last.startedAtMs, nowMs));
}

function heldAt(schedule: Schedule, index: number, sinceS: number): Held {
  const goalC = targetC(schedule, index);
  return { goalC, sinceS, isFarBelowTop: isFarBelowTop(schedule, goalC) };
}

function wishOf(schedule: Schedule, track: PlanTrack, { heat, toleranceC, nowC, nowMs }: Known): HeatWish {
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return 'fall';
  if (segment.kind === 'hold') {
    const mayEndEarly = heat === 'electric' || isHoldFromAbove(schedule, track.segment);
    const endingS = mayEndEarly ? Math.max(ENDING_S, (1 - ENOUGH_RATIO) * segment.minutes * 60) : ENDING_S;
    return segment.minutes * 60 - heldS(heat, schedule, track, nowMs) < endingS ? 'ending' : 'hold';
  }
  if (segment.rateCPerH === 'let-fall') return 'fall';
  // A warm start may lie above the first climbs: on its way to a higher one the kiln goes up.
  const topC = climbTopC(schedule, track.segment);
  if (topC <= track.startC) return 'guided-fall';
  if (heat === 'electric' && mayEnd(schedule, track, toleranceC, nowMs)) return 'ending';
  return topC - nowC < Math.max(ARRIVAL_TOLERANCES * toleranceC, ARRIVAL_C) ? 'arrival' : 'climb';
}

/** On the way down a hand counts from when it caught the fall, be it some degrees off: there the clock says when the hold is over. */
function heldS(heat: 'gas' | 'electric', schedule: Schedule, track: PlanTrack, nowMs: number): number {
  const byClockS =
    heat === 'gas' && isHoldFromAbove(schedule, track.segment) ? secondsBetween(track.startedAtMs, nowMs) : 0;
  return Math.max(countedS(heat, schedule, track, track.segment, nowMs), byClockS);
}

function mayEnd(schedule: Schedule, track: PlanTrack, toleranceC: number, nowMs: number): boolean {
  if (mayProgrammeEnd(schedule, track, nowMs) || hasHadItsHold(schedule, track)) return true;
  return mayHaveHadItsHold(schedule, track, toleranceC);
}

/** How it has swung since the plan's last corner and the lid's last move, up to the bend. */
export function swingUpTo({ agoS }: Turn, trace: Trace, { sinceCornerS, sinceLidS }: HeatContext): Swing | null {
  return swingBefore(trace, agoS, Math.min(sinceCornerS, sinceLidS));
}
