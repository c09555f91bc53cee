/**
 * Recognises that heat has gone though the plan wants it, or that heat goes in though nobody should want it: by the way
 * of the temperature alone, since a flame, a fuse and a relay have no instrument of their own.
 */
import { perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { type Swing, swingBefore } from './swing.ts';
import {
  celsiusAgo,
  filledLine,
  latelyLine,
  momentLine,
  type Trace,
  type TraceBin,
  type TraceLine,
  traceLine,
} from './trace.ts';
import type { Turn, Turns } from './turn.ts';

/** What the plan wants of the heat now. */
export type HeatWish =
  /** A climb, with more than the last degrees to go. */
  | 'climb'
  /** The last degrees of a climb, where hand or controller turn down. */
  | 'arrival'
  /** A hold. */
  | 'hold'
  /** The last minutes of a hold, when the hand may turn off, and a plan that wants nothing any more. */
  | 'ending'
  /** A fall at a pace that only heat can keep so slow. */
  | 'guided-fall'
  /** Left to fall: no heat at all. */
  | 'fall';

export interface HeatContext {
  readonly heat: 'gas' | 'electric';
  readonly wish: HeatWish;
  /** Of the hold, or of the ramp's end, °C. */
  readonly goalC: number;
  readonly toleranceC: number;
  /** Where the plan itself has a corner, or a lid was moved, the way bends by right: seconds since; Infinity if never. */
  readonly sinceCornerS: number;
  readonly sinceLidS: number;
  readonly sinceLightS: number;
  /** Smoke is let off: the hand works at door, vent and flame. */
  readonly isPropped: boolean;
  readonly plannedC: number | null;
  /** The pace that the plan wants of a climb, °C/s; null where it wants none. */
  readonly wantedPerS: number | null;
  /** The temperature of the hold that catches it on its way down, or has caught it; null where none does. */
  readonly landsOnC: number | null;
  /** Where a guided fall was let go, or a let-fall is caught: a controller swings there; null elsewhere. */
  readonly guidanceFromC: number | null;
  /** The goal lies so far below the plan's top that no colour minds. */
  readonly isFarBelowTop: boolean;
  /** The hottest of this firing so far. */
  readonly peakC: number;
  /** How deep this kiln's temperature usually dips while it is heated. */
  readonly rippleC: number;
}

export interface HeatChange {
  readonly kind: 'gone' | 'unwanted';
  readonly sinceMs: number;
  readonly fromC: number;
  readonly beforePerS: number;
  /** The pace that came of it. */
  readonly sincePerS: number;
  readonly wish: HeatWish;
  /** The steepest it fell over half a minute or so, °C/s, positive. */
  readonly steepestPerS: number;
}

/** Bins further apart than this hold a reading each; the last but one must be off its way by this share of the last. */
const SPARSE_MS = 4000;
const SECOND_RATIO = 0.25;
/**
 * A bend within so many bins, or younger than it is looked at again, may be a step: over this share of its age it has
 * gone on by little.
 */
const STEP_BINS = 5;
const STEP_OVER_RATIO = 0.3;
const STEP_RATIO = 0.87;
/** And of a fall this share has come before the last moments; where bins are closer than this, before the last but one. */
const BEGUN_RATIO = 0.07;
const BEGUN_MS = 7000;
/** So much further than it has swung by itself in the last minutes is news. From simulated firings. */
const BEYOND_RATIO = 1.2;
const BEYOND_C = 0.8;
/**
 * A controller that eases into its hold falls back by its tolerance and a little, within a minute; and after the corner it
 * may swing by the whole tolerance. Common practice, no source.
 */
const ROUNDS_S = 60;
const ROUNDS_C = 2;
const FIRST_SWING_RATIO = 1;
/** It swings in for so long, and what falls in its first swing comes back within so long, or by less in an hour than this share of its °C. */
const SWINGS_IN_S = 600;
const FIRST_SWING_S = 120;
const SWINGS_IN_RATIO = 0.5;
/** Where a fall is caught by a hold, so far above it in tolerances and in °C; far below the top, in any hold. Common practice, no source. */
const LANDS_TOLERANCES = 2;
const LANDS_WITHIN_C = 15;
const SOAK_WITHIN_C = 8;
/** The swing of a controller that has let go, or that catches a fall, shows for so long. */
const GUIDANCE_S = 900;
const CATCH_TOLERANCES = 2;
/** What falls by so many times the pace of its plan has no heat. Ours. */
const UNGUIDED_RATIO = 3;
/** A bend must stand out by so many standard errors; by fewer where in a hold it leads out of the tolerance at once. */
const SURE = 7;
const SURE_OUT = 5;
/**
 * A relay stuck in a hold: at its pace since it bent up it leaves the tolerance within so many seconds. What a sound
 * controller swings in a hold would not in twice as long. From simulated firings.
 */
const RUNS_OUT_S = 30;
const RUNS_OUT_ROSE_C = 1.3;
/** Cold air goes out by itself for so long after a lid was shut. From memory. */
const AFTER_LID_S = 420;
/** So long after a flame went off a couple may come up again, by so much. From memory. */
const FLAME_OFF_S = 720;
const FLAME_OFF_ROSE_C = 8;
/** Currents in the air make a couple wander by less. From simulated firings. */
const FALL_ROSE_C = 3;
/** As far back as the swing after a door's shutting goes. From memory. */
const PROPPED_BACK_S = 420;
/** A climb that has become faster by so many times the plan's pace; and so long after a corner of the plan a controller has swung in. From simulated firings. */
const RUNAWAY_RATIO = 1.9;
const RUNAWAY_CORNER_S = 900;
/** Cooler a relay's rounds are long and steep. From simulated firings. */
const RUNAWAY_FROM_C = 140;
const COLD_C = 250;
const COLD_ROSE_C = 15;
/**
 * A kiln without any heat sheds this share of its °C in an hour, a well walled one less; one that has lost a part of its
 * heat falls at first and then ever less. From simulated firings and from memory.
 */
const SHEDS_RATIO = 0.3;
const SHEDS_SLOWLY_RATIO = 0.15;
const SLOWLY_S = 140;
/** A fall so much steeper, or so deep within moments, is no loss of a part. */
const PLAINLY_RATIO = 0.62;
const PLAINLY_GAS_C = 14;
const PLAINLY_GAS_S = 66;
/** No kiln without heat sheds more than this share of its °C in an hour; cold air is gone, or told as such, after so long. From memory. */
const AIR_RATIO = 1.6;
const AIR_GOES_ON_S = 48;
const STEEP_GOES_ON_S = 40;
/**
 * The share of its °C that an electric kiln sheds in an hour by pure lack of power as it climbs. What has lost a part falls
 * as fast at first, and within two minutes the rest of the elements and the walls hold it; what has lost all of it falls
 * on. It is told after one minute only of a couple so quiet that it surely does. Ours, from three kinds of simulated
 * kilns: two minutes after, 0.8 and more without any power, 0.6 and less with a third or a half of it left; readings so
 * sparse that a minute holds no line look further back, where both fell faster.
 */
const NO_POWER_SOON_S = 60;
const NO_POWER_SOON_RATIO = 0.75;
const NOT_ABATING_RATIO = 0.9;
const NO_POWER_AFTER_S = 100;
const NO_POWER_RATIO = 0.8;
const NO_POWER_SPARSE_RATIO = 1;
const NO_POWER_LONG_RATIO = 0.6;
const NO_POWER_LONG_S = 300;
/**
 * A hand that turns down too far at the top lets it fall by less than this share of its °C in an hour; a flame that is out
 * by more. Of 16 simulated kilns each, 12 and all but one. Ours.
 */
const HAND_RATIO = 0.75;
/** Else it must have gone on for so long. A fall older than the second is looked at again by itself: at its end it keeps this share of its pace. */
const GOES_ON_S = 75;
const LOOKED_AT_AGAIN_S = 40;
const FALLS_ON_RATIO = 0.75;
/** What falls no faster than this share of its °C in an hour has heat. */
export const HEATED_RATIO = 0.12;
const LEVEL_AFTER_S = 200;

export function watchHeat(
  change: HeatChange | null,
  trace: Trace,
  turns: Turns,
  context: HeatContext,
): HeatChange | null {
  const last = trace.bins[trace.bins.length - 1];
  if (last === undefined) return null;
  if (change !== null) return stillSo(change, trace, turns.most, context, last.celsius, last.atMs);
  const { up, down } = turns;
  if (isSure(down, trace, SURE) && !isStep(trace, down) && isGone(down, trace, context, last.celsius))
    return changeOf('gone', down, context);
  if (isSure(up, trace, SURE) && isUnwanted(up, trace, context, last.celsius)) return changeOf('unwanted', up, context);
  if (isSure(up, trace, SURE_OUT) && isRunningOut(up, trace, context, last.celsius)) {
    return changeOf('unwanted', up, context);
  }
  return null;
}

function isSure(turn: Turn | null, trace: Trace, sigmas: number): turn is Turn {
  return turn !== null && Math.abs(turn.bendPerS) >= sigmas * turn.bendSigmaPerS && !isOneReading(trace, turn);
}

function changeOf(kind: HeatChange['kind'], turn: Turn, { wish }: HeatContext): HeatChange {
  return {
    kind,
    sinceMs: turn.atMs,
    fromC: turn.fromC,
    beforePerS: turn.beforePerS,
    sincePerS: turn.sincePerS,
    wish,
    steepestPerS: Math.max(-turn.sincePerS, 0),
  };
}

/** Where readings are sparse a single one off the way makes a bend: a peek at the load, a wild value. A second must agree. */
function isOneReading({ bins }: Trace, turn: Turn): boolean {
  const last = bins[bins.length - 1];
  const second = bins[bins.length - 2];
  if (last === undefined || second === undefined || last.atMs - second.atMs < SPARSE_MS) return false;
  const secondOffC = second.celsius - turn.fromC - (turn.beforePerS * (second.atMs - turn.atMs)) / 1000;
  return Math.abs(secondOffC) < SECOND_RATIO * Math.abs(turn.offC) || Math.sign(secondOffC) !== Math.sign(turn.offC);
}

/** A couple that shows less at once, and goes on as before: what loses its heat falls on from reading to reading. */
function isStep({ bins }: Trace, turn: Turn): boolean {
  const last = bins[bins.length - 1];
  const second = bins[bins.length - 2];
  const third = bins[bins.length - 3];
  if (last === undefined || second === undefined || third === undefined) return true;
  const spacingMs = last.atMs - second.atMs;
  if (turn.agoS > Math.max((STEP_BINS * spacingMs) / 1000, LOOKED_AT_AGAIN_S)) return false;
  const offC = ({ atMs, celsius }: TraceBin): number =>
    celsius - turn.fromC - (turn.beforePerS * (atMs - turn.atMs)) / 1000;
  // Where bins are full of readings a step may lie in the midst of one.
  const begun = spacingMs < BEGUN_MS ? third : second;
  const earlier = bins.findLast((bin) => bin.atMs <= last.atMs - STEP_OVER_RATIO * turn.agoS * 1000) ?? second;
  return offC(earlier) < STEP_RATIO * offC(last) || offC(begun) > BEGUN_RATIO * offC(last);
}

/** How far it must have fallen, in °C, and how fast it must be falling. From the corpus of simulated firings, and from memory. */
function isGone(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { wish, heat, goalC, toleranceC } = context;
  const fellC = Math.min(-turn.sincePerS * turn.agoS, turn.fromC - nowC + 2 * trace.noiseC);
  const swing = swingOf(turn, trace, context);
  const usualC = swing === null ? 1.5 * context.rippleC + 1.5 : context.rippleC;
  const leastC = Math.max(heat === 'gas' ? 5 : 3.2, 5 * trace.noiseC, usualC);
  if (swing !== null && swing.nowC > BEYOND_RATIO * swing.lowestC - Math.max(BEYOND_C, 2 * trace.noiseC)) return false;
  if (turn.sincePerS > -perSecond(90) || fellC < leastC) return false;
  // While a cold kiln is being lit flame and couple are restless, a controller swings in, and nothing is lost yet.
  if (nowC < 100 || (nowC < 200 && context.sinceLightS < 1800)) return false;
  if (!isAllOfIt(turn, trace, context, fellC, nowC)) return false;
  switch (wish) {
    case 'climb':
      // Just after smoke was let off, door and flame are still being set; a door shut lets couple and controller swing up
      // and back, above where they were.
      if (context.isPropped && nowC >= (celsiusAgo(trace, PROPPED_BACK_S) ?? nowC)) return false;
      if (context.sinceCornerS < 240 && turn.beforePerS > perSecond(300)) return fellC > 15;
      return !context.isPropped || (nowC > 150 && turn.agoS >= 100 && fellC > 1.6 * leastC);
    case 'arrival':
    case 'hold': {
      // A hand turns down too far, and turns up again; a controller lets it ripple. Far below the goal neither would.
      const belowC = goalC - nowC;
      if (heat === 'electric') {
        // Its first swing after the corner may take it to the edge of the band; what it does later is known.
        if (wish === 'arrival' && (turn.agoS < ROUNDS_S || fellC < toleranceC + ROUNDS_C)) return false;
        const isKnown = swing !== null && context.landsOnC === null;
        const leastBelowC = Math.max(1.5, (wish === 'hold' && !isKnown ? FIRST_SWING_RATIO : 0.3) * toleranceC);
        if (wish === 'hold' && isSwingingIn(turn, trace, context, swing, nowC)) return false;
        return fellC >= 1.3 * leastC && belowC > leastBelowC && isControllerBehind(turn, belowC, toleranceC);
      }
      const isDeep =
        fellC >= Math.max(16, leastC) ||
        (turn.agoS >= 60 && turn.sincePerS < -perSecond(200) && fellC >= Math.max(8, leastC));
      return isDeep && belowC > 0.5 * toleranceC && shedsNow(trace, HAND_RATIO * nowC);
    }
    case 'guided-fall':
      return isLeftToItself(trace, context, nowC);
    case 'ending':
    case 'fall':
      return false;
  }
}

/** A controller that guides a fall gives heat as soon as the kiln is below its plan; not as it catches it or lets it go. */
function isLeftToItself(trace: Trace, context: HeatContext, nowC: number): boolean {
  const { heat, plannedC, wantedPerS, goalC, toleranceC, guidanceFromC, sinceCornerS } = context;
  if (heat === 'gas' || plannedC === null || wantedPerS === null) return false;
  const isCaught = guidanceFromC === null || sinceCornerS >= GUIDANCE_S;
  const isEnding = plannedC - goalC < wantedPerS * GUIDANCE_S;
  const isBehind = nowC < plannedC - toleranceC && shedsNow(trace, UNGUIDED_RATIO * perHour(wantedPerS));
  return isCaught && !isEnding && isBehind && shedsNow(trace, SHEDS_RATIO * nowC);
}

/** How it has swung since the plan's last corner and the lid's last move, up to the bend. */
function swingOf({ agoS }: Turn, trace: Trace, { sinceCornerS, sinceLidS }: HeatContext): Swing | null {
  return swingBefore(trace, agoS, Math.min(sinceCornerS, sinceLidS));
}

/** It has gone up so far by itself. */
function isWithin(swing: Swing | null, { noiseC }: Trace): boolean {
  return swing !== null && swing.nowC <= BEYOND_RATIO * swing.highestC + Math.max(BEYOND_C, 2 * noiseC);
}

/** A controller that backed off at the top lets it fall as if without power, until its elements are warm again. */
function isSwingingIn(turn: Turn, trace: Trace, context: HeatContext, swing: Swing | null, nowC: number): boolean {
  if (context.sinceCornerS >= SWINGS_IN_S) return false;
  return (swing === null && turn.agoS < FIRST_SWING_S) || !shedsNow(trace, SWINGS_IN_RATIO * nowC);
}

/** Whether it falls by so many °C an hour at this moment. */
function shedsNow(trace: Trace, cPerH: number): boolean {
  const still = momentLine(trace);
  return still !== null && -still.perS >= perSecond(cPerH);
}

/** All of the heat, not a part: an element broken, a gap at the door, a damper that slips let it fall and level out. */
function isAllOfIt(turn: Turn, trace: Trace, { heat, wish }: HeatContext, fellC: number, nowC: number): boolean {
  const { agoS, sincePerS } = turn;
  const still = momentLine(trace);
  const stillPerS = still === null || agoS < LOOKED_AT_AGAIN_S ? sincePerS : still.perS;
  const endPerS = traceLine(trace, 21)?.perS ?? stillPerS;
  const isClimb = wish === 'climb' || wish === 'arrival';
  if (heat === 'electric' && isClimb) return hasNoPower(turn, trace, nowC);
  // In an electric kiln less is a controller that gives too little; that the hold is left is told by itself.
  const isSlow = heat === 'gas' && agoS >= SLOWLY_S;
  if (-stillPerS < perSecond((isSlow ? SHEDS_SLOWLY_RATIO : SHEDS_RATIO) * nowC)) return false;
  if (agoS >= GOES_ON_S) return true;
  const fallsOn = endPerS < FALLS_ON_RATIO * sincePerS;
  const isSteep = -sincePerS >= perSecond(PLAINLY_RATIO * nowC);
  if (heat === 'electric') {
    // What falls faster than any kiln is cold air at the couple: a plug drawn for a look, a draught, a door.
    const leastS = -sincePerS > perSecond(AIR_RATIO * nowC) ? AIR_GOES_ON_S : STEEP_GOES_ON_S;
    return isSteep && agoS >= leastS && fallsOn;
  }
  // A bare couple falls with any change of flame or draught, and at once no further.
  return (fellC >= PLAINLY_GAS_C && agoS <= PLAINLY_GAS_S) || (isSteep && agoS >= LOOKED_AT_AGAIN_S && fallsOn);
}

function hasNoPower({ agoS }: Turn, trace: Trace, nowC: number): boolean {
  const sheds = (line: TraceLine | null, ratio: number, sigmas = 0): boolean =>
    line !== null && -line.perS - sigmas * line.sigmaPerS >= perSecond(ratio * nowC);
  if (agoS < NO_POWER_AFTER_S) {
    const since = traceLine(trace, agoS);
    const end = traceLine(trace, 30);
    if (agoS < NO_POWER_SOON_S || since === null || end === null) return false;
    return end.perS + 2 * end.sigmaPerS < NOT_ABATING_RATIO * since.perS && sheds(end, NO_POWER_SOON_RATIO);
  }
  const minute = traceLine(trace, 60);
  if (minute === null ? sheds(latelyLine(trace), NO_POWER_SPARSE_RATIO) : sheds(minute, NO_POWER_RATIO, 1)) return true;
  return (
    sheds(filledLine(trace, NO_POWER_LONG_S), NO_POWER_LONG_RATIO) && sheds(momentLine(trace), NO_POWER_LONG_RATIO)
  );
}

/** A controller gives heat as soon as it is below its goal: what goes on falling there has none. */
function isControllerBehind(turn: Turn, belowC: number, toleranceC: number): boolean {
  return turn.agoS >= 20 && (turn.sincePerS < -perSecond(240) || belowC > 0.7 * toleranceC);
}

function isUnwanted(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { wish, heat, goalC, toleranceC } = context;
  if (context.sinceLidS < AFTER_LID_S || isLanding(context, nowC) || isGuidanceSwing(turn, context, nowC)) return false;
  const swing = swingOf(turn, trace, context);
  if (isWithin(swing, trace)) return false;
  const roseC = Math.min(turn.sincePerS * turn.agoS, nowC - turn.fromC + 2 * trace.noiseC);
  switch (wish) {
    case 'hold':
      // A controller that swings in goes a little over, and slowly.
      return (
        wasHeld(turn, context) &&
        roseC >= Math.max(3, 5 * trace.noiseC, 1.3 * context.rippleC) &&
        turn.sincePerS >= perSecond(150) &&
        nowC > goalC + heldWithinC(turn, context, swing) + context.rippleC
      );
    case 'guided-fall':
      return (
        // A controller that guides the fall ripples as in a climb.
        roseC >= Math.max(4, 5 * trace.noiseC, 1.5 * context.rippleC + 2) &&
        turn.sincePerS >= perSecond(120) &&
        nowC > goalC + toleranceC &&
        context.plannedC !== null &&
        nowC > context.plannedC + 1.5
      );
    case 'fall':
      // As flame and damper are shut a bare couple falls at once, and the walls heat it again.
      if (heat === 'gas' && context.sinceCornerS < FLAME_OFF_S && roseC < FLAME_OFF_ROSE_C) return false;
      return (
        nowC > 200 &&
        nowC < context.peakC - 15 &&
        turn.beforePerS < -perSecond(25) &&
        roseC >= Math.max(FALL_ROSE_C, 5 * trace.noiseC) &&
        turn.sincePerS >= perSecond(50) &&
        turn.bendPerS >= perSecond(100) &&
        turn.beforePerS > -perSecond(1200)
      );
    case 'climb':
    case 'arrival':
      return isRunaway(turn, roseC, trace, context, nowC);
    case 'ending':
      return false;
  }
}

/** By hand the flame is turned up and down; only a controller's heat can be stuck, and only where it held is that told. */
function wasHeld({ beforePerS, fromC }: Turn, { heat, wish, goalC, toleranceC }: HeatContext): boolean {
  const isLevel = beforePerS < perSecond(100) && beforePerS > -perSecond(150) && fromC < goalC + toleranceC;
  return heat === 'electric' && wish === 'hold' && isLevel;
}

/** Down at the hold that catches it a controller swings in by far more than at the top, and no colour minds. */
function isLanding({ landsOnC, toleranceC, rippleC }: HeatContext, nowC: number): boolean {
  return landsOnC !== null && nowC < landsOnC + Math.max(LANDS_TOLERANCES * toleranceC, LANDS_WITHIN_C) + rippleC;
}

/** Where a fall is let go or caught a controller swings, and as far above as it has come below. */
function isGuidanceSwing({ fromC }: Turn, context: HeatContext, nowC: number): boolean {
  const { guidanceFromC, sinceCornerS, toleranceC, wish } = context;
  if (guidanceFromC === null || sinceCornerS >= GUIDANCE_S) return false;
  const belowC = wish === 'guided-fall' ? Math.min(guidanceFromC - fromC, CATCH_TOLERANCES * toleranceC) : 0;
  return nowC < guidanceFromC + Math.max(toleranceC, belowC);
}

/** How far above its hold a sound controller goes: by more where it swings in from below, and far below the top. */
function heldWithinC(turn: Turn, { goalC, toleranceC, isFarBelowTop }: HeatContext, swing: Swing | null): number {
  if (isFarBelowTop) return Math.max(toleranceC, SOAK_WITHIN_C);
  return (swing === null && turn.fromC < goalC ? 1 : 0.5) * toleranceC;
}

function isRunningOut(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { goalC, toleranceC, sinceLidS } = context;
  if (sinceLidS < AFTER_LID_S || isLanding(context, nowC) || !wasHeld(turn, context)) return false;
  const swing = swingOf(turn, trace, context);
  return (
    !isWithin(swing, trace) &&
    (swing !== null || turn.fromC >= goalC) &&
    nowC > goalC + 0.25 * toleranceC &&
    nowC + turn.sincePerS * RUNS_OUT_S > goalC + toleranceC &&
    turn.offC >= Math.max(RUNS_OUT_ROSE_C, 2.5 * trace.noiseC, swing === null ? context.rippleC : 0)
  );
}

/** A controller that went along with its plan does not run ahead of it: a relay stuck, its couple out of the kiln. */
function isRunaway(turn: Turn, roseC: number, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { heat, wantedPerS, plannedC, toleranceC, rippleC } = context;
  if (heat === 'gas' || wantedPerS === null || plannedC === null) return false;
  if (nowC < RUNAWAY_FROM_C || context.sinceCornerS < RUNAWAY_CORNER_S) return false;
  const went = turn.beforePerS / wantedPerS;
  return (
    turn.agoS >= 12 &&
    went > 0.6 &&
    went < 1.3 &&
    turn.bendPerS > Math.max(RUNAWAY_RATIO * wantedPerS, perSecond(130)) &&
    roseC >= Math.max(nowC < COLD_C ? COLD_ROSE_C : 4, 5 * trace.noiseC, 1.5 * rippleC + 2) &&
    nowC > plannedC + Math.max(0.6 * toleranceC, 1.2 * rippleC)
  );
}

/** It lasts until the temperature itself goes the other way again. */
function stillSo(
  change: HeatChange,
  trace: Trace,
  turn: Turn | null,
  context: HeatContext,
  nowC: number,
  nowMs: number,
): HeatChange | null {
  const lately = latelyLine(trace);
  const latelyPerS = lately?.perS ?? change.sincePerS;
  const sincePerS =
    turn !== null && Math.sign(turn.sincePerS) === Math.sign(change.sincePerS) ? turn.sincePerS : change.sincePerS;
  const next = { ...change, sincePerS, steepestPerS: Math.max(change.steepestPerS, -sincePerS) };
  if (change.kind === 'gone') {
    const isOver = context.wish === 'fall' || (context.wish === 'guided-fall' && change.wish !== 'guided-fall');
    const isBack = latelyPerS > perSecond(60) || nowC > change.fromC;
    return isOver || isBack || hasLevelled(next, trace, nowC, nowMs) ? null : next;
  }
  const isFalling = latelyPerS < (context.wish === 'fall' ? -perSecond(40) : -perSecond(20));
  const isClimb = context.wish === 'climb' || context.wish === 'arrival';
  if (isClimb && latelyPerS < (context.wantedPerS ?? 0)) return null;
  const isLevel = context.wish === 'hold' && Math.abs(nowC - context.goalC) < 0.5 * context.toleranceC;
  return isFalling || (isLevel && secondsBetween(change.sinceMs, nowMs) > 120) ? null : next;
}

/** It falls so little that heat must go in after all. */
function hasLevelled({ sinceMs }: HeatChange, trace: Trace, nowC: number, nowMs: number): boolean {
  if (secondsBetween(sinceMs, nowMs) < LEVEL_AFTER_S) return false;
  const over = traceLine(trace, 120) ?? traceLine(trace, 240);
  return over !== null && over.perS - 2 * over.sigmaPerS > -perSecond(HEATED_RATIO * nowC);
}

export function changeRateCPerH(change: HeatChange): number {
  return perHour(change.sincePerS);
}
