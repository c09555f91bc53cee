/** It heats faster than medium, paint or glass bear. */
import { perHour, perMinute, perSecond, secondsBetween } from '../numbers/units.ts';
import { climbTopC, mayStandOpen, pacePerS, targetC } from '../plan/schedule.ts';
import { glassPaceAhead, plateMmOf } from '../tracking/glass-way.ts';
import { hasLookedIn } from '../tracking/look.ts';
import { planBegan, plannedNowC } from '../tracking/plan-track.ts';
import { risesBeyond, swingBefore } from '../tracking/swing.ts';
import {
  celsiusAgo,
  filledLine,
  isLoneLeap,
  latelyLine,
  type Trace,
  type TraceLine,
  traceLine,
} from '../tracking/trace.ts';
import type { Turn } from '../tracking/turn.ts';
import { sinceToldS, TOO_LITTLE_HEAT } from './lately.ts';
import { climbLimit, HARM_OVER_S, type Limit, surgeLimit } from './rate-limits.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/**
 * What harms is the pace of the glass over five minutes. A climb is told when it will be too fast in a minute, if the couple
 * goes on as slowly as it has over these five or over the last one; one that has bent up as no wave does, when it will be
 * within three. Ours.
 */
const SOON_S = 60;
const BENT_AHEAD_S = 180;
/** After a lid was shut, or the flame lit, the couple comes up with the air, not the glass. */
const AFTER_LID_S = 300;
/** A door that let the smoke off is shut when the hand comes, and the walls that it cooled take their time. Common practice, no source. */
const AFTER_SMOKE_S = 720;
/** A couple that leapt as the door was shut is back at its pace within three minutes: faster in each of three such stretches, it is none. From simulated firings. */
const CLIMBS_ON_S = 75;
const AFTER_LIGHTING_S = 900;
const LEAST_CPERH = 60;
/**
 * A controller goes by its programme: where it runs so many tolerances ahead of the plan, and a wave of its own, and goes on
 * faster than allowed, the programme is set too steep. In a cold kiln the first swing takes it further. From simulated
 * firings.
 */
const AHEAD_TOLERANCES = 1;
const AHEAD_COLD_C = 20;
/** Cooler a relay's rounds are long and steep. From simulated firings. */
const STEEP_ROUNDS_C = 250;
const COLD_ROUNDS_S = 600;
/**
 * So far above its way: the largest wave of a hand is as high, and a relay's swing as so many usual dips are deep. Where the
 * waves of this hand are known, so many times their height instead, and a small one only if the last moments still climb
 * faster than is borne. From simulated firings.
 */
const SURGE_C = 15;
const SURGE_RIPPLES = 2;
const SURGE_WAVES = 5;
const LEAST_SURGE_C = 5;
const STEEP_OVER_S = 21;
const SURGE_OVER_S = 16;
const SURGES_S = 42;
/** So many standard errors of the bend are beyond doubt, and need hardly stand. Ours. */
const SURE = 14;
const SURGING_DELAY_S = 2;
/** A look through the spyhole just before takes off less than this share of the limit; what comes back from a fall fell faster. Ours. */
const RESTS_RATIO = 0.25;
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
  const { schedule, track, trace, glass, segment, toleranceC, nowMs } = view;
  if (schedule === null || track === null || segment?.kind !== 'ramp' || !track.hasMoved) return undefined;
  const topC = climbTopC(schedule, track.segment);
  if (topC <= track.startC || segment.rateCPerH === 'let-fall') return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  if (isLoneLeap(trace)) return 'unsure';
  if (secondsBetween(view.lidMovedAtMs ?? 0, nowMs) < AFTER_LID_S) return undefined;
  const nowC = ruling.last.celsius;
  const middleC = celsiusAgo(trace, HARM_OVER_S / 2) ?? nowC;
  const climb = { schedule, track, toleranceC, nowMs };
  const limit = climbLimit(climb, nowC, middleC);
  if (limit === null) return undefined;
  const limitPerS = limitPerSOf(limit);
  // Waves that were told once are known: only worse is news. Nor is heat that comes back a second trouble, unless it harms.
  const ownS = sinceToldS(view, ['heating-too-fast']);
  const isKnown = (ownS > 0 && ownS < KNOWN_S) || sinceToldS(view, TOO_LITTLE_HEAT) < COMES_BACK_S;
  const lately = latelyLine(trace);
  const steady = filledLine(trace, HARM_OVER_S);
  if (lately === null || steady === null) return undefined;
  const perS = Math.min(lately.perS, steady.perS);
  const wasShut = wasShutLately(view) && !hasClimbedOn(view, limitPerS);
  const isAhead = !isKnown && !wasShut && isProgrammeAhead(view, nowC, perS, limitPerS);
  const isLit = secondsBetween(view.startedAtMs, nowMs) >= AFTER_LIGHTING_S && nowC >= MINDS_FROM_C;
  const minds = isLit && !wasShut;
  // Couple, air and flame leap up with each step of the valve: what harms is the pace of the glass behind them.
  const isFast = minds && lately.perS > limitPerS && glassPace(view, lately.atEndC, perS, SOON_S) > limitPerS;
  const ofSurge = minds && !isKnown && bendsUp(view.turn) ? surgeLimit(climb, nowC, middleC) : null;
  const isSurging = ofSurge !== null && isSurge(view, lately, limitPerSOf(ofSurge));
  if (!isAhead && !isFast && !isSurging) return undefined;
  // A controller has answered the dip with all it has, and takes it back within a minute.
  if (!isAhead && view.kiln.heat === 'electric' && hasLookedIn(trace)) return 'unsure';
  const harmPerS = filledLine(glass, HARM_OVER_S)?.perS ?? 0;
  const isHarm = harmPerS > limitPerS;
  if (isKnown && harmPerS < AGAIN_RATIO * limitPerS) return undefined;
  const told = isSurging ? ofSurge : limit;
  const rateCPerH = perHour(isSurging ? Math.max(lately.perS, view.turn?.sincePerS ?? 0) : lately.perS);
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: 'now',
    sensor: ruling.name,
    // What a hand has opened stays open; a controller may take it back within seconds.
    onDelayS: isSurging && view.kiln.heat === 'gas' ? SURGING_DELAY_S : undefined,
    leadS: isHarm ? 0 : isSurging ? BENT_AHEAD_S : SOON_S,
    message: wording.heatingTooFast(view.kiln.heat, nowC, perMinute(rateCPerH)),
    because: wording.heatingBecause(rateCPerH, told.maxCPerH, told.why),
  };
}

