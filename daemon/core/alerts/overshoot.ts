/** The kiln will be, or is, hotter than the plan allows. */
import type { Call } from '../events.ts';
import { timeOfDay } from '../numbers/time-of-day.ts';
import { clamp, perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { climbTopC, goesDown, isFarBelowTop, isLetFall, type Schedule, targetC } from '../plan/schedule.ts';
import { traceBow } from '../tracking/bow.ts';
import { glassNowC } from '../tracking/glass-way.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { isLoneLeap, latelyLine, type TraceLine, traceLine } from '../tracking/trace.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/**
 * How long before the limit is passed it is said, at a climb that has not bent yet. A good hand turns down some four to
 * six minutes before; where the plan itself calls it and nobody answered, it is late already. A controller backs off by itself
 * in the last degrees, so that an early word would be a false one. Common practice, no source.
 */
const HAND_LEAD_S = 270;
const CALLED_LEAD_S = 545;
const LATE_LEAD_S = 75;
/** Who is called from another room is at the kiln within so long. Common practice, no source. */
const COMES_WITHIN_S = 360;
/**
 * ... and only as it passes its top: a good hand turns down about there. Where little time would be left it is called a
 * little before. Common practice, no source.
 */
const TURNS_DOWN_S = 90;
const NEAR_TOP_TOLERANCES = 0.35;
/**
 * A controller goes past its goal by a little less than this share of the tolerance, and by what its relay swings about the
 * way, seen over so long; and it has lost more than this share of its pace by then. What goes on beyond all that does not
 * let go. From simulated firings.
 */
const PAST_RATIO = 0.55;
const SWING_S = 600;
const UNROUNDED_RATIO = 0.7;
const UNROUNDED_LEAD_S = 150;
/** Lines of a minute and of three have settled that it does not let go; and by then it is about to be too hot. */
const UNROUNDED_DELAY_S = 3;
const GOES_ON_S = 360;
const GOES_ON_RATIO = 0.6;
/** After a hand was at the kiln its work needs time to show in a sheathed couple, unless there is none left. */
const HAND_NEEDS_S = 360;
const NO_TIME_S = 240;
/**
 * Whoever has just turned the valve up, so that it climbs so many times as steeply, is at the kiln and has until so late.
 * From simulated firings.
 */
const TURNED_UP_RATIO = 1.5;
const TURNED_UP_SIGMAS = 7;
const TURNED_UP_LEAD_S = 120;
/** The temperature that is told: where it is heading this far ahead. */
const HEADING_S = { gas: 720, electric: 300 } as const;
/** A climb has bent when it has lost this share of its pace, and is not yet another one above the second. */
const BENT_RATIO = 0.22;
const UNBENT_RATIO = 0.7;
/** The pace that carries it over its limit is that of so long. */
const STEADY_S = 180;
/** Far below the top a hold may be passed by so much: there good hands swing in by twenty degrees and more. From simulated firings. */
const SOAK_TOLERANCES = 5;
const SOAK_WITHIN_C = 40;
/** What is further below its ceiling, °C, is not foreseen to pass it. Ours. */
const NEAR_C = 45;
/** Slower than this nothing runs over soon. */
const CLIMBING_CPERH = 45;

export const overshoot: Rule = {
  alert: 'overshoot',
  onDelayS: 10,
  offDelayS: 180,
  cause: 'heat turned down too late or too little, or a controller that does not let go',
  consequence: 'the colour burns out, the paint fries, the glass softens',
  whatToDo: {
    gas: 'turn the gas down now, the damper after',
    electric: 'switch off at the wall if the controller does not back off',
  },
  timeToAct: 'two to nine minutes',
  priority: 'now',
  judge,
  afterwards: (told, lastedS) =>
    told.phase === 'foreseen' ? wording.overshootAverted(told.forecast) : wording.overshootWas(lastedS),
};

function judge(view: View): Opinion {
  const { schedule, track, trace } = view;
  if (schedule === null || track === null) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  if (isLoneLeap(trace)) return 'unsure';
  const ceilingC = ceilingOf(schedule, track.segment);
  if (ceilingC === null) return undefined;
  const limitC = ceilingC + allowedC(schedule, ceilingC, view.toleranceC);
  const nowC = ruling.last.celsius;
  if (beganAbove(track, limitC) && nowC <= track.startC + view.toleranceC) return undefined;
  const lately = latelyLine(trace);
  if (lately === null) return undefined;
  const hasCalled = view.standing.some((a) => a.alert === 'overshoot' && a.phase === 'happening');
  const isCaught = view.segment?.kind === 'hold' && goesDown(schedule, track.segment - 1);
  // What still falls towards the hold that is to catch it comes late to it, and is not too hot.
  if (isCaught && !hasCalled && lately.perS < -perSecond(CLIMBING_CPERH)) return undefined;
  if (Math.min(nowC, lately.atEndC) > limitC + Math.min(0.5 * trace.noiseC, 0.5)) {
    const rateCPerH = perHour(lately.perS);
    return {
      phase: 'happening',
      priority: 'now',
      sensor: ruling.name,
      forecastC: Math.max(nowC, nowC + lately.perS * 300),
      leadS: 0,
      // Turned down for the one it is turned down for the other.
      explains: ['hold-long'],
      message: wording.overshootHappening(view.kiln.heat, nowC, limitC),
      because: wording.overshootIsBecause(nowC, limitC, rateCPerH),
    };
  }
  if (hasCalled && lately.atEndC > limitC - Math.max(4 * lately.sigmaPerS * 30, trace.noiseC)) return 'unsure';
  // A kiln that the plan lets fall is foreseen to do so, and a hold far below the top may catch it with a swing.
  if (goesDown(schedule, track.segment) || (isCaught && isFarBelowTop(schedule, ceilingC))) return undefined;
  return foresee(view, ruling.name, lately, nowC, ceilingC, limitC);
}

function foresee(
  view: View,
  sensor: string,
  lately: TraceLine,
  nowC: number,
  ceilingC: number,
  limitC: number,
): Opinion {
  const { kiln, trace } = view;
  // Once the plan leads on to a higher top, what was told of the last one is over.
  if (nowC < ceilingC - NEAR_C) return undefined;
  const hasTold = view.standing.some((a) => a.alert === 'overshoot' && a.phase === 'foreseen');
  // The hand's waves and a relay's ripple go up fast for a minute: what counts is the way of three.
  const steady = traceLine(trace, STEADY_S) ?? lately;
  const perS = Math.min(lately.perS, steady.perS);
  const climb = kiln.heat === 'gas' ? lately : steady;
  const leastPerS = perSecond(CLIMBING_CPERH) + 2 * climb.sigmaPerS;
  const leadFromS = (celsius: number): number =>
    perS > 0 ? Math.max(limitC - celsius, 0) / perS : Number.POSITIVE_INFINITY;
  // It is the glass that must not get too hot, and it comes behind the couple.
  const glassLeadS = leadFromS(Math.min(glassNowC(view.glass) ?? nowC, lately.atEndC));
  // What is told is when the couple will show it.
  const coupleLeadS = leadFromS(lately.atEndC);
  if (hasTold) {
    // What was told stands until the climb has plainly bent: two words on one matter are one too many.
    const isOver = lately.perS < 0.5 * leastPerS || glassLeadS > 2 * CALLED_LEAD_S;
    return isOver ? undefined : finding(view, sensor, lately, nowC, limitC, coupleLeadS);
  }
  if (climb.perS < leastPerS) return undefined;
  const isDue =
    kiln.heat === 'gas'
      ? isHandLate(view, lately, { glassLeadS, coupleLeadS }, ceilingC)
      : isControllerLate(view, steady, lately, glassLeadS, ceilingC);
  if (isDue !== true) return isDue === 'unsure' ? 'unsure' : undefined;
  return finding(view, sensor, lately, nowC, limitC, coupleLeadS);
}

interface Leads {
  /** How long until the glass is too hot, as it is reckoned, and until the couple shows it. */
  readonly glassLeadS: number;
  readonly coupleLeadS: number;
}

function isHandLate(
  view: View,
  lately: TraceLine,
  { glassLeadS, coupleLeadS }: Leads,
  ceilingC: number,
): boolean | 'unsure' {
  const { turn, trace } = view;
  if (isHandAtWork(view) && glassLeadS > NO_TIME_S) return 'unsure';
  const before = traceLine(trace, 540, 60);
  const climbPerS = Math.max(before?.perS ?? lately.perS, turn?.beforePerS ?? 0);
  const isBending =
    turn !== null && turn.bendPerS < -BENT_RATIO * climbPerS && turn.bendPerS < -3.5 * turn.bendSigmaPerS;
  const isUnbent = lately.perS > UNBENT_RATIO * climbPerS && !isBending;
  // Once averted, the hand knows: it is called again only where little time is left.
  const wasAverted = view.standing.some((a) => a.alert === 'overshoot' && a.phase === 'over');
  const isCalled = !wasAverted && isCallUnanswered(view);
  // A call to turn down goes by what the couple shows.
  const handLeadS = wasAverted ? LATE_LEAD_S : isTurnedUp(view) ? TURNED_UP_LEAD_S : HAND_LEAD_S;
  const isDue = isCalled ? coupleLeadS <= CALLED_LEAD_S : glassLeadS <= handLeadS;
  const nearC = clamp(TURNS_DOWN_S * lately.perS - view.toleranceC, 0, NEAR_TOP_TOLERANCES * view.toleranceC);
  const isNear = isCalled || (!isWave(view, lately) && ceilingC - lately.atEndC <= nearC);
  if (isUnbent && isNear && isDue) return true;
  if (isBending && glassLeadS > 45) return 'unsure';
  return lately.atEndC > ceilingC + Math.max(0.6 * view.toleranceC, 0.7 * view.rippleC) && glassLeadS <= LATE_LEAD_S;
}

function isTurnedUp({ turn }: View): boolean {
  if (turn === null || turn.bendPerS < TURNED_UP_SIGMAS * turn.bendSigmaPerS) return false;
  return turn.sincePerS > TURNED_UP_RATIO * turn.beforePerS;
}

/** Once it is there the flame is turned up and down within the band, by a hand that is at work, whatever the plan's clock says. */
function isWave({ track, trace, nowMs }: View, lately: TraceLine): boolean {
  if (secondsBetween(track?.thereAtMs ?? nowMs, nowMs) > GOES_ON_S) return true;
  return (traceLine(trace, GOES_ON_S)?.perS ?? 0) < GOES_ON_RATIO * lately.perS;
}

function isControllerLate(
  { trace, toleranceC }: View,
  steady: TraceLine,
  lately: TraceLine,
  leadS: number,
  ceilingC: number,
): boolean {
  const pastC = lately.atEndC - ceilingC;
  if (leadS > UNROUNDED_LEAD_S || pastC < PAST_RATIO * toleranceC) return false;
  const before = traceLine(trace, 660, 120);
  // As long as nobody knows its pace before, it may be rounding its corner.
  if (before === null || Math.min(steady.perS, lately.perS) < UNROUNDED_RATIO * before.perS) return false;
  return pastC > PAST_RATIO * toleranceC + (traceBow(trace, SWING_S)?.highestC ?? PAST_RATIO * toleranceC);
}

/**
 * The plan's own word to turn down at a temperature is due, was called so long before that anybody has come, and nobody said
 * that it is done, who does say so. Who is called just before comes then, and turns down as it sees fit. A word for the end of
 * the climb is no such word, nor is a turn-down that is only foreseen: a good hand comes in its own time, and writes it down
 * later.
 */
function isCallUnanswered({ schedule, calls, nowMs }: View): boolean {
  const planned = schedule?.segments.flatMap((segment) => segment.acts ?? []) ?? [];
  const called = calls.filter((c) => planned.some((act) => act.do === c.do));
  if (!answersCalls(called)) return false;
  return called.some(
    (c) =>
      c.state === 'due' &&
      c.dueAtMs !== null &&
      nowMs >= c.dueAtMs - 5000 &&
      secondsBetween(c.callAtMs ?? c.dueAtMs, c.dueAtMs) >= COMES_WITHIN_S &&
      /\b(down|off|lower)\b/i.test(c.do) &&
      planned.some((act) => act.do === c.do && typeof act.when === 'object'),
  );
}

/** Who has left every call of this firing unanswered so far does not write down what it does. */
function answersCalls(calls: readonly Call[]): boolean {
  return calls.some((c) => c.state === 'done') || !calls.some((c) => c.state === 'passed');
}

function finding(view: View, sensor: string, lately: TraceLine, nowC: number, limitC: number, leadS: number): Opinion {
  const headingS = HEADING_S[view.kiln.heat];
  const headingC = nowC + lately.perS * headingS;
  const headingAtMs = view.nowMs + headingS * 1000;
  const at = timeOfDay(headingAtMs, view.kiln.utcOffsetMinutes);
  return {
    phase: 'foreseen',
    priority: 'now',
    sensor,
    onDelayS: view.kiln.heat === 'electric' ? UNROUNDED_DELAY_S : undefined,
    leadS: Math.round(Math.min(leadS, 3600)),
    forecastC: headingC,
    forecastAtMs: headingAtMs,
    message: wording.overshootForeseen(view.kiln.heat, nowC, headingC, at),
    because: wording.overshootBecause(nowC, perHour(lately.perS), limitC, leadS),
  };
}

/**
 * How far above its ceiling it may be, °C. At a hold far below the top, on the way up or where a fall is caught, a hand and
 * a controller swing in by more, and no colour minds; what sticks there is told as such.
 */
function allowedC(schedule: Schedule, ceilingC: number, toleranceC: number): number {
  if (!isFarBelowTop(schedule, ceilingC)) return toleranceC;
  return Math.max(SOAK_TOLERANCES * toleranceC, SOAK_WITHIN_C);
}

/** A warm start above the plan's first climb is no fault: the kiln has only to cool down to it. */
function beganAbove(track: PlanTrack, limitC: number): boolean {
  return track.segment === 0 && track.startC > limitC;
}

function isHandAtWork(view: View): boolean {
  return view.lastTurnDownAtMs !== null && secondsBetween(view.lastTurnDownAtMs, view.nowMs) < HAND_NEEDS_S;
}

/**
 * The hottest that this segment and the climbs that follow it at once lead to; where the plan goes down, in however many
 * ramps, what it came from; null once the plan is over.
 */
export function ceilingOf(schedule: Schedule, index: number): number | null {
  const present = schedule.segments[index];
  if (present === undefined) return null;
  if (present.kind === 'hold') return targetC(schedule, index);
  if (!goesDown(schedule, index)) return climbTopC(schedule, index);
  let first = index;
  // By the clock a kiln may come down behind ramp after ramp; a let-fall ends where the kiln is.
  while (goesDown(schedule, first - 1) && !isLetFall(schedule.segments[first - 1])) first--;
  return targetC(schedule, first - 1);
}
