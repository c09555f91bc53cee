/** It cools faster than the glass bears: a damper left open, a lid ajar, the bung out. */
import { perHour, perMinute, perSecond, secondsBetween } from '../numbers/units.ts';
import {
  ANNEALS_FROM_C,
  goesDown,
  isAfterHold,
  isFreeFallToCold,
  isLetFall,
  isLimitOfFall,
  mayStandOpen,
  pacePerS,
  type RateLimit,
  type Schedule,
  type Segment,
  targetC,
} from '../plan/schedule.ts';
import { HEATED_RATIO } from '../tracking/heat-change.ts';
import { hasLookedIn } from '../tracking/look.ts';
import { fallBeyond, openFall, stillFallsOpen } from '../tracking/open-fall.ts';
import { fallsSinceMs, isHoldFromAbove, type PlanTrack, plannedNowC } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { fallsBeyond, swingBefore } from '../tracking/swing.ts';
import { filledLine, latelyLine, momentLine, type Trace, type TraceLine, traceLine } from '../tracking/trace.ts';
import { isTold, sinceToldS, TOO_MUCH_HEAT } from './lately.ts';
import { CHILLED_CPERH, fallLimit, HARM_OVER_S, type Limit, limitAhead } from './rate-limits.ts';
import { type Finding, heard, isLidOpen, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

const SAID_OVER_S = 120;
/** Couple and flame fall first when the heat goes off; the glass follows. From memory. */
const AFTER_OFF_S = 720;
const LEVEL_FROM_S = 900;
/** Below its strain point thin glass takes much; from here down only an open lid matters. Common practice, no source. */
const LEAST_C = 370;
/**
 * What was let to fall is caught some minutes after the plan wants it slower: elements warm up first; and after three of them it
 * is by no more than so many tolerances too cold, 2 at the most in some hundred and fifty simulated firings. From a hold nothing is
 * to be caught, and only a swing past it falls by less than so many times what is borne. And a controller goes by its own
 * clock and couple, so in the last minutes of a guided fall it may have let go. From simulated firings.
 */
const CAUGHT_S = 480;
const WARM_UP_S = 180;
const UNCAUGHT_TOLERANCES = 2.5;
const FROM_HOLD_RATIO = 1.6;
const LETS_GO_S = 480;
/** ... and what steepens so far below a guided fall is seen before the tolerance is used up. Ours, from simulated firings. */
const BENT_TOLERANCES = 0.4;
/**
 * A fall that has steepened by this much has been helped. It is held against the minutes before, for a couple that rested a
 * while falls faster to make up for it. Ours.
 */
const STEEPER_RATIO = 1.35;
const STEEPER_C = 2.5;
const STEADY_FROM_S = 480;
const SURE = 7;
/** What swings in a hold is known from before so long ago. Ours. */
const LEFT_OVER_S = 120;
/** What stands open is told as soon as it shows: it may be a minute to the harm. Ours. */
const OPEN_DELAY_S = 5;

export const coolingTooFast: Rule = {
  alert: 'cooling-too-fast',
  onDelayS: 15,
  offDelayS: 60,
  // A controller that goes on and off in a guided fall crosses the limit with each of its waves: one trouble.
  isSlow: true,
  cause: 'damper, bung or vent left open, a lid that is not quite shut, or another programme than the plan',
  consequence: 'stress stays in the glass, or it cracks',
  whatToDo: {
    gas: 'once the gas is off: damper and ports shut, spyhole plugged',
    electric: 'close lid and peephole; look at the programme',
  },
  timeToAct: 'some minutes, while it is still in the range where the glass minds',
  priority: 'now',
  judge,
  afterwards: (_told, lastedS) => wording.coolingWas(lastedS),
};

function judge(view: View): Opinion {
  const { schedule, track, trace, segment } = view;
  if (schedule === null || track === null || track.past.length === 0) return undefined;
  const isAnnealing = isHoldFromAbove(schedule, track.segment);
  if (!isAnnealing && (segment?.kind === 'hold' || (segment !== null && segment.toC >= track.startC))) return undefined;
  const isFree = mayStandOpen(segment);
  if (isFree && !isFreeFallToCold(segment)) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  const nowC = ruling.last.celsius;
  if (nowC < LEAST_C || isLidOpen(view)) return undefined;
  if (isAnnealing) return leavesAnneal(view, ruling, nowC);
  const open = fallsOpen(view, ruling, nowC);
  if (open !== undefined || isFree) return open;
  // The heat went off later than the plan wanted.
  if (sinceToldS(view, TOO_MUCH_HEAT) < AFTER_OFF_S) return undefined;
  const over = filledLine(trace, SAID_OVER_S);
  if (over === null) return undefined;
  const limit = fallLimit(schedule, segment, nowC);
  const limitPerS = limit === null ? Number.POSITIVE_INFINITY : perSecond(limit.maxCPerH);
  const isGuided = segment?.kind === 'ramp' && typeof segment.rateCPerH === 'number';
  // Left to fall, a shut kiln falls as it does, whatever the plan's limits say of it: that it is open must show.
  const isFast = isGuided ? isFasterThanGuided(view, over, limitPerS, nowC) : isSteepened(view, over, nowC);
  if (!isFast) return undefined;
  // What a look through the spyhole took off comes back.
  if (hasLookedIn(trace)) return 'unsure';
  const long = filledLine(trace, HARM_OVER_S);
  const isHarm = long !== null && -long.perS > limitPerS;
  const rateCPerH = perHour(-over.perS);
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: isHarm ? 'now' : 'soon',
    sensor: ruling.name,
    leadS: isHarm ? 0 : HARM_OVER_S - SAID_OVER_S,
    message: wording.coolingTooFast(view.kiln.heat, view.kiln.closure, nowC, perMinute(rateCPerH), isGuided),
    because: wording.coolingBecause(rateCPerH, limit?.maxCPerH ?? null, limit?.why ?? null),
  };
}

