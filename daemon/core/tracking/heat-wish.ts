/** What the plan wants of the heat at this moment, for those who watch whether it comes. */
import { perSecond, secondsBetween } from '../numbers/units.ts';
import {
  climbTopC,
  goesDown,
  isFarBelowTop,
  isLetFall,
  mayStandOpen,
  type Schedule,
  targetC,
} from '../plan/schedule.ts';
import type { HeatContext, HeatWish } from './heat-change.ts';
import { countedS, mayProgrammeEnd, type PlanTrack, plannedNowC } from './plan-track.ts';

/** The last degrees of a climb, in tolerances and in °C: from here on hand or controller ease it. Common practice, no source. */
const ARRIVAL_TOLERANCES = 3;
const ARRIVAL_C = 25;
/** The heat is often turned off a little before the clock of the hold runs out. */
const ENDING_S = 150;

/** So long after smoke was let off the door is being shut, and what it cooled comes up again. Common practice, no source. */
const SHUT_S = 720;

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
  const wasPropped = mayStandOpen(before) && sinceCornerS < SHUT_S;
  return {
    heat: known.heat,
    wish: wishOf(schedule, track, known),
    goalC,
    toleranceC: known.toleranceC,
    sinceCornerS,
    sinceLidS: known.lidMovedAtMs === null ? Number.POSITIVE_INFINITY : secondsBetween(known.lidMovedAtMs, known.nowMs),
    isPropped: mayStandOpen(segment) || wasPropped,
    sinceLightS: secondsBetween(track.past[0]?.startedAtMs ?? track.startedAtMs, known.nowMs),
    rippleC: known.rippleC,
    landsOnC: landsOnC(schedule, track.segment),
    guidanceFromC: isGuidanceChanged(schedule, track.segment) ? track.startC : null,
    isFarBelowTop: isFarBelowTop(schedule, goalC),
    peakC: known.peakC,
    wantedPerS: segment?.kind === 'ramp' && typeof segment.rateCPerH === 'number' ? perSecond(segment.rateCPerH) : null,
    plannedC: plannedNowC(schedule, track, known.nowMs),
  };
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

function wishOf(schedule: Schedule, track: PlanTrack, { heat, toleranceC, nowC, nowMs }: Known): HeatWish {
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return 'fall';
  if (segment.kind === 'hold') return segment.minutes * 60 - countedS(track.hold) < ENDING_S ? 'ending' : 'hold';
  if (segment.rateCPerH === 'let-fall') return 'fall';
  // A warm start may lie above the first climbs: on its way to a higher one the kiln goes up.
  const topC = climbTopC(schedule, track.segment);
  if (topC <= track.startC) return 'guided-fall';
  if (heat === 'electric' && mayProgrammeEnd(schedule, track, nowMs)) return 'ending';
  return topC - nowC < Math.max(ARRIVAL_TOLERANCES * toleranceC, ARRIVAL_C) ? 'arrival' : 'climb';
}
