/** It heats faster than medium, paint or glass bear. */
import { perHour, perMinute, perSecond, secondsBetween } from '../numbers/units.ts';
import { climbTopC, mayStandOpen, pacePerS, proppedToC } from '../plan/schedule.ts';
import { glassPaceAhead, plateMmOf } from '../tracking/glass-way.ts';
import { SHUT_S } from '../tracking/heat-wish.ts';
import { hasLookedIn } from '../tracking/look.ts';
import { planBegan, plannedNowC } from '../tracking/plan-track.ts';
import { risesBeyond, swingBefore } from '../tracking/swing.ts';
import {
  celsiusAgo,
  FILLED_RATIO,
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
/** A couple that leapt as the door was shut is back at its pace within three minutes: faster in each of three such stretches, it is none. From simulated firings. */
const CLIMBS_ON_S = 75;
const AFTER_LIGHTING_S = 900;
const LEAST_CPERH = 60;
/** The pace between that of a moment and that of a harmful stretch. */
const BETWEEN_S = 180;
/**
 * A controller goes by its programme: where it runs ahead of the plan by this share of the tolerance and a wave of its own,
 * faster than its limit, and its harmful stretch is at this share of that and so many times the ramp's own pace, the programme
 * is set too steep. What a surge or a round of the relay brings has lost more than the last share of its pace within that
 * stretch. From simulated firings.
 */
const AHEAD_RATIO = 0.75;
const PROGRAMME_RATIO = 0.7;
const STEEPER_RATIO = 1.25;
const KEEPS_RATIO = 0.9;
const ALMOST_RATIO = 0.88;
const ANOTHER_RATIO = 1.5;
/** Lines of a minute, of three and of five have settled it. */
const PROGRAMME_DELAY_S = 8;
/** Cooler a relay's rounds are long and steep: over so long, or since the plan began, it must be too fast as well. From simulated firings. */
const STEEP_ROUNDS_C = 250;
const COLD_ROUNDS_S = 600;
/**
 * Cooler still a controller does not know its kiln yet. No first surge is what has come so far ahead in that time, nor what
 * climbs so many times faster than allowed all through a harmful stretch, without slowing down. From simulated firings.
 */
const FIRST_SURGE_C = 100;
const AHEAD_COLD_C = 20;
const FIRST_SURGE_RATIO = 1.4;
/**
 * A hand goes in waves, one as high as the next: a climb that gets no slower is none of them where it is steeper, by these ratios
 * over five and over three minutes, than this firing has been over any five so far. By then the last minute is over the limit, and
 * five are close to it. What a hand does for half a minute it may take back. From simulated firings.
 */
const BEYOND_RATIO = 1.15;
const WELL_BEYOND_RATIO = 1.3;
const OVER_LIMIT_RATIO = 1.05;
const NEAR_LIMIT_RATIO = 0.8;
const HASTY_DELAY_S = 25;
/** Cooler a flame that was lit an hour ago has not shown its waves yet. From simulated firings. */
const WAVES_FROM_C = 200;
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
  const leastLimit = surgeLimit(climb, nowC, middleC);
  const wasShut = wasShutLately(view) && (leastLimit === null || !hasClimbedOn(view, limitPerSOf(leastLimit)));
  const hastyLimit = isKnown || wasShut ? null : leastLimit;
  const hastyLimitPerS = hastyLimit === null ? Number.POSITIVE_INFINITY : limitPerSOf(hastyLimit);
  const isAhead = !wasShut && isProgrammeAhead(view, { lately, steady }, hastyLimitPerS);
  const isLit = secondsBetween(view.startedAtMs, nowMs) >= AFTER_LIGHTING_S && nowC >= MINDS_FROM_C;
  const minds = isLit && !wasShut;
  // Couple, air and flame leap up with each step of the valve: what harms is the pace of the glass behind them.
  const isFast = minds && lately.perS > limitPerS && glassPace(view, lately.atEndC, perS, SOON_S) > limitPerS;
  const isSurging = minds && bendsUp(view.turn) && isSurge(view, lately, hastyLimitPerS);
  const isHasty = minds && isBeyondItsWaves(view, { lately, steady }, hastyLimitPerS);
  if (!isAhead && !isFast && !isSurging && !isHasty) return undefined;
  // A controller has answered the dip with all it has, and takes it back within a minute.
  if (view.kiln.heat === 'electric' && hasLookedIn(trace)) return 'unsure';
  const harmPerS = filledLine(glass, HARM_OVER_S)?.perS ?? 0;
  const isHarm = harmPerS > limitPerS;
  if (isKnown && harmPerS < AGAIN_RATIO * limitPerS) return undefined;
  const told = isFast ? limit : (hastyLimit ?? limit);
  const rateCPerH = perHour(isSurging ? Math.max(lately.perS, view.turn?.sincePerS ?? 0) : lately.perS);
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: 'now',
    sensor: ruling.name,
    // What a hand has opened stays open; a controller may take it back within seconds.
    onDelayS: onDelayS({ isAhead, isSurging: isSurging && view.kiln.heat === 'gas', isHasty: isHasty && !isFast }),
    leadS: isHarm ? 0 : isSurging ? BENT_AHEAD_S : SOON_S,
    message: wording.heatingTooFast(view.kiln.heat, nowC, perMinute(rateCPerH)),
    because: wording.heatingBecause(rateCPerH, told.maxCPerH, told.why),
  };
}

