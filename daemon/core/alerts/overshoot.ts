/** The kiln will be, or is, hotter than the plan allows. */
import { courseC, courseTimeS } from '../forecast/course.ts';
import { timeOfDay } from '../numbers/time-of-day.ts';
import { clamp, perHour, secondsBetween } from '../numbers/units.ts';
import type { Schedule } from '../plan/schedule.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/**
 * How long before the limit is passed it is said. A hand on a gas valve needs the walk, and the couple shows the turn
 * minutes late; a controller backs off by itself in the last degrees, so that an early word would be a false one.
 * Common practice, no source.
 */
const GAS_LEAD_S = 540;
const ELECTRIC_LEAD_S = 150;
/** After a hand was at the kiln its work needs time to show, unless there is none left. */
const HAND_NEEDS_S = 180;
const NO_TIME_S = 120;
/** The temperature that is told: where it is heading this far ahead. */
const HEADING_S = 720;

export const overshoot: Rule = {
  alert: 'overshoot',
  onDelayS: 10,
  offDelayS: 45,
  cause: 'heat turned down too late or too little, or a controller that does not let go',
  consequence: 'the colour burns out, the paint fries, the glass softens',
  judge,
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
  const rateCPerH = perHour(course.slopePerS);
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
  const leadS = courseTimeS(course, limitC);
  const isGas = view.kiln.heat === 'gas';
  const isClimbing = course.slopePerS > 3 * course.slopeSigmaPerS && rateCPerH > 6;
  const isNear = isGas || courseC(course, 60) >= ceilingC;
  if (!isClimbing || !isNear || leadS > (isGas ? GAS_LEAD_S : ELECTRIC_LEAD_S)) return undefined;
  if (isHandAtWork(view) && leadS > NO_TIME_S) return undefined;
  const headingC = courseC(course, HEADING_S);
  const headingAtMs = view.nowMs + HEADING_S * 1000;
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

function isHandAtWork(view: View): boolean {
  return view.lastHandAtMs !== null && secondsBetween(view.lastHandAtMs, view.nowMs) < HAND_NEEDS_S;
}

/** The hottest that this segment and the climbs that follow it at once lead to; null where the plan goes down. */
export function ceilingOf(schedule: Schedule, index: number): number | null {
  let startC = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < index; i++) {
    const before = schedule.segments[i];
    if (before?.kind === 'ramp') startC = before.toC;
  }
  const present = schedule.segments[index];
  if (present === undefined) return null;
  if (present.kind === 'hold') return startC;
  if (present.rateCPerH === 'let-fall' || present.toC < startC) return null;
  let highC = present.toC;
  for (let i = index + 1; i < schedule.segments.length; i++) {
    const next = schedule.segments[i];
    if (next?.kind !== 'ramp' || next.toC <= highC) break;
    highC = next.toC;
  }
  return highC;
}
