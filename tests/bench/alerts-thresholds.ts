/**
 * Two plain watchers to hold the alerts against, each as it is set up in an afternoon: thresholds alone, and thresholds
 * with a straight line ahead. They say how hard a corpus is. Every figure here is ours, set once.
 */
import type { AlertKind } from '../../daemon/core/events.ts';
import { perHour } from '../../daemon/core/numbers/units.ts';
import {
  climbTopC,
  countsForFall,
  isLimitOfFall,
  limitHighC,
  limitLowC,
  mayStandOpen,
  pacePerS,
  peakC,
  type Schedule,
  targetC,
} from '../../daemon/core/plan/schedule.ts';
import type { Place } from './alerts-plan-place.ts';

/** What a plain watcher knows at a reading of the ruling couple. */
export interface Look {
  readonly schedule: Schedule;
  readonly toleranceC: number;
  readonly safeOpenC: number;
  readonly place: Place;
  readonly atS: number;
  readonly celsius: number;
  /** The slope of the line through the last five minutes; null while there is none. */
  readonly slopePerS: number | null;
  /** How much hotter it is than so many seconds ago; null where that is not known. */
  readonly riseC: (overS: number) => number | null;
  /** What the switch at the lid says; null without one. */
  readonly isOpen: boolean | null;
}

type Rule = (look: Look) => boolean;
export type Rules = Readonly<Partial<Record<AlertKind, Rule>>>;

const MIN_S = 60;
const LATE_S = 15 * MIN_S;
/** Being late harms nothing below. */
const LATE_FROM_C = 500;
const STALLED_RISE_C = 3;
const STALLED_S = 15 * MIN_S;
const TOO_FAST_RATIO = 2;
/** So much the slope of five minutes wanders. */
const BEYOND_LIMIT_RATIO = 1.25;
/** Hand or controller settle to a new ramp, and close a lid that was propped before it. */
const SETTLED_S = 10 * MIN_S;
/** A kiln that is nearly cold may do as it likes. */
const WARM_C = 100;
const LID_FALL_C = 40;
const LID_FALL_S = 2 * MIN_S;
const LOST_C = 15;
const LOST_S = 5 * MIN_S;
const HOLD_SHORT_S = 2 * MIN_S;
const HOLD_LONG_S = 10 * MIN_S;
const AHEAD_S = 10 * MIN_S;

export const THRESHOLDS: Rules = {
  overshoot: ({ schedule, celsius, toleranceC }) => celsius > peakC(schedule) + toleranceC,
  'running-late': (look) => look.celsius > LATE_FROM_C && lateS(look, look.celsius, look.atS) > LATE_S,
  'stalled-ramp': ({ place, atS, schedule, celsius, toleranceC, riseC }) =>
    place.stretch === 'climb' &&
    atS - place.sinceS > STALLED_S &&
    celsius < targetC(schedule, place.index) - toleranceC &&
    Math.abs(riseC(STALLED_S) ?? Number.POSITIVE_INFINITY) < STALLED_RISE_C,
  'heating-too-fast': (look) => climbsTooFast(look, look.celsius),
  'cooling-too-fast': (look) => fallsTooFast(look, look.celsius),
  'hold-short': (look) => isHolding(look) && look.celsius < lowBandC(look),
  'hold-long': ({ schedule, place, atS, celsius, toleranceC }) => {
    if (place.stretch !== 'fall' || schedule.segments[place.index - 1]?.kind !== 'hold') return false;
    const pace = pacePerS(schedule.segments[place.index]);
    const allowedS = HOLD_LONG_S + (pace === null ? 0 : toleranceC / pace);
    return atS - place.sinceS > allowedS && celsius > targetC(schedule, place.index - 1) - toleranceC;
  },
  'uncontrolled-heat': ({ schedule, place, celsius, toleranceC, slopePerS }) => {
    if (slopePerS === null || slopePerS <= 0 || celsius < WARM_C) return false;
    if (place.stretch === 'fall') return celsius > place.lowC + toleranceC;
    return place.stretch === 'hold' && place.hasBeenIn && celsius > targetC(schedule, place.index) + toleranceC;
  },
  'lid-open-hot': (look) => {
    const { schedule, place, atS, safeOpenC, celsius, isOpen, riseC } = look;
    const index = atS - place.sinceS < SETTLED_S ? place.index - 1 : place.index;
    if (place.stretch === 'over' || [index, place.index].some((i) => mayStandOpen(schedule.segments[i]))) return false;
    return isOpen === null
      ? celsius > safeOpenC - LID_FALL_C && (riseC(LID_FALL_S) ?? 0) < -LID_FALL_C
      : isOpen && celsius > safeOpenC;
  },
  'heat-lost': ({ place, atS, riseC }) => {
    // What fell before this segment began fell by plan.
    if (atS - place.sinceS < LOST_S) return false;
    if (place.stretch !== 'climb' && place.stretch !== 'hold') return false;
    const [overHalfC, overAllC] = [riseC(LOST_S / 2), riseC(LOST_S)];
    return overHalfC !== null && overAllC !== null && overAllC < -LOST_C && overHalfC < 0 && overAllC < overHalfC;
  },
};

