/** The kiln does not climb as the plan wants: the bottle sinks, an element is gone. */
import { perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { climbTopC } from '../plan/schedule.ts';
import { type TraceBow, traceBow } from '../tracking/bow.ts';
import { plannedNowC } from '../tracking/plan-track.ts';
import { traceLine, traceSpanS } from '../tracking/trace.ts';
import { controllerWaits } from './controller-waits.ts';
import { isTold, sinceToldS } from './lately.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** A climb is judged from here on; before it lighting, airing and a cold couple make it uneven. Common practice, no source. */
const SETTLED_S = 720;
/** Shares of the wanted pace below which the climb has stalled, and below which it is about to if it is still dying away. */
const STALLED_RATIO = 0.2;
const RECOVERED_RATIO = 0.75;
/** A relay's ripple is looked at over several of its rounds. From memory. */
const RIPPLE_S = 900;
const DYING_RATIO = 0.62;
/** ... and it must have lost this share of its own pace of ten minutes ago. */
const LOST_RATIO = 0.75;
/** A ripple of this depth may lie in the pace of five minutes; and the pace of eight must have gone down as well. */
const RIPPLE_OVER_S = 300;
const SLOWING_RATIO = 0.75;
/**
 * A fading pace is looked at over so long; it is one when it has sunk to this share of the wanted one, by this share, so
 * surely. A hand comes each quarter of an hour or so, and between two of its turns a climb loses a third. From simulated
 * firings.
 */
const FADES_OVER_S = 660;
const SLOWED_RATIO = 0.74;
const FADES_BELOW_RATIO = { gas: 0.62, electric: SLOWED_RATIO } as const;
/** ... but a bottle that sinks has sunk all the time, from about the wanted pace: no spurt of the hand's that dies away. */
const SINKS_FOR_S = 900;
const SINKS_FROM_RATIO = 1.12;
const FADED_RATIO = 0.7;
const FADED_BY_RATIO = 0.29;
const FADED_SURE = 3.6;
/** A fading pace began near the wanted one; what began faster was a wave of the hand, which goes down again. Ours, by simulated firings. */
const FADES_FROM_RATIO = 1.25;
/** Shares of the tolerance behind its plan before it is a stall, and before one is foreseen: a hand that is in time may rest, a controller keeps to its plan. Ours. */
const BEHIND_TO_STALL = { gas: 0.25, electric: -0.5 } as const;
const BEHIND_TO_FORESEE = { gas: 0.6, electric: -0.5 } as const;
/** ... and a slow climb that quickens by this share of the wanted pace, or goes this fast already, is on its way back. */
const QUICKENS_RATIO = 0.15;
const BACK_RATIO = 0.65;
/** What sinks, sinks still: the pace of so long is no higher than that of five minutes. */
const SINKS_OVER_S = 120;
/** Below this a hand-turned climb goes in waves, and late is no harm; common practice, no source. */
const FORESEEN_FROM_C = 250;
/** A climb this slow and this many tolerances behind its plan is on the way to a stall, whatever it was before. */
const SLOW_RATIO = 0.55;
const BEHIND_TOLERANCES = 2;
/** What was foreseen and passed is not foreseen again for so long: if it comes it is told as it comes. */
const KNOWN_S = 2400;
/** From here on a hand eases the climb into its top; common practice, no source. */
const NEAR_TOLERANCES = 3;
/** A climb without a pace of its own wants at least this, °C/h; common practice, no source. */
const FLAT_OUT_WANTS_C_PER_H = 60;

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
  const judgedSinceMs = Math.max(track.startedAtMs, view.heardSinceMs);
  if (secondsBetween(judgedSinceMs, view.nowMs) < SETTLED_S) return undefined;
  // An open lid explains it better.
  if (view.lidOpen === true || view.sign !== null) return undefined;
  // A pace of which part was without heat says nothing yet of the heat that came back.
  if (!isTold(view, ['stalled-ramp']) && sinceToldS(view, NO_CLIMB) < SETTLED_S) return undefined;
  const nowC = ruling.last.celsius;
  if (view.kiln.heat === 'gas' && nowC < FORESEEN_FROM_C) return undefined;
  if (nowC > goalC - view.toleranceC || controllerWaits(view, nowC)) return undefined;
  const wantedCPerH = typeof segment.rateCPerH === 'number' ? segment.rateCPerH : FLAT_OUT_WANTS_C_PER_H;
  // Near the top, and while smoke is let off, a hand lets it rest a while.
  const rests = isNearTop(view, nowC) || nowC < FORESEEN_FROM_C;
  const slow = traceLine(trace, isRippling(view) || rests ? RIPPLE_S : 480);
  const lately = isRippling(view) ? slow : traceLine(trace, 300);
  const before = traceSpanS(trace) < 840 ? null : traceLine(trace, 900, 600);
  const between = traceSpanS(trace) < 840 ? null : traceLine(trace, 600, 300);
  if (slow === null || lately === null || traceSpanS(trace) < (rests ? 0.9 * RIPPLE_S : 400)) return undefined;
  const slowCPerH = perHour(slow.perS);
  const latelyCPerH = perHour(lately.perS);
  const beforeCPerH = before === null ? null : perHour(before.perS);
  const because = wording.stallBecause(latelyCPerH, wantedCPerH, beforeCPerH);
  const behindTolerances = ((plannedOnC(view) ?? Number.POSITIVE_INFINITY) - nowC) / view.toleranceC;
  const isBehind = behindTolerances > (nowC < FORESEEN_FROM_C ? 1 : BEHIND_TO_STALL[view.kiln.heat]);
  if (slowCPerH < STALLED_RATIO * wantedCPerH && latelyCPerH < STALLED_RATIO * wantedCPerH * 1.5 && isBehind) {
    const message = wording.stallHappening(view.kiln.heat, nowC, goalC);
    return {
      phase: 'happening',
      priority: nowC < 500 ? 'soon' : 'now',
      sensor: ruling.name,
      explains: ['running-late'],
      message,
      because,
    };
  }
  const hasTold = isTold(view, ['stalled-ramp']);
  // What was told stands until it plainly climbs again.
  if (hasTold && latelyCPerH < RECOVERED_RATIO * wantedCPerH) return 'unsure';
  if (behindTolerances < BEHIND_TO_FORESEE[view.kiln.heat] || latelyCPerH > SLOWED_RATIO * wantedCPerH)
    return undefined;
  if (nowC < FORESEEN_FROM_C || isNearTop(view, nowC)) return undefined;
  // A sharp bend down is something else: flame, power or door, which say so themselves within a minute.
  const { turn } = view;
  if (turn !== null && turn.bendPerS < -7 * turn.bendSigmaPerS && turn.sincePerS < -perSecond(60)) return 'unsure';
  const isDying =
    beforeCPerH !== null &&
    latelyCPerH + perHour(view.rippleC / RIPPLE_OVER_S) < DYING_RATIO * wantedCPerH &&
    slowCPerH < SLOWING_RATIO * wantedCPerH &&
    latelyCPerH < LOST_RATIO * Math.min(beforeCPerH, 1.5 * wantedCPerH) &&
    between !== null &&
    perHour(between.perS) < beforeCPerH &&
    latelyCPerH < perHour(between.perS);
  const bow = traceBow(trace, FADES_OVER_S);
  const isFading = isPaceFading(bow, wantedCPerH, FADES_FROM_RATIO);
  const isByHand = view.kiln.heat === 'gas';
  const nowPerS = (traceLine(trace, SINKS_OVER_S) ?? lately).perS;
  const isSinking =
    (isDying || isFading) &&
    !(isByHand && nowPerS > lately.perS) &&
    (latelyCPerH <= FADES_BELOW_RATIO[view.kiln.heat] * wantedCPerH ||
      isPaceFading(traceBow(trace, SINKS_FOR_S), wantedCPerH, SINKS_FROM_RATIO));
  const comesBack = isByHand && (isQuickening(bow, wantedCPerH) || perHour(nowPerS) > BACK_RATIO * wantedCPerH);
  const isSlow = slowCPerH < SLOW_RATIO * wantedCPerH && behindTolerances > BEHIND_TOLERANCES && !comesBack;
  if (!isSinking && !isSlow) return undefined;
  // A hand that makes waves makes them again; and that the firing comes late was said.
  if (sinceToldS(view, ['stalled-ramp', 'running-late']) < KNOWN_S) return undefined;
  const lossPerS = Math.max((beforeCPerH ?? latelyCPerH) - latelyCPerH, 1) / 600;
  const leftCPerH = Math.max(latelyCPerH - STALLED_RATIO * wantedCPerH, 0);
  const leadS = Math.round(Math.min(leftCPerH / lossPerS, 3600));
  const message = wording.stallForeseen(view.kiln.heat, nowC, latelyCPerH);
  return {
    phase: 'foreseen',
    priority: 'soon',
    sensor: ruling.name,
    explains: ['running-late'],
    leadS,
    message,
    because,
  };
}

/** The pace goes down steadily, by far more than the waves about it explain: a bottle that sinks, a jet that clogs. */
function isPaceFading(bow: TraceBow | null, wantedCPerH: number, fromRatio: number): boolean {
  if (bow === null) return false;
  const changePerS = bow.atStartPerS - bow.atEndPerS;
  return (
    perHour(bow.atStartPerS) < fromRatio * wantedCPerH &&
    perHour(bow.atEndPerS) < FADED_RATIO * wantedCPerH &&
    perHour(changePerS) > FADED_BY_RATIO * wantedCPerH &&
    changePerS > FADED_SURE * bow.changeSigmaPerS
  );
}

/** The door was shut again, or the hand has opened the valve. */
function isQuickening(bow: TraceBow | null, wantedCPerH: number): boolean {
  if (bow === null) return false;
  const endCPerH = perHour(bow.atEndPerS);
  return endCPerH > SLOW_RATIO * wantedCPerH || endCPerH - perHour(bow.atStartPerS) > QUICKENS_RATIO * wantedCPerH;
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
