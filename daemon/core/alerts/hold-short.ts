/** The kiln leaves the hold with too few of its minutes. */
import { perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { goesDown, type Schedule, targetC } from '../plan/schedule.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { swingBefore } from '../tracking/swing.ts';
import { traceLine } from '../tracking/trace.ts';
import { sinceToldS } from './lately.ts';
import { type Finding, heard, isLidOpen, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** With this share of its minutes a hold has done its work; common practice, no source. */
const ENOUGH_RATIO = 0.8;
/** So long before the kiln leaves the band it is said. */
const SAID_BEFORE_S = 90;
/** A fall that takes this share of its °C in an hour is no wave of the hand's or the controller's. From simulated firings. */
const FALLING_RATIO = { gas: 0.4, electric: 0.3 } as const;
/** In the band for so long it has come to the hold. Ours. */
const REACHED_S = 20;
/** What goes no further down than it has swung in this hold before these last moments is no news. */
const NOW_S = 45;
const BEYOND_RATIO = 1.2;
/** A controller's first swing after the corner may go this far through the tolerance. Common practice, no source. */
const FIRST_SWING_RATIO = 0.85;
/** A hand that turned down too far is seen at once and mended: what is out stays out if it falls on, or is out by as much again. Ours. */
const FALLS_ON_RATIO = 0.5;
/** Who was told that the heat is gone knows why the hold is short. */
const KNOWN_S = 600;
/** What was cut short stays said for so long. */
const STANDS_S = 300;

export const holdShort: Rule = {
  alert: 'hold-short',
  onDelayS: 5,
  offDelayS: 30,
  cause: 'turned off too early, the programme skipped on, or the heat gone',
  consequence: 'the paint is not fired through: matt, and it can be scratched off',
  whatToDo: {
    gas: 'look at the flame; bring it back if the gloss is not there yet',
    electric: 'look whether the controller is still in its hold',
  },
  timeToAct: 'one to two minutes',
  priority: 'now',
  judge,
  afterwards: (told) => (told.phase === 'foreseen' ? wording.holdKept : wording.holdWasShort),
};

function judge(view: View): Opinion {
  const { schedule, track, trace, toleranceC } = view;
  if (schedule === null || track === null) return undefined;
  const left = leftShort(view);
  if (left !== undefined) return left;
  const segment = view.segment;
  if (segment?.kind !== 'hold' || track.segment === 0 || isFromAbove(schedule, track.segment)) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  if (isLidOpen(view)) return undefined;
  const goalC = targetC(schedule, track.segment);
  const plannedS = segment.minutes * 60;
  const doneS = track.hold.doneS;
  const nowC = ruling.last.celsius;
  const lately = traceLine(trace, 40) ?? traceLine(trace, 100);
  // A kiln that a programme by the clock has overtaken is late: it has not left what it has never reached.
  if (lately === null || doneS < 45 || track.hold.inBandS < REACHED_S) return undefined;
  const edgeC = goalC - toleranceC;
  const leavesS = lately.perS < 0 ? Math.max((lately.atEndC - edgeC) / -lately.perS, 0) : Number.POSITIVE_INFINITY;
  const enoughS = ENOUGH_RATIO * plannedS;
  if (doneS + Math.min(leavesS, SAID_BEFORE_S) >= enoughS) return undefined;
  const isFalling = lately.perS < -perSecond(FALLING_RATIO[view.kiln.heat] * goalC) - 2 * lately.sigmaPerS;
  const swing = swingBefore(trace, NOW_S, secondsBetween(track.startedAtMs, view.nowMs));
  const isFirstSwing = view.kiln.heat === 'electric' && swing === null;
  const lowC = (isFirstSwing ? FIRST_SWING_RATIO : 0.35) * toleranceC;
  const isUsual = swing !== null && swing.nowC > BEYOND_RATIO * swing.lowestC - trace.noiseC;
  const isLow = !isUsual && lately.atEndC < goalC - Math.max(lowC, 1.1 * view.rippleC);
  const isOut = Math.max(nowC, lately.atEndC) < edgeC - Math.max(0.2 * toleranceC, 0.3 * view.rippleC);
  const fallsOn = lately.perS < -FALLS_ON_RATIO * perSecond(FALLING_RATIO.gas * goalC);
  const isDip = view.kiln.heat === 'gas' && !fallsOn && lately.atEndC > edgeC - toleranceC;
  if (isOut && isDip) return 'unsure';
  if (isOut) return finding(view, ruling, goalC, { doneS, plannedS }, perHour(lately.perS));
  if (!isFalling || !isLow || leavesS > SAID_BEFORE_S) return isLow && isFalling ? 'unsure' : undefined;
  const short = finding(view, ruling, goalC, { doneS, plannedS }, perHour(lately.perS));
  return { ...short, phase: 'foreseen', leadS: Math.round(leavesS) };
}

/** The plan has let go of a hold that was given up: that stays true for a while. */
function leftShort(view: View): Opinion {
  const { schedule, track } = view;
  if (schedule === null || track === null || view.ruling?.last == null) return undefined;
  const index = track.segment - 1;
  const before = schedule.segments[index];
  const done = track.holds[index];
  if (before?.kind !== 'hold' || done === undefined || before.minutes < 1) return undefined;
  if (isFromAbove(schedule, index) || sinceToldS(view, ['heat-lost']) < KNOWN_S) return undefined;
  if (done.doneS >= ENOUGH_RATIO * before.minutes * 60) return undefined;
  if (secondsBetween(track.startedAtMs, view.nowMs) > STANDS_S) return undefined;
  const hold = { doneS: done.doneS, plannedS: before.minutes * 60 };
  return finding(view, view.ruling, targetC(schedule, index), hold, null);
}

/** The paint is fired in the holds on the way up: one on the way down is the glass's, which minds the pace alone. */
function isFromAbove(schedule: Schedule, index: number): boolean {
  return index > 1 && goesDown(schedule, index - 1);
}

function finding(
  view: View,
  ruling: SensorTrack,
  goalC: number,
  { doneS, plannedS }: { readonly doneS: number; readonly plannedS: number },
  rateCPerH: number | null,
): Finding {
  const nowC = ruling.last?.celsius ?? goalC;
  return {
    phase: 'happening',
    priority: 'now',
    sensor: ruling.name,
    leadS: 0,
    message: wording.holdShort(view.kiln.heat, nowC, goalC, doneS, plannedS),
    because: wording.holdShortBecause(nowC, goalC, rateCPerH),
  };
}