/** What comes on top where a straight line is drawn ahead, undamped. */
export const FORESEEN: Rules = {
  overshoot: (look) =>
    (look.place.stretch === 'climb' || look.place.stretch === 'hold') &&
    aheadC(look) > climbTopC(look.schedule, look.place.index) + look.toleranceC,
  'running-late': (look) => aheadC(look) > LATE_FROM_C && lateS(look, aheadC(look), look.atS + AHEAD_S) > LATE_S,
  'hold-short': (look) => isHolding(look) && aheadC(look, holdLeftS(look) - HOLD_SHORT_S) < lowBandC(look),
  'heating-too-fast': (look) => climbsTooFast(look, aheadC(look)),
  'cooling-too-fast': (look) => fallsTooFast(look, aheadC(look)),
};

function aheadC({ celsius, slopePerS }: Look, atMostS = AHEAD_S): number {
  return celsius + (slopePerS ?? 0) * Math.min(AHEAD_S, atMostS);
}

/** Seconds behind the plan's own climb; none where it has no pace. */
function lateS({ schedule, place }: Look, celsius: number, atS: number): number {
  const pace = pacePerS(schedule.segments[place.index]);
  if (place.stretch !== 'climb' || pace === null) return 0;
  const reachedC = Math.min(celsius, targetC(schedule, place.index));
  return atS - place.sinceS - (reachedC - place.fromC) / pace;
}

function holdLeftS({ schedule, place, atS }: Look): number {
  return (schedule.segments[place.index]?.minutes ?? 0) * MIN_S - (atS - place.sinceS);
}

/** In a hold whose minutes are not nearly over. */
function isHolding(look: Look): boolean {
  return look.place.stretch === 'hold' && look.place.hasBeenIn && holdLeftS(look) > HOLD_SHORT_S;
}

const lowBandC = ({ schedule, place, toleranceC }: Look): number => targetC(schedule, place.index) - toleranceC;

/** Faster than the schedule allows at this temperature, or far faster than its ramp. */
function climbsTooFast(look: Look, celsius: number): boolean {
  const limits = look.schedule.limits?.filter((limit) => !isLimitOfFall(limit)) ?? [];
  return isTooFast(look, celsius, limits, look.place.stretch === 'climb', 1);
}

function fallsTooFast(look: Look, celsius: number): boolean {
  const limits = look.schedule.limits?.filter((limit) => countsForFall(look.schedule, limit)) ?? [];
  return isTooFast(look, celsius, limits, look.place.stretch === 'fall', -1);
}

function isTooFast(
  { schedule, place, atS, slopePerS }: Look,
  celsius: number,
  limits: NonNullable<Schedule['limits']>,
  isItsRamp: boolean,
  sign: 1 | -1,
): boolean {
  if (slopePerS === null || celsius < WARM_C || place.stretch === 'over') return false;
  const cPerH = sign * perHour(slopePerS);
  const pace = isItsRamp && atS - place.sinceS > SETTLED_S ? pacePerS(schedule.segments[place.index]) : null;
  if (pace !== null && cPerH > TOO_FAST_RATIO * perHour(pace)) return true;
  const limitsHere = limits.filter((limit) => celsius >= limitLowC(limit) && celsius <= limitHighC(limit));
  return limitsHere.some((limit) => cPerH > BEYOND_LIMIT_RATIO * limit.maxCPerH);
}
