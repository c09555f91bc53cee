/** It heats faster than medium, paint or glass bear. */
import { perHour, perMinute, perSecond, secondsBetween } from '../numbers/units.ts';
import { climbTopC, mayStandOpen } from '../plan/schedule.ts';
import { plannedNowC } from '../tracking/plan-track.ts';
import { risesBeyond, swingBefore } from '../tracking/swing.ts';
import { filledLine, isLoneLeap, traceLine } from '../tracking/trace.ts';
import { sinceToldS, TOO_LITTLE_HEAT } from './lately.ts';
import { climbLimit } from './rate-limits.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** Faster than this over five minutes harms; it is said when half of that already looks so. Common practice, no source. */
const HARM_OVER_S = 300;
const SAID_OVER_S = 150;
/** ... and it must still be fast. */
const LATELY_S = 60;
/** Where the limit is only a share of the plan's own pace, glass and paint bear more for a while once the medium has gone. Common practice, no source. */
const MEDIUM_GONE_C = 400;
/** After a lid was shut, or the flame lit, the couple comes up with the air, not the glass. */
const AFTER_LID_S = 300;
/** A door that let the smoke off is shut when the hand comes, and the walls that it cooled take their time. Common practice, no source. */
const AFTER_SMOKE_S = 720;
const AFTER_LIGHTING_S = 900;
const LEAST_CPERH = 60;
/**
 * A controller goes by its programme: where it runs so many tolerances ahead of the plan, and a wave of its own, and goes on
 * faster than allowed, the programme is set too steep. In a cold kiln the first swing takes it further. From simulated
 * firings.
 */
const AHEAD_TOLERANCES = 1;
const AHEAD_COLD_C = 20;
const COLD_C = 200;
const COLD_ROUNDS_S = 600;
/** So far above its way, so much faster than allowed, within a minute or two: the largest wave of a hand is 15 °C. From simulated firings. */
const SURGE_C = 18;
const SURGE_RATIO = 3;
const SURGE_OVER_S = 16;
/** A look through the spyhole just before takes off less than this share of the limit; what comes back from a fall fell faster. Ours. */
const RESTS_RATIO = 0.25;
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
  const { schedule, track, trace, glass, segment } = view;
  if (schedule === null || track === null || segment?.kind !== 'ramp' || !track.hasMoved) return undefined;
  const topC = climbTopC(schedule, track.segment);
  if (topC <= track.startC || segment.rateCPerH === 'let-fall') return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  if (isLoneLeap(trace)) return 'unsure';
  if (secondsBetween(view.lidMovedAtMs ?? 0, view.nowMs) < AFTER_LID_S) return undefined;
  const nowC = ruling.last.celsius;
  const limit = climbLimit(schedule, track, nowC, view.nowMs, view.toleranceC);
  if (limit === null) return undefined;
  const limitPerS = perSecond(Math.max(limit.maxCPerH, LEAST_CPERH));
  // Waves that were told once are known: only worse is news. Nor is heat that comes back a second trouble, unless it harms.
  const ownS = sinceToldS(view, ['heating-too-fast']);
  const isKnown = (ownS > 0 && ownS < KNOWN_S) || sinceToldS(view, TOO_LITTLE_HEAT) < COMES_BACK_S;
  const isAhead = !isKnown && isProgrammeAhead(view, nowC, limitPerS);
  // Past a corner of the plan the pace is still that of the ramp before.
  const sinceCornerS = secondsBetween(track.startedAtMs, view.nowMs);
  if (!isAhead && ((track.segment > 0 && sinceCornerS < HARM_OVER_S) || wasShutLately(view))) return undefined;
  const isLit = secondsBetween(view.startedAtMs, view.nowMs) >= AFTER_LIGHTING_S && nowC >= MINDS_FROM_C;
  if (!isAhead && !isLit) return undefined;
  if (!isKnown && isLit && isSurge(view, nowC, limitPerS)) {
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
  // Couple, air and flame leap up with each step of the valve: what harms is the pace of the glass behind them.
  const over = filledLine(glass, SAID_OVER_S);
  const lately = traceLine(glass, LATELY_S) ?? over;
  const long = filledLine(glass, HARM_OVER_S);
  const couple = traceLine(trace, LATELY_S) ?? traceLine(trace, SAID_OVER_S);
  if (over === null || lately === null || couple === null) return undefined;
  const isBorne = limit.why === null && nowC > MEDIUM_GONE_C;
  const isStill = over.perS > limitPerS && lately.perS > limitPerS;
  const isFast = isAhead || (!isBorne && isStill && couple.perS > limitPerS);
  const isHarm = long !== null && long.perS > limitPerS && isStill;
  if (!isFast && !isHarm) return undefined;
  if (isKnown && !(isHarm && long.perS > AGAIN_RATIO * limitPerS)) return undefined;
  const rateCPerH = perHour(isAhead ? couple.perS : over.perS);
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: 'now',
    sensor: ruling.name,
    leadS: isHarm ? 0 : HARM_OVER_S - SAID_OVER_S,
    message: wording.heatingTooFast(view.kiln.heat, nowC, perMinute(rateCPerH)),
    because: wording.heatingBecause(rateCPerH, limit.maxCPerH, limit.why),
  };
}