/**
 * A controller has not caught the fall where the plan holds, or lets go of that hold to fall faster than the plan guides it:
 * its programme has no such hold, or is over, or its heat has gone.
 */
function leavesAnneal(view: View, { name }: SensorTrack, nowC: number): Finding | 'unsure' | undefined {
  const { schedule, track, goalC, kiln, change, trace, toleranceC } = view;
  if (schedule === null || track === null || goalC === null || kiln.heat !== 'electric') return undefined;
  const over = latelyLine(trace);
  const limit = fallLimit(schedule, schedule.segments[track.segment + 1] ?? null, nowC);
  if (over === null || nowC > goalC - toleranceC) return undefined;
  const isLate = secondsBetween(track.startedAtMs, view.nowMs) > CAUGHT_S || isUncaught(view, track, goalC, nowC);
  const isFast = limit !== null && isLate && leaves(view, over, FROM_HOLD_RATIO * perSecond(limit.maxCPerH));
  const rateCPerH = perHour(-over.perS);
  if (change?.kind !== 'gone' && !isFast)
    return isTold(view, ['cooling-too-fast']) && rateCPerH > (limit?.maxCPerH ?? 0) ? 'unsure' : undefined;
  return {
    phase: 'foreseen',
    priority: 'soon',
    sensor: name,
    leadS: HARM_OVER_S - SAID_OVER_S,
    onDelayS: OPEN_DELAY_S,
    message: wording.coolingTooFast(kiln.heat, kiln.closure, nowC, perMinute(rateCPerH), true),
    because: wording.coolingBecause(rateCPerH, limit?.maxCPerH ?? null, limit?.why ?? null),
  };
}

/** The elements have had the time to warm up, and it lies so far below what it was to be caught at: it has not been. */
function isUncaught({ toleranceC, nowMs }: View, { startedAtMs }: PlanTrack, caughtAtC: number, nowC: number): boolean {
  return secondsBetween(startedAtMs, nowMs) > WARM_UP_S && nowC < caughtAtC - UNCAUGHT_TOLERANCES * toleranceC;
}

/** It falls at more than a pace, to its end, and further than it has swung by itself. */
function leaves({ trace, track, nowMs }: View, over: TraceLine, perS: number): boolean {
  const end = momentLine(trace);
  if (track === null || end === null || -Math.max(over.perS, end.perS) < perS + 2 * over.sigmaPerS) return false;
  const swing = swingBefore(trace, LEFT_OVER_S, secondsBetween(track.startedAtMs, nowMs));
  return swing === null || fallsBeyond(swing, trace);
}

/** Its heat is off, and its damper or vent stands open: it falls as no shut kiln does, or faster than the plan writes for its fall. */
function fallsOpen(view: View, { name }: SensorTrack, nowC: number): Finding | 'unsure' | undefined {
  const { schedule, segment, trace, kiln } = view;
  // A plan that ends with its heat says nothing of how it is to cool.
  if (schedule === null || segment === null || !isLetFall(segment)) return undefined;
  const least = leastOf(limitAhead(schedule, nowC), { maxCPerH: CHILLED_CPERH, why: null });
  // Elements and a light chamber fall as fast at first: only of a flame is it known how a shut kiln falls behind it.
  const open = kiln.heat === 'gas' ? openFall(trace) : null;
  const isOpen = open !== null && -open.perS >= perSecond(least.maxCPerH);
  const beyond = isOpen ? { fall: open, limit: least } : fallsBeyondWritten(view, schedule, segment);
  if (beyond === null)
    return isTold(view, ['cooling-too-fast']) && stillFalls(schedule, trace, nowC) ? 'unsure' : undefined;
  // What a look through the spyhole took off comes back.
  if (!isOpen && hasLookedIn(trace)) return 'unsure';
  const rateCPerH = perHour(-beyond.fall.perS);
  return {
    phase: 'foreseen',
    priority: 'now',
    sensor: name,
    leadS: HARM_OVER_S - SAID_OVER_S,
    ...(isOpen && { onDelayS: OPEN_DELAY_S }),
    message: wording.coolingTooFast(kiln.heat, kiln.closure, nowC, perMinute(rateCPerH), false),
    because: wording.coolingBecause(rateCPerH, beyond.limit.maxCPerH, beyond.limit.why),
  };
}