function onDelayS(is: {
  readonly isAhead: boolean;
  readonly isSurging: boolean;
  readonly isHasty: boolean;
}): number | undefined {
  if (is.isSurging) return SURGING_DELAY_S;
  if (is.isAhead) return PROGRAMME_DELAY_S;
  return is.isHasty ? HASTY_DELAY_S : undefined;
}

/** Of the last minute, and of a harmful stretch. */
interface Paces {
  readonly lately: TraceLine;
  readonly steady: TraceLine;
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

/** The controller of an electric kiln climbs away from the plan, and keeps at it. */
function isProgrammeAhead(view: View, { lately, steady }: Paces, limitPerS: number): boolean {
  const { kiln, schedule, track, trace, segment, toleranceC, rippleC, nowMs } = view;
  const wantedPerS = pacePerS(segment);
  if (kiln.heat !== 'electric' || schedule === null || track === null || wantedPerS === null) return false;
  const plannedC = plannedNowC(schedule, track, nowMs);
  if (plannedC === null || lately.atEndC < plannedC + AHEAD_RATIO * toleranceC + rippleC) return false;
  const leastPerS = Math.max(PROGRAMME_RATIO * limitPerS, STEEPER_RATIO * wantedPerS);
  const betweenPerS = traceLine(trace, BETWEEN_S)?.perS ?? 0;
  // What climbs half faster than its plan has another programme, also where the medium's limit is a little higher still.
  const tooSteepPerS = Math.min(limitPerS, Math.max(ALMOST_RATIO * limitPerS, ANOTHER_RATIO * wantedPerS));
  if (Math.min(lately.perS, betweenPerS) < tooSteepPerS || lately.perS < KEEPS_RATIO * steady.perS) return false;
  // The glass as it is reckoned knows nothing of the couple's own lag: it lies halfway between.
  const glassPerS = glassPace(view, lately.atEndC, Math.min(lately.perS, steady.perS), SOON_S);
  if ((steady.perS + glassPerS) / 2 < leastPerS) return false;
  return goesOn(view, { lately, steady }, limitPerS, lately.atEndC - plannedC);
}

/** Neither the first surge of a cold kiln nor a round of its relay, which are as steep for minutes. */
function goesOn({ track, trace, nowMs }: View, { lately, steady }: Paces, limitPerS: number, aheadC: number): boolean {
  if (track === null || lately.atEndC >= STEEP_ROUNDS_C) return true;
  const beganS = secondsBetween(planBegan(track).startedAtMs, nowMs);
  if ((traceLine(trace, Math.min(COLD_ROUNDS_S, beganS))?.perS ?? 0) <= limitPerS) return false;
  if (lately.atEndC >= FIRST_SURGE_C || (beganS >= COLD_ROUNDS_S && aheadC >= AHEAD_COLD_C)) return true;
  const isFlagging = lately.perS < (traceLine(trace, BETWEEN_S)?.perS ?? 0);
  return beganS >= FILLED_RATIO * HARM_OVER_S && !isFlagging && steady.perS >= FIRST_SURGE_RATIO * limitPerS;
}

/** A hand climbs faster than glass and medium bear, and faster than any of its waves has been. */
function isBeyondItsWaves(
  { kiln, segment, trace, steepestRatio }: View,
  { lately, steady }: Paces,
  limitPerS: number,
): boolean {
  const wantedPerS = pacePerS(segment);
  if (kiln.heat === 'electric' || wantedPerS === null || steepestRatio === null) return false;
  if (lately.atEndC < WAVES_FROM_C) return false;
  if (lately.perS < OVER_LIMIT_RATIO * limitPerS || steady.perS < NEAR_LIMIT_RATIO * limitPerS) return false;
  const wavesPerS = steepestRatio * wantedPerS;
  const betweenPerS = traceLine(trace, BETWEEN_S)?.perS ?? 0;
  return (
    lately.perS > betweenPerS && betweenPerS > WELL_BEYOND_RATIO * wavesPerS && steady.perS > BEYOND_RATIO * wavesPerS
  );
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
  if (schedule === null || track === null || mayStandOpen(segment)) return false;
  const airedToC = proppedToC(schedule, track.segment);
  if (airedToC === null) return false;
  const thenC = celsiusAgo(trace, SHUT_S);
  return secondsBetween(track.startedAtMs, nowMs) < SHUT_S || (thenC !== null && thenC < airedToC);
}

/** Of a controller's programme only: a hand has its kiln before it when it shuts the door, and takes it back by itself. */
function hasClimbedOn({ kiln, trace }: View, limitPerS: number): boolean {
  if (kiln.heat === 'gas') return false;
  const paces = [0, 1, 2].map((i) => traceLine(trace, (i + 1) * CLIMBS_ON_S, i * CLIMBS_ON_S)?.perS ?? 0);
  return Math.min(...paces) > limitPerS && (paces[0] ?? 0) >= KEEPS_RATIO * Math.max(...paces);
}
