/** The kiln leaves the hold with too few of its minutes. */
import { fitLineOf } from '../numbers/line-fit.ts';
import { perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { goesDown, isFarBelowTop, type Schedule, targetC } from '../plan/schedule.ts';
import { countedS, ENOUGH_RATIO, isHoldFromAbove, type PlanTrack } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { swingBefore } from '../tracking/swing.ts';
import { momentLine, type Trace, type TraceLine, traceLine } from '../tracking/trace.ts';
import { isTold, sinceToldS } from './lately.ts';
import { type Finding, heard, isLidOpen, type Opinion, type Rule, soundBeside, type View } from './rule.ts';
import { wording } from './wording.ts';

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
/**
 * Out of the band, what falls by so much of its °C in an hour need have begun only so long before that end; what falls by
 * more than the second is cold air, and may be a look. Ours, from simulated firings.
 */
const PLAINLY_RATIO = 0.8;
const AIR_RATIO = 1.6;
const PLAINLY_BEGAN_RATIO = 0.25;
/** In the band for so long it has come to the hold. Ours. */
const REACHED_S = 20;
/** What goes no further down than it has swung in this hold before these last moments is no news. */
const NOW_S = 45;
const BEYOND_RATIO = 1.2;
/** Nor what goes no further down than it has been so lately: a hold that is swung up to from below. Ours. */
const LATELY_S = 150;
/** Nor is what lies this share of the tolerance below, or a little more than the kiln's usual dips. */
const LOW_RATIO = 0.35;
const BEYOND_RIPPLE_RATIO = 1.1;
/** The first swing after the corner, of a controller or of a couple that sees the flame turned down, may go so many tolerances down. From simulated firings. */
const FIRST_SWING_TOLERANCES = { gas: 1, electric: 1.5 } as const;
/** Who was told that the heat is gone knows why the hold is short. */
const KNOWN_S = 600;
/** What falls by less than this share of the ruling couple's fall stays. Ours. */
const BESIDE_RATIO = 0.25;
/** A kiln that is so many tolerances below has left its hold for good. Ours. */
const GONE_TOLERANCES = 6;
/** What was cut short stays said for so long. */
const STANDS_S = 300;

export const holdShort: Rule = {
  alert: 'hold-short',
  // Lines over several readings have settled it.
  onDelayS: 1,
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
  const held = presentHold(view, schedule, track);
  if (held === null || held.index === 0 || isHoldFromAbove(schedule, held.index)) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  if (isLidOpen(view)) return undefined;
  const goalC = targetC(schedule, held.index);
  if (isFarBelowTop(schedule, goalC)) return undefined;
  const nowC = ruling.last.celsius;
  // A kiln that a programme by the clock has overtaken is late: it has not left what it has never reached.
  if (held.doneS < 45 || held.inBandS < REACHED_S) return undefined;
  const edgeC = goalC - toleranceC;
  const fall = fallOf(view, goalC, edgeC);
  if (fall === null) return isTold(view, ['hold-short']) && nowC < edgeC ? 'unsure' : undefined;
  const leavesS = Math.max((fall.atEndC - edgeC) / -fall.perS, 0);
  if (leavesS > SAID_BEFORE_S || isEnough(held.countedS, held.plannedS, leavesS)) return undefined;
  const swing = swingBefore(trace, NOW_S, secondsBetween(held.sinceMs, view.nowMs));
  const isUsual = swing !== null && swing.nowC > BEYOND_RATIO * swing.lowestC - trace.noiseC;
  const hasBeenThere = fall.atEndC > lowestC(trace, LATELY_S, NOW_S) - trace.noiseC;
  const lowC = (swing === null ? FIRST_SWING_TOLERANCES[view.kiln.heat] : LOW_RATIO) * toleranceC;
  const isLow = fall.atEndC < goalC - Math.max(lowC, BEYOND_RIPPLE_RATIO * view.rippleC);
  if (isUsual || hasBeenThere || !isLow) return 'unsure';
  const short = finding(view, ruling, goalC, held, perHour(fall.perS));
  if (leavesS === 0) return short;
  if (staysBeside(view, ruling.name, fall)) return 'unsure';
  return { ...short, phase: 'foreseen', leadS: Math.round(leavesS) };
}

/** The lowest between two instants, in seconds before the last reading. */
function lowestC({ bins }: Trace, fromS: number, toS: number): number {
  const lastMs = bins[bins.length - 1]?.atMs ?? 0;
  let low = Number.POSITIVE_INFINITY;
  for (let i = bins.length - 1; i >= 0; i--) {
    const bin = bins[i];
    if (bin === undefined) break;
    const agoS = secondsBetween(bin.atMs, lastMs);
    if (agoS > fromS) break;
    if (agoS >= toS) low = Math.min(low, bin.celsius);
  }
  return low;
}

/** No other couple falls with it: a plug was drawn before this one, or a draught is at it. */
function staysBeside(view: View, ruling: string, fall: TraceLine): boolean {
  const others = soundBeside(view, ruling);
  const stays = ({ recent }: SensorTrack): boolean =>
    (fitLineOf(recent, NOW_S)?.slopePerS ?? 0) > BESIDE_RATIO * fall.perS;
  return others.length > 0 && others.every(stays);
}

interface PresentHold {
  readonly index: number;
  readonly plannedS: number;
  readonly sinceMs: number;
  readonly doneS: number;
  readonly inBandS: number;
  /** The most that anybody may have counted. */
  readonly countedS: number;
}

/**
 * The hold that the kiln is in, by the plan; where a hand fires after a plan by the clock, by the kiln, which may come to its
 * top when the plan lets it fall already, or be late to it. null in a climb, and once the kiln has plainly left its hold.
 */
function presentHold(view: View, schedule: Schedule, track: PlanTrack): PresentHold | null {
  const isByKiln = schedule.waits === false && view.kiln.heat === 'gas';
  const index = isByKiln && goesDown(schedule, track.segment) ? track.segment - 1 : track.segment;
  const segment = schedule.segments[index];
  if (segment?.kind !== 'hold') return null;
  const plannedS = segment.minutes * 60;
  const { hold, atTopS, thereAtMs, startedAtMs } = track;
  if (!isByKiln)
    return {
      index,
      plannedS,
      sinceMs: startedAtMs,
      ...hold,
      countedS: countedS(view.kiln.heat, schedule, track, index, view.nowMs),
    };
  const nowC = view.ruling?.last?.celsius ?? 0;
  if (nowC < targetC(schedule, index) - GONE_TOLERANCES * view.toleranceC) return null;
  return {
    index,
    plannedS,
    sinceMs: thereAtMs ?? startedAtMs,
    doneS: atTopS,
    inBandS: atTopS,
    countedS: atTopS,
  };
}

/** The kiln falls as one does that was turned off, and goes on falling; null where it does not. */
function fallOf({ kiln, trace }: View, goalC: number, edgeC: number): TraceLine | null {
  const fall = momentLine(trace);
  if (fall === null) return null;
  const end = traceLine(trace, FALLS_ON_S) ?? fall;
  const goesOn = end.perS < FALLS_ON_RATIO * fall.perS && fall.perS < BEGAN_RATIO * end.perS;
  if (goesOn && isSteeperThan(FALLING_RATIO[kiln.heat] * goalC, fall)) return fall;
  // What falls so fast, and is out of the band, need not have fallen for long: its end says where it is.
  const isAir = -end.perS > perSecond(AIR_RATIO * goalC);
  const isPlain = end.atEndC < edgeC && !isAir && isSteeperThan(PLAINLY_RATIO * goalC, end);
  return isPlain && fall.perS < PLAINLY_BEGAN_RATIO * end.perS ? end : null;
}

function isSteeperThan(cPerH: number, line: TraceLine): boolean {
  return line.perS < -perSecond(cPerH) - 2 * line.sigmaPerS;
}

function isEnough(doneS: number, plannedS: number, moreS: number): boolean {
  return doneS + moreS >= ENOUGH_RATIO * plannedS;
}

/** The plan has let go of a hold that was given up: that stays true for a while. */
function leftShort(view: View): Opinion {
  const { schedule, track } = view;
  if (schedule === null || track === null || view.ruling?.last == null) return undefined;
  const index = track.segment - 1;
  const before = schedule.segments[index];
  const done = track.holds[index];
  if (before?.kind !== 'hold' || done === undefined || before.minutes < 1) return undefined;
  const goalC = targetC(schedule, index);
  if (isFarBelowTop(schedule, goalC) || isHoldFromAbove(schedule, index)) return undefined;
  if (sinceToldS(view, ['heat-lost']) < KNOWN_S) return undefined;
  const counted = countedS(view.kiln.heat, schedule, track, index, track.startedAtMs);
  if (isEnough(counted, before.minutes * 60, 0)) return undefined;
  if (secondsBetween(track.startedAtMs, view.nowMs) > STANDS_S) return undefined;
  const hold = { doneS: done.doneS, plannedS: before.minutes * 60 };
  return finding(view, view.ruling, goalC, hold, null);
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