function limitPerSOf({ maxCPerH }: Limit): number {
  return perSecond(Math.max(maxCPerH, LEAST_CPERH));
}

/** The pace of the glass over a harmful stretch as it will be in `inS`, if the couple goes on from here at this pace, °C/s. */
function glassPace({ schedule, kiln, glass, trace }: View, celsius: number, perS: number, inS: number): number {
  const atMs = trace.bins[trace.bins.length - 1]?.atMs ?? 0;
  return (
    glassPaceAhead(glass, { atMs, celsius, perS }, { overS: HARM_OVER_S, inS, plateMm: plateMmOf(kiln, schedule) }) ?? 0
  );
}

/** The controller of an electric kiln climbs away from the plan. @param perS what has gone down by now swings in */
function isProgrammeAhead(view: View, nowC: number, perS: number, limitPerS: number): boolean {
  const { kiln, schedule, track, trace, toleranceC, rippleC, nowMs } = view;
  if (kiln.heat !== 'electric' || perS <= limitPerS || schedule === null || track === null) return false;
  // The first surge of a cold kiln, whose controller does not know it yet, is no pace.
  if (secondsBetween(planBegan(track).startedAtMs, nowMs) < COLD_ROUNDS_S) return false;
  const plannedC = plannedNowC(schedule, track, nowMs);
  const isCold = nowC < STEEP_ROUNDS_C;
  const leastC = Math.max(AHEAD_TOLERANCES * toleranceC + rippleC, isCold ? AHEAD_COLD_C : 0);
  if (plannedC === null || nowC < plannedC + leastC) return false;
  return !isCold || (filledLine(trace, COLD_ROUNDS_S)?.perS ?? 0) > limitPerS;
}

function bendsUp(turn: Turn | null): boolean {
  if (turn === null || turn.agoS < SURGE_OVER_S || turn.offC < LEAST_SURGE_C) return false;
  return turn.bendPerS >= SURE * turn.bendSigmaPerS;
}

/** The way has bent up as no wave does, and the glass will come after: a valve opened too far, a pressure that jumped. */
function isSurge(view: View, lately: TraceLine, limitPerS: number): boolean {
  const { kiln, turn, trace, rippleC } = view;
  if (turn === null || turn.beforePerS < -RESTS_RATIO * limitPerS) return false;
  // Where readings are dense the last moments show how it goes on; where they are sparse, all since the bend.
  const sincePerS = traceLine(trace, SURGES_S)?.perS ?? turn.sincePerS;
  if (glassPace(view, lately.atEndC, sincePerS, BENT_AHEAD_S) <= limitPerS) return false;
  const swing = swingBefore(trace, turn.agoS, Number.POSITIVE_INFINITY);
  if (swing !== null && !risesBeyond(swing, trace)) return false;
  // Only a hand has waves to go by: a relay's rounds may be few and far between.
  if (kiln.heat === 'electric') return turn.offC >= Math.max(SURGE_C, SURGE_RIPPLES * rippleC);
  const aboveC = aboveWantedC(view, turn);
  if (swing === null) return aboveC >= SURGE_C;
  if (aboveC < Math.max(LEAST_SURGE_C, SURGE_WAVES * swing.highestC)) return false;
  return turn.offC >= SURGE_C || isSteepNow(trace, limitPerS);
}

/** How far it is above its way: a hand that was too slow and turns up comes back to the plan's pace, and that is none of it. */
function aboveWantedC({ segment }: View, { agoS, beforePerS, sincePerS }: Turn): number {
  return (sincePerS - Math.max(beforePerS, pacePerS(segment) ?? beforePerS)) * agoS;
}

function isSteepNow(trace: Trace, limitPerS: number): boolean {
  const steep = traceLine(trace, STEEP_OVER_S);
  return steep !== null && steep.perS - 2 * steep.sigmaPerS > limitPerS;
}

/** Where smoke was let off until a moment ago, by the clock or by what the couple shows, the door has just been shut. */
function wasShutLately({ schedule, track, trace, segment, nowMs }: View): boolean {
  if (schedule === null || track === null || track.segment === 0) return false;
  const before = track.segment - 1;
  if (mayStandOpen(segment) || !mayStandOpen(schedule.segments[before])) return false;
  const thenC = celsiusAgo(trace, AFTER_SMOKE_S);
  return (
    secondsBetween(track.startedAtMs, nowMs) < AFTER_SMOKE_S || (thenC !== null && thenC < targetC(schedule, before))
  );
}

/** Of a controller's programme only: a hand has its kiln before it when it shuts the door, and takes it back by itself. */
function hasClimbedOn({ kiln, trace }: View, limitPerS: number): boolean {
  if (kiln.heat === 'gas') return false;
  return [0, 1, 2].every((i) => (traceLine(trace, (i + 1) * CLIMBS_ON_S, i * CLIMBS_ON_S)?.perS ?? 0) > limitPerS);
}
