/** The kiln does not climb as the plan wants: the bottle sinks, an element is gone. */
import { fitLineOf } from '../numbers/line-fit.ts';
import { clamp, perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { climbTopC, isAfterHold, type Ramp, targetC } from '../plan/schedule.ts';
import { traceBow } from '../tracking/bow.ts';
import { hasHadItsHold, minutesLate, plannedNowC } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { celsiusAgo, isLoneLeap, type Trace, type TraceLine, traceLine, traceSpanS } from '../tracking/trace.ts';
import { controllerWaits } from './controller-waits.ts';
import { isTold, sinceNotBelievedS, sinceToldS } from './lately.ts';
import { type Finding, heard, type Opinion, type Rule, soundBeside, type View } from './rule.ts';
import { HARM_MIN, HARMS_ABOVE_C } from './running-late.ts';
import { wording } from './wording.ts';

/** A climb is judged from here on; before it lighting, airing and a cold couple make it uneven. Common practice, no source. */
const SETTLED_S = 720;
/**
 * At the low temperature of a soak a controller swings in over many minutes, and counts its own from then: so long after the
 * plan's end of it what is still held is no stall. It costs nothing there. From simulated firings.
 */
const SOAKS_ON_S = 1500;
/** Shares of the wanted pace below which the climb has stalled, and from which on it climbs again. */
const STALLED_RATIO = 0.2;
const RECOVERED_RATIO = 0.75;
/** The pace of another couple is looked at over so long. */
const BESIDE_S = 300;
/** A relay's ripple is looked at over several of its rounds. From memory. */
const RIPPLE_S = 900;
/** Shares of the tolerance behind its plan before it is a stall: a hand that is in time may rest, a controller keeps to its plan. Ours. */
const BEHIND_TO_STALL = { gas: 0.25, electric: -0.5 } as const;
/**
 * So many minutes before it harms a stall is told. Until then a hand that looks each ten minutes or so sets right what is no
 * fault: it opens the valve, and between two of its turns the pace goes down to the half. Where nearly a quarter of an hour
 * went by without a climb, no hand rests any more, however cool the kiln is. Ours.
 */
const TOLD_BEFORE_MIN = 12;
const RESTED_MIN = 14;
/**
 * A bottle that sinks makes a climb slower all the time: what was less than this share of the wanted pace ten minutes ago, and
 * has lost the second share of it in each of two times five minutes since, is told as far ahead as anything is foreseen. Ours.
 */
const SINKING_BEFORE_MIN = 30;
const SINKING_RATIO = 0.9;
const SINKS_RATIO = 0.08;
const SINKS_STEP_S = 300;
/** What is lost is counted over the one of these stretches that lost most, and is more °C than the plan minds, and so late at all. Ours. */
const LOST_OVER_S = [300, 600, 900];
const LOST_TOLERANCES = 1.25;
const LATE_MIN = 2;
/** What is on its way back to the pace of the plan. Ours. */
const BACK_RATIO = 0.65;
const NOW_S = 120;
const QUICKENS_OVER_S = 660;
const QUICKENS_RATIO = 0.15;
/** Below this a hand-turned climb goes in waves, and late is no harm; common practice, no source. */
const FORESEEN_FROM_C = 250;
/** What was foreseen and passed is not foreseen again for so long: if it comes it is told as it comes. So long it takes as well after nobody knew how hot it was. Ours. */
const KNOWN_S = 2400;
/** What is found over many minutes need not stand for long. Ours. */
const FORESEEN_DELAY_S = 10;
/** From here on a hand eases the climb into its top; common practice, no source. */
const NEAR_TOLERANCES = 3;
/** A climb without a pace of its own wants at least this, °C/h; common practice, no source. */
const FLAT_OUT_WANTS_C_PER_H = 60;
/**
 * At full power the hotter kiln climbs more slowly, but keeps this share of its pace for a quarter of an hour, until its
 * controller rounds its corner; what an element less gives is far below. From simulated firings.
 */
const FLAT_OUT_KEEPS_RATIO = 0.6;
const FLAT_OUT_BEFORE_S = [960, 720] as const;

/** A flame that seemed out and burns small after all is told for so long as what it is: whoever heard the one must hear the other. Ours. */
const SMALL_FLAME_S = 600;

const NO_CLIMB = ['heat-lost', 'lid-open-hot'] as const;

export const stalledRamp: Rule = {
  alert: 'stalled-ramp',
  onDelayS: 45,
  offDelayS: 120,
  isSlow: true,
  cause: 'falling gas pressure, a frosted or empty bottle, a broken element, low mains',
  consequence: 'the firing comes late; above 560 °C the slow time works on paint and glass',
  whatToDo: {
    gas: 'look at the flame and the bottle; change a frosted or empty one, never warm it with a flame',
    electric: 'look at fuse, elements and controller',
  },
  timeToAct: 'ten minutes; below 500 °C as long as one likes',
  priority: 'now',
  judge,
  afterwards: (told, lastedS) => (told.phase === 'foreseen' ? wording.stallPassed : wording.stallWas(lastedS)),
};

function judge(view: View): Opinion {
  const { schedule, track, segment, goalC, trace } = view;
  if (schedule === null || track === null || segment?.kind !== 'ramp' || goalC === null) return undefined;
  const isUp = goalC > track.startC && segment.rateCPerH !== 'let-fall';
  if (!isUp || (track.segment === 0 && !track.hasMoved)) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  const smallCPerH = smallFlameCPerH(view, segment, ruling.last.celsius);
  if (smallCPerH !== null) {
    const because = wording.stallBecause(smallCPerH, paceOf(segment), null);
    return { ...standstill(view, ruling, goalC, because), onDelayS: FORESEEN_DELAY_S };
  }
  const judgedSinceMs = Math.max(track.startedAtMs, view.heardSinceMs, view.lidSinceMs ?? 0);
  if (secondsBetween(judgedSinceMs, view.nowMs) < SETTLED_S) return undefined;
  // An open lid explains it better.
  if (view.lidOpen === true || view.sign !== null) return undefined;
  if (isLoneLeap(trace)) return 'unsure';
  // A pace of which part was without heat says nothing yet of the heat that came back.
  const hasTold = isTold(view, ['stalled-ramp']);
  if (!hasTold && sinceToldS(view, NO_CLIMB) < SETTLED_S) return undefined;
  // Who steered by a couple that could not be believed comes back to its plan first.
  if (!hasTold && sinceNotBelievedS(view) < KNOWN_S) return undefined;
  const nowC = ruling.last.celsius;
  const isByHand = view.kiln.heat === 'gas';
  if (!isByHand && hasHadItsHold(schedule, track)) return undefined;
  if (isByHand ? nowC < FORESEEN_FROM_C : soaksOn(view, nowC)) return undefined;
  if (nowC > goalC - view.toleranceC || controllerWaits(view, nowC)) return undefined;
  const flatOutCPerH = isByHand ? 0 : fullPowerCPerH(view, segment, nowC);
  const wantedCPerH = Math.max(paceOf(segment), flatOutCPerH);
  const rests = isByHand && isNearTop(view, nowC);
  const slow = traceLine(trace, isRippling(view) || rests ? RIPPLE_S : 480);
  const lately = isRippling(view) ? slow : traceLine(trace, 300);
  if (slow === null || lately === null || traceSpanS(trace) < (rests ? 0.9 * RIPPLE_S : 400)) return undefined;
  const slowCPerH = perHour(slow.perS);
  const latelyCPerH = perHour(lately.perS);
  if (latelyCPerH >= RECOVERED_RATIO * wantedCPerH) return undefined;
  const before = traceSpanS(trace) < 840 ? null : traceLine(trace, 900, 600);
  const because = wording.stallBecause(latelyCPerH, wantedCPerH, before === null ? null : perHour(before.perS));
  const isPaced = typeof segment.rateCPerH === 'number';
  const lateMin = isPaced ? minutesLate(schedule, track, view.nowMs, nowC) : 0;
  const recentMin = lostMinutes(view, nowC, perSecond(wantedCPerH), secondsBetween(judgedSinceMs, view.nowMs));
  // A hand that was late before is late again, and no more than that; a controller keeps to its plan.
  const lostMin = isByHand ? recentMin : Math.max(recentMin, lateMin);
  const harmsInMin = Math.max(HARM_MIN - lostMin, 0) / Math.max(1 - latelyCPerH / wantedCPerH, 0.01);
  // What an electric kiln lacks is gone at once; at full power there is nothing to make it good with.
  const isSunk = isByHand ? isSinking(trace, perSecond(wantedCPerH)) : flatOutCPerH > 0;
  const beforeMin = isSunk ? SINKING_BEFORE_MIN : TOLD_BEFORE_MIN;
  const isDue = harmsInMin <= beforeMin && hotInMin(view, nowC) - lostMin <= TOLD_BEFORE_MIN;
  const behindTolerances = ((plannedOnC(view) ?? Number.POSITIVE_INFINITY) - nowC) / view.toleranceC;
  const isBehind = behindTolerances > (nowC < FORESEEN_FROM_C ? 1 : BEHIND_TO_STALL[view.kiln.heat]);
  const stands = slowCPerH < STALLED_RATIO * wantedCPerH && latelyCPerH < STALLED_RATIO * wantedCPerH * 1.5;
  if (stands && isBehind && (isDue || !isByHand || recentMin >= RESTED_MIN)) {
    if (isByHand && climbsNow(trace, lately, wantedCPerH)) return 'unsure';
    if (climbsBeside(view, ruling.name, wantedCPerH)) return 'unsure';
    return standstill(view, ruling, goalC, because);
  }
  // What was told stands until it plainly climbs again.
  if (hasTold) return 'unsure';
  if (!isDue || nowC < FORESEEN_FROM_C || rests) return undefined;
  const lostC = perSecond(wantedCPerH) * lostMin * 60;
  if (lostC < LOST_TOLERANCES * view.toleranceC || (isPaced && lateMin < LATE_MIN)) return undefined;
  const leftC = climbTopC(schedule, track.segment) - nowC;
  const laterMin = leftC / perSecond(Math.max(latelyCPerH, 1)) / 60 - leftC / perSecond(wantedCPerH) / 60;
  if (Math.max(lateMin, lostMin) + laterMin < HARM_MIN) return undefined;
  // A sharp bend down is something else: flame, power or door, which say so themselves within a minute.
  const { turn } = view;
  if (turn !== null && turn.bendPerS < -7 * turn.bendSigmaPerS && turn.sincePerS < -perSecond(60)) return 'unsure';
  if (isComingBack(trace, lately, wantedCPerH)) return 'unsure';
  // A hand that makes waves makes them again; and that the firing comes late was said.
  if (sinceToldS(view, ['stalled-ramp', 'running-late']) < KNOWN_S) return undefined;
  if (climbsBeside(view, ruling.name, wantedCPerH)) return 'unsure';
  const leadS = Math.round(clamp(harmsInMin * 60, 0, 3600));
  const message = wording.stallForeseen(view.kiln.heat, nowC, latelyCPerH);
  return {
    phase: 'foreseen',
    priority: 'soon',
    sensor: ruling.name,
    explains: ['running-late'],
    leadS,
    onDelayS: FORESEEN_DELAY_S,
    message,
    because,
  };
}

function standstill({ kiln }: View, { name, last }: SensorTrack, goalC: number, because: string): Finding {
  const nowC = last?.celsius ?? goalC;
  return {
    phase: 'happening',
    priority: nowC < 500 ? 'soon' : 'now',
    sensor: name,
    explains: ['running-late'],
    message: wording.stallHappening(kiln.heat, nowC, goalC),
    because,
  };
}

/**
 * It was told that the flame seems out, and the fall has levelled out above what no flame would, see `heat-change.ts`: the pace
 * at which it climbs or falls now; null where it is not so.
 */
function smallFlameCPerH(view: View, segment: Ramp, nowC: number): number | null {
  const { kiln, trace, change, lidOpen, sign } = view;
  if (kiln.heat !== 'gas' || nowC < FORESEEN_FROM_C || sinceToldS(view, ['heat-lost']) >= SMALL_FLAME_S) return null;
  if (change !== null || lidOpen === true || sign !== null) return null;
  const lately = traceLine(trace, NOW_S);
  if (lately === null) return null;
  const rateCPerH = perHour(lately.perS);
  return rateCPerH < STALLED_RATIO * paceOf(segment) ? rateCPerH : null;
}

/** The soak before this climb is over by the plan, and its controller holds it yet. */
function soaksOn({ schedule, track, toleranceC, nowMs }: View, nowC: number): boolean {
  if (schedule === null || track === null || nowC >= FORESEEN_FROM_C) return false;
  if (!isAfterHold(schedule, track.segment)) return false;
  const isHeld = nowC > targetC(schedule, track.segment - 1) - toleranceC;
  return isHeld && secondsBetween(track.startedAtMs, nowMs) < SOAKS_ON_S;
}

/** All the others climb as the plan wants: it is not the kiln that stalls. */
function climbsBeside(view: View, ruling: string, wantedCPerH: number): boolean {
  const others = soundBeside(view, ruling);
  const climbs = ({ recent }: SensorTrack): boolean =>
    perHour(fitLineOf(recent, BESIDE_S)?.slopePerS ?? 0) > RECOVERED_RATIO * wantedCPerH;
  return others.length > 0 && others.every(climbs);
}

/** The minutes lost on the plan's pace over the stretch that lost most of them. */
function lostMinutes({ trace }: View, nowC: number, wantedPerS: number, judgedS: number): number {
  const lostS = LOST_OVER_S.filter((s) => s <= judgedS).map(
    (s) => s - (nowC - (celsiusAgo(trace, s) ?? nowC)) / wantedPerS,
  );
  return Math.max(0, ...lostS) / 60;
}

/**
 * Minutes that the plan takes to where slow time works. Before that a hand lets it rest, above all where the plan turns and the
 * smoke is gone; a controller rests nowhere, so that its stall is told at once.
 */
function hotInMin({ kiln, schedule, track }: View, nowC: number): number {
  if (kiln.heat === 'electric' || schedule === null || track === null) return 0;
  let atC = nowC;
  let minutes = 0;
  for (const segment of schedule.segments.slice(track.segment)) {
    if (atC >= HARMS_ABOVE_C) return minutes;
    if (segment.kind === 'hold') minutes += segment.minutes;
    else {
      const toC = Math.min(segment.toC, HARMS_ABOVE_C);
      minutes += (Math.max(toC - atC, 0) / paceOf(segment)) * 60;
      atC = Math.max(atC, toC);
    }
  }
  return atC >= HARMS_ABOVE_C ? minutes : Number.POSITIVE_INFINITY;
}

function paceOf({ rateCPerH }: Ramp): number {
  return typeof rateCPerH === 'number' ? rateCPerH : FLAT_OUT_WANTS_C_PER_H;
}

/** What a controller's climb at full power goes on at, by its own pace of a quarter of an hour ago; 0 where it has another or none yet. */
function fullPowerCPerH(view: View, { rateCPerH }: Ramp, nowC: number): number {
  const { trace, track, nowMs } = view;
  const [fromS, toS] = FLAT_OUT_BEFORE_S;
  if (rateCPerH !== 'flat-out' || isNearTop(view, nowC)) return 0;
  if (secondsBetween(track?.startedAtMs ?? nowMs, nowMs) < fromS) return 0;
  return FLAT_OUT_KEEPS_RATIO * perHour(traceLine(trace, fromS, toS)?.perS ?? 0);
}

/** Slower in each five minutes than in those before. */
function isSinking(trace: Trace, wantedPerS: number): boolean {
  const paces = [2, 1, 0].map((i) => traceLine(trace, (i + 1) * SINKS_STEP_S, i * SINKS_STEP_S)?.perS);
  const [first, second, third] = paces;
  if (first === undefined || second === undefined || third === undefined) return false;
  return first < SINKING_RATIO * wantedPerS && Math.min(first - second, second - third) > SINKS_RATIO * wantedPerS;
}

/** The door was shut again, the hand has opened the valve, the controller has come up to a steeper pace. */
function isComingBack(trace: Trace, lately: TraceLine, wantedCPerH: number): boolean {
  const bow = traceBow(trace, QUICKENS_OVER_S);
  const isQuickening = bow !== null && perHour(bow.atEndPerS - bow.atStartPerS) > QUICKENS_RATIO * wantedCPerH;
  return climbsNow(trace, lately, wantedCPerH) || isQuickening;
}

function climbsNow(trace: Trace, lately: TraceLine, wantedCPerH: number): boolean {
  return perHour((traceLine(trace, NOW_S) ?? lately).perS) > BACK_RATIO * wantedCPerH;
}

function isRippling(view: View): boolean {
  return view.rippleC > 1.5;
}

/** The hand turns down before the top: the last degrees are climbed more slowly, and come late by little. */
function isNearTop({ schedule, track, toleranceC }: View, nowC: number): boolean {
  return (
    schedule !== null && track !== null && climbTopC(schedule, track.segment) - nowC < NEAR_TOLERANCES * toleranceC
  );
}

function plannedOnC(view: View): number | null {
  const { schedule, track } = view;
  return schedule === null || track === null ? null : plannedNowC(schedule, track, view.nowMs);
}
