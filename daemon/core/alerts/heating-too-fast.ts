/** It heats faster than medium, paint or glass bear. */
import { perHour, perMinute, perSecond, secondsBetween } from '../numbers/units.ts';
import { climbTopC, mayStandOpen } from '../plan/schedule.ts';
import { filledLine, traceLine } from '../tracking/trace.ts';
import { sinceToldS, TOO_LITTLE_HEAT } from './lately.ts';
import { climbLimit } from './rate-limits.ts';
import { type Finding, heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** Faster than this over five minutes harms; it is said when half of that already looks so. Common practice, no source. */
const HARM_OVER_S = 300;
const SAID_OVER_S = 150;
/**
 * The longer stretch in which it must be fast too, and the share of the limit that it must have there. Where the limit is
 * only a share of the plan's own pace, and the medium has gone, glass and paint bear more than that for a while. From
 * simulated firings; when the medium has gone is common practice, no source.
 */
const CALM_S = 240;
const CALM_RATIO = 0.8;
const RESTLESS_C = 1.5;
const RESTLESS_S = 600;
const RESTLESS_RATIO = 0.9;
const BORNE_RATIO = 1.2;
const MEDIUM_GONE_C = 400;
/** After a lid was shut, or the flame lit, the couple comes up with the air, not the glass. */
const AFTER_LID_S = 300;
/** A door that let the smoke off is shut when the hand comes, and the walls that it cooled take their time. Common practice, no source. */
const AFTER_SMOKE_S = 720;
const AFTER_LIGHTING_S = 900;
const LEAST_CPERH = 60;
/**
 * A step of the valve lets couple and air spurt for two or three minutes, and then they climb on more slowly than that. What
 * goes on goes further beyond the limit than a spurt: by the first over half of a harmful stretch and still so by the second,
 * by the third over the whole of it; or over ten minutes by anything. From simulated firings.
 */
const SPURT_RATIO = 1.5;
const SPURTS_ON_RATIO = 1.3;
const PASSED_RATIO = 1.1;
/**
 * An electric kiln has no lighting: its programme is set wrong from the first minute on, and shows as a steady climb so far
 * beyond the limit. By then a controller has made good what a cold start lost. From simulated firings.
 */
const MISSET_RATIO = 1.4;
const MISSET_FROM_C = 40;
/** So far above its way, so much faster than allowed, within a minute or two: the largest wave of a hand is 15 °C. From simulated firings. */
const SURGE_C = 18;
const SURGE_RATIO = 3;
const SURGE_OVER_S = 16;
const SURGE_LEAD_S = 60;
const DOOR_SHUT_FROM_C = 60;
/** Cooler than this neither medium nor glass minds. Common practice, no source. */
const MINDS_FROM_C = 120;
/** Once told, it is told again only where a whole harmful stretch is so much faster. */
const AGAIN_RATIO = 2.5;
const KNOWN_S = 7200;
/** After a flame was lit again, or the lid shut, the couple comes up with the air. */
const COMES_BACK_S = 900;

export const heatingTooFast: Rule = {
  alert: 'heating-too-fast',
  onDelayS: 15,
  offDelayS: 60,
  isSlow: true,
  cause: 'a valve opened too far, a relay that sticks, pressure that jumped',
  consequence: 'the oil boils and the gum blisters; thick glass cracks',
  whatToDo: {
    gas: 'turn down; while the medium smokes pilot only, vent open',
    electric: 'slow it at the controller, vent open while the medium smokes',
  },
  timeToAct: 'two to three minutes',
  priority: 'now',
  judge,
  afterwards: (_told, lastedS) => wording.heatingWas(lastedS),
};

function judge(view: View): Opinion {
  const { schedule, track, trace, segment } = view;
  if (schedule === null || track === null || segment?.kind !== 'ramp' || !track.hasMoved) return undefined;
  const topC = climbTopC(schedule, track.segment);
  if (topC <= track.startC || segment.rateCPerH === 'let-fall') return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  if (secondsBetween(view.lidMovedAtMs ?? 0, view.nowMs) < AFTER_LID_S) return undefined;
  if (wasShutLately(view)) return undefined;
  // Past a corner of the plan the pace is still that of the ramp before.
  if (track.segment > 0 && secondsBetween(track.startedAtMs, view.nowMs) < HARM_OVER_S) return undefined;
  const nowC = ruling.last.celsius;
  const programme = misset(view, ruling.name, nowC);
  if (programme !== null) return programme;
  if (secondsBetween(view.startedAtMs, view.nowMs) < AFTER_LIGHTING_S || nowC < MINDS_FROM_C) return undefined;
  // Waves that were told once are known: only worse is news. Nor is heat that comes back a second trouble, unless it harms.
  const ownS = sinceToldS(view, ['heating-too-fast']);
  const isKnown = (ownS > 0 && ownS < KNOWN_S) || sinceToldS(view, TOO_LITTLE_HEAT) < COMES_BACK_S;
  const limit = climbLimit(schedule, track, nowC, view.nowMs, view.toleranceC);
  if (limit !== null && !isKnown && isSurge(view, nowC, perSecond(limit.maxCPerH))) {
    const surgeCPerH = perHour(view.turn?.sincePerS ?? 0);
    return {
      phase: 'foreseen',
      priority: 'now',
      sensor: ruling.name,
      leadS: SURGE_LEAD_S,
      message: wording.heatingTooFast(view.kiln.heat, nowC, perMinute(surgeCPerH)),
      because: wording.heatingBecause(surgeCPerH, limit.maxCPerH, limit.why),
    };
  }
  const over = filledLine(trace, SAID_OVER_S);
  const lately = traceLine(trace, 60) ?? over;
  const long = filledLine(trace, HARM_OVER_S);
  if (limit === null || over === null || lately === null) return undefined;
  const isBorne = limit.why === null && nowC > MEDIUM_GONE_C;
  const limitPerS = perSecond(Math.max(limit.maxCPerH, LEAST_CPERH));
  if (isWave(view, limitPerS, isBorne)) return undefined;
  const isByHand = view.kiln.heat === 'gas';
  const [fast, goesOn, passed] = isByHand ? [SPURT_RATIO, SPURTS_ON_RATIO, PASSED_RATIO] : [1, 1, 1];
  const isFast = !isBorne && over.perS > fast * limitPerS + 2 * over.sigmaPerS && lately.perS > goesOn * limitPerS;
  const hasLasted = isByHand && (filledLine(trace, RESTLESS_S)?.perS ?? 0) > limitPerS;
  const isHarm = long !== null && long.perS > (hasLasted ? 1 : passed) * limitPerS && over.perS > limitPerS;
  if (!isFast && !isHarm) return undefined;
  if (isKnown && !(isHarm && long.perS > AGAIN_RATIO * limitPerS)) return undefined;
  const rateCPerH = perHour(over.perS);
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: 'now',
    sensor: ruling.name,
    leadS: isHarm ? 0 : HARM_OVER_S - SAID_OVER_S,
    message: wording.heatingTooFast(view.kiln.heat, nowC, perMinute(rateCPerH)),
    because: wording.heatingBecause(rateCPerH, limit.maxCPerH, limit.why),
  };
}