/** The controller of an electric kiln climbs away from the plan. */
function isProgrammeAhead(view: View, nowC: number, limitPerS: number): boolean {
  const { kiln, schedule, track, trace, toleranceC, rippleC, nowMs } = view;
  if (kiln.heat !== 'electric' || schedule === null || track === null) return false;
  const plannedC = plannedNowC(schedule, track, nowMs);
  const leastC = Math.max(AHEAD_TOLERANCES * toleranceC + rippleC, nowC < COLD_C ? AHEAD_COLD_C : 0);
  if (plannedC === null || nowC < plannedC + leastC) return false;
  // In a kiln that is still cold a relay's rounds are long and steep.
  const rounds = nowC < COLD_C ? filledLine(trace, COLD_ROUNDS_S) : null;
  const long = rounds ?? filledLine(trace, HARM_OVER_S);
  const over = filledLine(trace, SAID_OVER_S);
  const lately = traceLine(trace, LATELY_S) ?? over;
  // What has gone down in the meantime swings in.
  return long !== null && over !== null && lately !== null && Math.min(long.perS, over.perS, lately.perS) > limitPerS;
}

/** The way has bent up as no wave does: a valve opened too far, a pressure that jumped. */
function isSurge({ turn, trace, segment }: View, nowC: number, limitPerS: number): boolean {
  if (turn === null || segment?.kind !== 'ramp' || turn.agoS < SURGE_OVER_S) return false;
  // Where smoke is let off the door is shut near the end, and air and couple leap up by it.
  if (mayStandOpen(segment) && nowC > segment.toC - DOOR_SHUT_FROM_C) return false;
  const isSteep =
    turn.bendPerS > 7 * turn.bendSigmaPerS &&
    turn.beforePerS > -RESTS_RATIO * limitPerS &&
    turn.sincePerS > SURGE_RATIO * limitPerS &&
    turn.offC >= SURGE_C;
  if (!isSteep) return false;
  const swing = swingBefore(trace, turn.agoS, Number.POSITIVE_INFINITY);
  return swing === null || risesBeyond(swing, trace);
}

/** Where smoke was let off until a moment ago, the door has just been shut. */
function wasShutLately(view: View): boolean {
  const { schedule, track } = view;
  if (schedule === null || track === null || track.segment === 0) return false;
  const wasPropped = mayStandOpen(schedule.segments[track.segment - 1]);
  return wasPropped && secondsBetween(track.startedAtMs, view.nowMs) < AFTER_SMOKE_S;
}