/** Who writes a limit downwards means the fall of this kiln, be it guided or let fall. What was too hot falls as it is turned off. */
function fallsBeyondWritten(
  view: View,
  schedule: Schedule,
  { toC }: Segment,
): { fall: TraceLine; limit: Limit } | null {
  if (sinceToldS(view, TOO_MUCH_HEAT) < AFTER_OFF_S) return null;
  for (const limit of schedule.limits ?? []) {
    // What begins below this fall's end is of the guided one that comes after it; what begins far below is not to be seen yet.
    const isOfThis = isLimitOfFall(limit) && limit.fromC > Math.max(toC ?? 0, LEAST_C) && isKeptByPlan(schedule, limit);
    const fall = isOfThis ? fallBeyond(view.trace, limit, view.kiln.heat) : null;
    if (fall !== null) return { fall, limit };
  }
  return null;
}

/** No guided fall of the plan breaks it by itself: else it means nothing. */
function isKeptByPlan(schedule: Schedule, { fromC, toC, maxCPerH }: RateLimit): boolean {
  return schedule.segments.every((s, i) => {
    const isThere = goesDown(schedule, i) && targetC(schedule, i) < fromC && targetC(schedule, i - 1) > toC;
    return !isThere || (pacePerS(s) ?? 0) <= perSecond(maxCPerH);
  });
}

function stillFalls(schedule: Schedule, trace: Trace, nowC: number): boolean {
  const perS = latelyLine(trace)?.perS ?? 0;
  const isOver = (limit: RateLimit): boolean =>
    isLimitOfFall(limit) && nowC >= limit.toC && -perS > perSecond(limit.maxCPerH);
  return stillFallsOpen(trace) || schedule.limits?.some(isOver) === true;
}

function leastOf(a: Limit | null, b: Limit): Limit {
  return a === null || b.maxCPerH < a.maxCPerH ? b : a;
}

function isFasterThanGuided(view: View, over: TraceLine, limitPerS: number, nowC: number): boolean {
  const { schedule, track, segment, toleranceC, nowMs } = view;
  if (schedule === null || track === null || segment?.kind !== 'ramp') return false;
  if (typeof segment.rateCPerH !== 'number') return false;
  const isBeginning = secondsBetween(track.startedAtMs, nowMs) < CAUGHT_S;
  const isFromHold = isAfterHold(schedule, track.segment);
  const plannedC = plannedNowC(schedule, track, nowMs);
  if (plannedC === null || nowC > plannedC - toleranceC * BENT_TOLERANCES) return false;
  // Still within the tolerance only the bend says it: it must be a plain one.
  const isBelow = nowC <= plannedC - toleranceC;
  if (!isBelow && !leaves(view, over, FROM_HOLD_RATIO * limitPerS)) return false;
  if (isBeginning && !isFromHold && !isUncaught(view, track, plannedC, nowC)) return false;
  const isEnding = plannedC - segment.toC < perSecond(segment.rateCPerH) * LETS_GO_S;
  return !isEnding && -over.perS > (isBeginning ? FROM_HOLD_RATIO : 1) * limitPerS + 2 * over.sigmaPerS;
}

/** The way has bent down by itself, in the range where the glass minds. */
function isSteepened(view: View, couple: TraceLine, nowC: number): boolean {
  if (nowC < ANNEALS_FROM_C || secondsBetween(fallsSinceMs(view), view.nowMs) < AFTER_OFF_S || wasLevel(view))
    return false;
  // Who looks through the door for half a minute cools couple and air, hardly the glass; once it is shut, only the glass falls on.
  const over = filledLine(view.glass, SAID_OVER_S);
  const before = traceLine(view.glass, STEADY_FROM_S, SAID_OVER_S);
  if (over === null || before === null || before.perS > -perSecond(HEATED_RATIO * before.atEndC)) return false;
  const steeperPerS = before.perS - Math.max(over.perS, couple.perS);
  return (
    steeperPerS > (STEEPER_RATIO - 1) * -before.perS &&
    steeperPerS * SAID_OVER_S > STEEPER_C &&
    steeperPerS > SURE * Math.hypot(before.sigmaPerS, couple.sigmaPerS)
  );
}

/** A quarter of an hour ago it hardly fell yet. */
function wasLevel({ trace }: View): boolean {
  const before = traceLine(trace, LEVEL_FROM_S, AFTER_OFF_S);
  return before !== null && before.perS > -perSecond(HEATED_RATIO * before.atEndC);
}
