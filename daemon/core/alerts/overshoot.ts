/** The kiln will be, or is, hotter than the plan allows. */
import { courseC, courseTimeS } from '../forecast/course.ts';
import { timeOfDay } from '../numbers/time-of-day.ts';
import { clamp, perHour, secondsBetween } from '../numbers/units.ts';
import { climbTopC, type Schedule, targetC } from '../plan/schedule.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/**
 * How long before the limit is passed it is said. A hand on a gas valve needs the walk, and the couple shows the turn
 * minutes late; a controller backs off by itself in the last degrees, so that an early word would be a false one.
 * Common practice, no source.
 */
const GAS_LEAD_S = 540;
const ELECTRIC_LEAD_S = 150;
/** After a hand was at the kiln its work needs time to show in a sheathed couple, unless there is none left. */
const HAND_NEEDS_S = 360;
const NO_TIME_S = 240;
/** The temperature that is told: where it is heading this far ahead. */
const HEADING_S = { gas: 720, electric: 300 } as const;

export const overshoot: Rule = {
  alert: 'overshoot',
  onDelayS: 10,
  offDelayS: 45,
  cause: 'heat turned down too late or too little, or a controller that does not let go',
  consequence: 'the colour burns out, the paint fries, the glass softens',
  whatToDo: {
    gas: 'turn the gas down, the damper after it',
    electric: 'see that the controller backs off, else switch off at the wall',
  },
  timeToAct: 'nine minutes on gas, two and a half with a controller; none once it is too hot',
  priority: 'now',
  judge,
  afterwards: (told, lastedS) =>
    told.phase === 'foreseen' ? wording.overshootAverted(told.forecast) : wording.overshootWas(lastedS),
};

function judge(view: View): Opinion {
  const { schedule, track, course } = view;
  if (schedule === null || track === null) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  const ceilingC = ceilingOf(schedule, track.segment);
  if (ceilingC === null || course === null) return undefined;
  const limitC = ceilingC + view.toleranceC;
  const nowC = ruling.last.celsius;
  if (beganAbove(track, limitC) && nowC <= track.startC + view.toleranceC) return undefined;
  const rateCPerH = perHour(course.slopePerS);
  const goesDown = isGoingDown(schedule, track.segment);
  if (nowC > limitC && course.fromC > limitC) {
    return {
      phase: 'happening',
      priority: 'now',
      sensor: ruling.name,
      forecastC: Math.max(nowC, courseC(course, 300)),
      leadS: 0,
      message: wording.overshootHappening(view.kiln.heat, nowC, limitC),
      because: wording.overshootIsBecause(nowC, limitC, rateCPerH),
    };
  }
  // A kiln that the plan lets fall is foreseen to do so.
  if (goesDown) return undefined;
  const leadS = courseTimeS(course, limitC);
  const isGas = view.kiln.heat === 'gas';
  const isClimbing = course.slopePerS > 3 * course.slopeSigmaPerS && rateCPerH > 6;
  // A controller rounds the corner in the last degrees, relays make it ripple: only past it is a climb a wrong one.
  const isNear = isGas || nowC >= ceilingC + 0.4 * view.toleranceC;
  if (!isClimbing || !isNear || leadS > (isGas ? GAS_LEAD_S : ELECTRIC_LEAD_S)) return undefined;
  if (isHandAtWork(view) && leadS > NO_TIME_S) return 'unsure';
  const headingS = HEADING_S[view.kiln.heat];
  const headingC = courseC(course, headingS);
  const headingAtMs = view.nowMs + headingS * 1000;
  return {
    phase: 'foreseen',
    priority: leadS < NO_TIME_S || isGas ? 'now' : 'soon',
    sensor: ruling.name,
    leadS: Math.round(clamp(leadS, 0, 3600)),
    forecastC: headingC,
    message: wording.overshootForeseen(
      view.kiln.heat,
      nowC,
      headingC,
      timeOfDay(headingAtMs, view.kiln.utcOffsetMinutes),
    ),
    because: wording.overshootBecause(nowC, rateCPerH, limitC, leadS),
  };
}

/** A warm start above the plan's first climb is no fault: the kiln has only to cool down to it. */
function beganAbove(track: PlanTrack, limitC: number): boolean {
  return track.segment === 0 && track.startC > limitC;
}

function isHandAtWork(view: View): boolean {
  return view.lastTurnDownAtMs !== null && secondsBetween(view.lastTurnDownAtMs, view.nowMs) < HAND_NEEDS_S;
}

function isGoingDown(schedule: Schedule, index: number): boolean {
  const present = schedule.segments[index];
  return present?.kind === 'ramp' && (present.rateCPerH === 'let-fall' || present.toC < targetBefore(schedule, index));
}

function targetBefore(schedule: Schedule, index: number): number {
  return index === 0 ? Number.NEGATIVE_INFINITY : targetC(schedule, index - 1);
}

/**
 * The hottest that this segment and the climbs that follow it at once lead to; where the plan goes down, what it came
 * from; null once the plan is over, or before it has climbed at all.
 */
export function ceilingOf(schedule: Schedule, index: number): number | null {
  const present = schedule.segments[index];
  if (present === undefined) return null;
  const beforeC = targetBefore(schedule, index);
  if (present.kind === 'hold') return beforeC;
  if (isGoingDown(schedule, index)) return Number.isFinite(beforeC) ? beforeC : null;
  return climbTopC(schedule, index);
}
