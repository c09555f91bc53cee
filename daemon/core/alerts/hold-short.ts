/** The kiln leaves the hold with too few of its minutes. */
import { perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { goesDown, type Schedule, targetC } from '../plan/schedule.ts';
import { countedS, type HoldDone } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { swingBefore } from '../tracking/swing.ts';
import { momentLine, type TraceLine, traceLine } from '../tracking/trace.ts';
import { isTold, sinceToldS } from './lately.ts';
import { type Finding, heard, isLidOpen, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** With this share of its minutes a hold has done its work; common practice, no source. */
const ENOUGH_RATIO = 0.8;
/** So long before the kiln leaves the band it is said. */
const SAID_BEFORE_S = 90;
/**
 * What is turned off falls by this share of its °C in an hour, by no less at the end than over the stretch, and had begun
 * before it: a draught, a plug drawn for a look, a hand that turns down too far fall as steeply and are over by then.
 * From simulated firings.
 */
const FALLING_RATIO = { gas: 0.6, electric: 0.3 } as const;
const FALLS_ON_S = 21;
const FALLS_ON_RATIO = 0.75;
const BEGAN_RATIO = 0.6;
/** In the band for so long it has come to the hold. Ours. */
const REACHED_S = 20;
/** What goes no further down than it has swung in this hold before these last moments is no news. */
const NOW_S = 45;
const BEYOND_RATIO = 1.2;
/** Nor is what lies this share of the tolerance below, or a little more than the kiln's usual dips. */
const LOW_RATIO = 0.35;
const BEYOND_RIPPLE_RATIO = 1.1;
/** A controller's first swing after the corner may go so many tolerances down. From simulated firings. */
const FIRST_SWING_TOLERANCES = 2;
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
  const { hold } = track;
  const nowC = ruling.last.celsius;
  // A kiln that a programme by the clock has overtaken is late: it has not left what it has never reached.
  if (hold.doneS < 45 || hold.inBandS < REACHED_S) return undefined;
  const fall = fallOf(view, goalC);
  const edgeC = goalC - toleranceC;
  if (fall === null) return isTold(view, ['hold-short']) && nowC < edgeC ? 'unsure' : undefined;
  const leavesS = Math.max((fall.atEndC - edgeC) / -fall.perS, 0);
  if (leavesS > SAID_BEFORE_S || isEnough(hold, plannedS, leavesS)) return undefined;
  const swing = swingBefore(trace, NOW_S, secondsBetween(track.startedAtMs, view.nowMs));
  const isUsual = swing !== null && swing.nowC > BEYOND_RATIO * swing.lowestC - trace.noiseC;
  const isFirstSwing = view.kiln.heat === 'electric' && swing === null;
  const lowC = (isFirstSwing ? FIRST_SWING_TOLERANCES : LOW_RATIO) * toleranceC;
  const isLow = fall.atEndC < goalC - Math.max(lowC, BEYOND_RIPPLE_RATIO * view.rippleC);
  if (isUsual || !isLow) return 'unsure';
  const short = finding(view, ruling, goalC, { doneS: hold.doneS, plannedS }, perHour(fall.perS));
  return leavesS > 0 ? { ...short, phase: 'foreseen', leadS: Math.round(leavesS) } : short;
}

/** The kiln falls as one does that was turned off, and goes on falling; null where it does not. */
function fallOf({ kiln, trace }: View, goalC: number): TraceLine | null {
  const fall = momentLine(trace);
  if (fall === null) return null;
  const end = traceLine(trace, FALLS_ON_S) ?? fall;
  const isFall = fall.perS < -perSecond(FALLING_RATIO[kiln.heat] * goalC) - 2 * fall.sigmaPerS;
  return isFall && end.perS < FALLS_ON_RATIO * fall.perS && fall.perS < BEGAN_RATIO * end.perS ? fall : null;
}

function isEnough(hold: HoldDone, plannedS: number, moreS: number): boolean {
  return countedS(hold) + moreS >= ENOUGH_RATIO * plannedS;
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
  if (isEnough(done, before.minutes * 60, 0)) return undefined;
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