/** A steady climb, from the cold on, that is steeper by far than the plan of an electric kiln. */
function misset(view: View, sensor: string, nowC: number): Finding | null {
  const { kiln, schedule, track, trace, nowMs } = view;
  if (kiln.heat !== 'electric' || schedule === null || track === null || track.segment > 0) return null;
  const sinceS = secondsBetween(track.startedAtMs, nowMs);
  const ownS = sinceToldS(view, ['heating-too-fast']);
  if (nowC < MISSET_FROM_C || sinceS < HARM_OVER_S || (ownS > 0 && ownS < KNOWN_S)) return null;
  const limit = climbLimit(schedule, track, nowC, nowMs, view.toleranceC);
  const over = filledLine(trace, HARM_OVER_S);
  const lately = traceLine(trace, SAID_OVER_S);
  if (limit === null || over === null || lately === null) return null;
  const leastPerS = MISSET_RATIO * perSecond(Math.max(limit.maxCPerH, LEAST_CPERH));
  if (over.perS < leastPerS || lately.perS < leastPerS) return null;
  return {
    phase: 'happening',
    priority: 'now',
    sensor,
    leadS: 0,
    message: wording.heatingTooFast(kiln.heat, nowC, perMinute(perHour(over.perS))),
    because: wording.heatingBecause(perHour(over.perS), limit.maxCPerH, limit.why),
  };
}

/** A relay's rounds and a hand's waves go up by themselves, and down again: what goes on has come near the limit in longer too. */
function isWave({ kiln, trace, rippleC }: View, limitPerS: number, isBorne: boolean): boolean {
  const isRestless = kiln.heat === 'electric' || rippleC > RESTLESS_C || isBorne;
  const ratio = isBorne ? BORNE_RATIO : isRestless ? RESTLESS_RATIO : CALM_RATIO;
  const line = filledLine(trace, isRestless ? RESTLESS_S : CALM_S);
  return line === null || line.perS < ratio * limitPerS;
}

/** The way has bent up as no wave does: a valve opened too far, a pressure that jumped. */
function isSurge({ turn, segment }: View, nowC: number, limitPerS: number): boolean {
  if (turn === null || segment?.kind !== 'ramp' || turn.agoS < SURGE_OVER_S) return false;
  // Where smoke is let off the door is shut near the end, and air and couple leap up by it.
  if (mayStandOpen(segment) && nowC > segment.toC - DOOR_SHUT_FROM_C) return false;
  return (
    turn.bendPerS > 7 * turn.bendSigmaPerS &&
    turn.beforePerS > 0 &&
    turn.sincePerS > SURGE_RATIO * limitPerS &&
    turn.offC >= SURGE_C
  );
}

/** Where smoke was let off until a moment ago, the door has just been shut. */
function wasShutLately(view: View): boolean {
  const { schedule, track } = view;
  if (schedule === null || track === null || track.segment === 0) return false;
  const wasPropped = mayStandOpen(schedule.segments[track.segment - 1]);
  return wasPropped && secondsBetween(track.startedAtMs, view.nowMs) < AFTER_SMOKE_S;
}
