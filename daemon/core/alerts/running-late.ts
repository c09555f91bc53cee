/** The firing comes late: a note below 500 °C, where it harms nothing; above it the slow time works on paint and glass. */
import { perHour, perSecond } from '../numbers/units.ts';
import { climbTopC, goesDown, type Schedule } from '../plan/schedule.ts';
import { minutesBehindClock } from '../tracking/by-clock.ts';
import { minutesLate, OTHER_COUPLE_TOLERANCES, type PlanTrack, SLOW_WORKS_FROM_C } from '../tracking/plan-track.ts';
import { traceLine } from '../tracking/trace.ts';
import { controllerWaits } from './controller-waits.ts';
import { isTold, sinceNotBelievedS, sinceToldS } from './lately.ts';
import { heard, isLidOpen, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** Minutes lost in the heat that are told, and that harm above 500 °C; the second is the trade's own word. */
const SAID_MIN = 13;
export const HARM_MIN = 15;
/** Before that, where nothing is lost yet, minutes behind the plan that are worth a note: a good hand is half an hour behind by then, and no worse. From simulated firings. */
const NOTED_MIN = 45;
/** Near the top a good hand eases the climb, and comes ten minutes later by it. Common practice, no source. */
const NEAR_TOP_C = 30;
const SAID_NEAR_TOP_MIN = 22;
export const HARMS_ABOVE_C = 500;
/** A climb that stood still was told, or that nobody knew how hot it was: that it comes late by it goes without saying for so long. Ours. */
const KNOWN_S = 2400;
/** A pace this close to the plan's makes it no worse, and with less than this share of it made good what was told stands. */
const SLOW_RATIO = 0.85;
const STILL_RATIO = 0.6;

export const runningLate: Rule = {
  alert: 'running-late',
  onDelayS: 60,
  offDelayS: 180,
  cause: 'a heavier load than usual, aged elements, a timid hand',
  consequence: 'slow time above 560 °C works on paint and glass as heat does',
  whatToDo: {
    gas: 'a little more gas, or a shorter hold',
    electric: 'look at load and elements, or shorten the hold',
  },
  timeToAct: 'some ten minutes',
  priority: 'soon',
  judge,
  afterwards: () => wording.lateNoMore,
};

function judge(view: View): Opinion {
  const { schedule, track, trace } = view;
  if (schedule === null || track === null || !track.hasMoved) return undefined;
  const topC = climbTopC(schedule, track.segment);
  const lateness = isByClock(view) ? behindClock : behindPlan;
  const ruling = heard(view);
  if (ruling?.last == null) return topC > track.startC ? 'unknown' : undefined;
  if (isLidOpen(view)) return undefined;
  const nowC = ruling.last.celsius;
  if (nowC >= topC - view.toleranceC || controllerWaits(view, nowC)) return undefined;
  const late = lateness(view, schedule, track, nowC, topC);
  const lately = late === null ? null : traceLine(trace, 480);
  if (late === null || lately === null) return undefined;
  const { lostMin, saidMin, lateMin, endC, wantedCPerH } = late;
  const rateCPerH = perHour(lately.perS);
  const hasTold = isTold(view, ['running-late']);
  if (!hasTold && Math.min(sinceToldS(view, ['stalled-ramp']), sinceNotBelievedS(view)) < KNOWN_S) return undefined;
  if (lostMin < saidMin) return hasTold && lostMin > STILL_RATIO * saidMin ? 'unsure' : undefined;
  if (!hasTold && late.mayCatchUp && rateCPerH >= SLOW_RATIO * wantedCPerH) return undefined;
  const comesS = rateCPerH > 5 ? (endC - nowC) / perSecond(rateCPerH) : Number.POSITIVE_INFINITY;
  const atEndMin = lateMin + Math.max(comesS - (endC - nowC) / perSecond(wantedCPerH), 0) / 60;
  const isHot = nowC >= HARMS_ABOVE_C;
  const isHarm = isHot && lostMin >= HARM_MIN;
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: isHot ? 'soon' : 'note',
    sensor: ruling.name,
    leadS: isHarm ? 0 : Math.round(Math.max(HARM_MIN - late.hotMin, 0) * 60),
    message: wording.late(lateMin, atEndMin, nowC, isHot),
    because: wording.lateBecause(rateCPerH, wantedCPerH),
  };
}

interface Late {
  /** Minutes that count, how many of them are told, and how many of them are of the heat. */
  readonly lostMin: number;
  readonly saidMin: number;
  readonly hotMin: number;
  /** Minutes as a person reckons them. */
  readonly lateMin: number;
  /** Where the present climb ends, and its pace. */
  readonly endC: number;
  readonly wantedCPerH: number;
  /** A hand makes good what it lost; a controller gives no more than its programme asks for. */
  readonly mayCatchUp: boolean;
}

/** A controller that does not wait goes through its programme, and the kiln comes after it as it can. */
function isByClock({ schedule, kiln }: View): boolean {
  return schedule?.waits === false && kiln.heat === 'electric';
}

function behindPlan(view: View, schedule: Schedule, track: PlanTrack, nowC: number, topC: number): Late | null {
  const { segment } = view;
  if (segment?.kind !== 'ramp' || typeof segment.rateCPerH !== 'number') return null;
  if (topC <= track.startC || schedule.waits === false) return null;
  // Nobody comes late all at once: what was reached counts, or it is the couple that shows less.
  const behindMin = minutesLate(schedule, track, view.nowMs, track.highC);
  const isEarly = nowC < SLOW_WORKS_FROM_C;
  const hotMin = track.slowS / 60;
  const lostMin = isEarly ? behindMin : hotMin;
  const saidMin = isEarly ? NOTED_MIN : topC - nowC < NEAR_TOP_C ? SAID_NEAR_TOP_MIN : SAID_MIN;
  const lateMin = Math.max(behindMin, lostMin);
  return { lostMin, saidMin, hotMin, lateMin, endC: segment.toC, wantedCPerH: segment.rateCPerH, mayCatchUp: true };
}

/** null once the programme has come to a fall: then it is over with that climb. */
function behindClock(view: View, schedule: Schedule, track: PlanTrack, nowC: number): Late | null {
  const { segment: index, thereAtMs } = track;
  for (let i = 0; i <= index; i++) if (goesDown(schedule, i)) return null;
  const isHeld = schedule.segments[index]?.kind === 'hold';
  const climb = schedule.segments[isHeld ? index - 1 : index];
  if (climb?.kind !== 'ramp' || typeof climb.rateCPerH !== 'number' || thereAtMs !== null) return null;
  // By its own couple the controller may be there.
  if (isHeld && nowC > climb.toC - OTHER_COUPLE_TOLERANCES * view.toleranceC) return null;
  const lostMin = minutesBehindClock(schedule, track, view.nowMs, view.ruling?.peakC ?? nowC, view.toleranceC);
  const times = { lostMin, hotMin: lostMin, lateMin: lostMin, saidMin: SAID_MIN };
  return { ...times, endC: climb.toC, wantedCPerH: climb.rateCPerH, mayCatchUp: false };
}
