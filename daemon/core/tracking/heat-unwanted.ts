/** Recognises that heat goes in though nobody should want it: a relay stuck, a programme begun again, a valve not shut. */
import { perSecond, secondsBetween } from '../numbers/units.ts';
import { ANNEALS_FROM_C } from '../plan/schedule.ts';
import { type HeatContext, type Held, swingUpTo } from './heat-wish.ts';
import { beyondC, risesBeyond, type Swing, swingBefore } from './swing.ts';
import { momentLine, type Trace, traceLine } from './trace.ts';
import { type Turn, wentC } from './turn.ts';

/**
 * Where a fall is caught by a hold, so far above it in tolerances and in °C; a hand that lights
 * again does so early and turns down after. Far below the top, in any hold. Common practice, no source.
 */
const LANDS_TOLERANCES = 2;
const LANDS_WITHIN_C = { electric: 20, gas: 30 } as const;
const SOAK_WITHIN_C = 8;
/** The swing of a controller that has let go, or that catches a fall, shows for so long. */
const GUIDANCE_S = 900;
const CATCH_TOLERANCES = 2;
const RIPPLES = 1.2;
/**
 * A relay stuck in a hold: at its pace since it bent up it leaves the tolerance within so many seconds, and has come
 * through this share of it. What a sound controller swings in a hold would not in twice as long. From simulated firings.
 */
const RUNS_OUT_S = 30;
const RUNS_OUT_RATIO = 0.2;
/** So much of the tolerance above its goal, and above all that the hold has been, is a new high. From simulated firings. */
const NEW_HIGH_RATIO = 0.25;
/** Cold air goes out by itself for so long after a lid was shut. From memory. */
const AFTER_LID_S = 420;
/** By so much a couple comes up again by its walls while the glass minds, as flame, damper or door is shut. From simulated firings. */
const BY_WALLS_C = 15;
/** Currents in the air make a couple wander by less, or for less long. From simulated firings. */
const FALL_ROSE_C = 3;
const FALL_ROSE_S = 12;
/** An older rise that goes on over its end at less than this share of its pace has flattened. Ours. */
const FLATTENS_AFTER_S = 40;
const FLATTENS_OVER_S = 21;
const FLATTENS_RATIO = 0.5;
/** A look lasts so long at most; the way before it is taken over this. Common practice, no source. */
const LOOK_S = 100;
const LOOKED_BACK_S = 240;
/**
 * A climb that has become faster by so many times the plan's pace, ahead of its plan; or by so many that no controller
 * catches up so which has kept that pace until now, however far behind its plan. From simulated firings.
 */
const RUNAWAY_RATIO = 1.9;
const SURGE_RATIO = 3;
const KEPT_S = 600;
/** So near the end of the stretch in which smoke is let off the hand shuts the door, and the couple comes up to the walls. Common practice, no source. */
const SHUTS_WITHIN_C = 25;
const RUNAWAY_FROM_C = 140;

export function isHeatUnwanted(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  if (context.sinceLidS < AFTER_LID_S || isLanding(context, nowC) || !isStillRising(turn, trace)) return false;
  if (isStuckInHold(turn, trace, context, nowC)) return true;
  if (isGuidanceSwing(turn, trace, context, nowC)) return false;
  const swing = swingUpTo(turn, trace, context);
  return isAgainstWish(turn, trace, context, swing, nowC) && (swing === null || risesBeyond(swing, trace));
}

function isAgainstWish(turn: Turn, trace: Trace, context: HeatContext, swing: Swing | null, nowC: number): boolean {
  const { wish, heat, goalC, toleranceC } = context;
  switch (wish) {
    case 'guided-fall':
      return (
        // A controller that guides the fall ripples as in a climb.
        fallRiseC(turn, trace, context, nowC) >= Math.max(4, 5 * trace.noiseC, 1.5 * context.rippleC + 2) &&
        turn.sincePerS >= perSecond(120) &&
        nowC > goalC + toleranceC &&
        context.plannedC !== null &&
        nowC > context.plannedC + 1.5
      );
    case 'fall': {
      const roseC = fallRiseC(turn, trace, context, nowC);
      // A flame that is out lights no more by itself; and further down no glass minds, and more comes up by the walls.
      if (heat === 'gas' && (nowC < ANNEALS_FROM_C || roseC < BY_WALLS_C)) return false;
      return (
        turn.agoS >= FALL_ROSE_S &&
        nowC > 200 &&
        nowC < context.peakC - 15 &&
        turn.beforePerS < -perSecond(25) &&
        roseC >= Math.max(FALL_ROSE_C, 5 * trace.noiseC) &&
        turn.sincePerS >= perSecond(50) &&
        turn.bendPerS >= perSecond(100) &&
        turn.beforePerS > -perSecond(1200)
      );
    }
    case 'climb':
    case 'arrival':
      return swing !== null && isRunaway(turn, trace, context, swing, nowC);
    case 'hold':
    case 'ending':
      return false;
  }
}

/** A controller that swings in goes a little over, and slowly. */
function isStuckInHold(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { held, rippleC } = context;
  if (held === null || !wasHeld(turn, context, held)) return false;
  const leastC = Math.max(3, 5 * trace.noiseC, 1.3 * rippleC);
  if (turn.sincePerS < perSecond(150) || wentC(turn, 1, trace.noiseC, nowC) < leastC) return false;
  const swing = heldSwing(turn, trace, context, held);
  if (swing !== null && !risesBeyond(swing, trace)) return false;
  if (nowC <= held.goalC + heldWithinC(turn, context, held, swing) + rippleC) return false;
  return isNewHigh(turn, trace, context, held, nowC);
}

export function isRunningOut(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { held, toleranceC, rippleC, sinceLidS } = context;
  if (held === null || sinceLidS < AFTER_LID_S || isLanding(context, nowC) || !wasHeld(turn, context, held))
    return false;
  // Far below the top a controller swings out of the tolerance, and no colour minds: what goes further is stuck.
  if (held.isFarBelowTop) return false;
  const isLeaving =
    nowC + turn.sincePerS * RUNS_OUT_S > held.goalC + toleranceC &&
    turn.offC >= Math.max(RUNS_OUT_RATIO * toleranceC, 2.5 * trace.noiseC) &&
    isNewHigh(turn, trace, context, held, nowC);
  if (!isLeaving) return false;
  const swing = heldSwing(turn, trace, context, held);
  return swing === null ? turn.fromC >= held.goalC && turn.offC > beyondC(rippleC, trace) : risesBeyond(swing, trace);
}

/** What comes back from a dip to where the hold has been before is no news. */
function isNewHigh({ agoS }: Turn, { bins }: Trace, { toleranceC }: HeatContext, held: Held, nowC: number): boolean {
  const lastMs = bins[bins.length - 1]?.atMs ?? 0;
  let highC = held.goalC;
  for (const { atMs, celsius } of bins) {
    const beforeS = secondsBetween(atMs, lastMs);
    if (beforeS >= agoS && beforeS <= held.sinceS) highC = Math.max(highC, celsius);
  }
  return nowC > highC + NEW_HIGH_RATIO * toleranceC;
}

/** By hand the flame is turned up and down; only a controller's heat can be stuck, and only where it held is that told. */
function wasHeld({ agoS, beforePerS, fromC }: Turn, { heat, toleranceC }: HeatContext, held: Held): boolean {
  const isLevel = beforePerS < perSecond(100) && beforePerS > -perSecond(150) && fromC < held.goalC + toleranceC;
  return heat === 'electric' && isLevel && agoS < held.sinceS;
}

function heldSwing({ agoS }: Turn, trace: Trace, { sinceLidS }: HeatContext, held: Held): Swing | null {
  return swingBefore(trace, agoS, Math.min(held.sinceS, sinceLidS));
}

/** How far above its hold a sound controller goes: by more where it swings in from below, and far below the top. */
function heldWithinC(turn: Turn, context: HeatContext, { goalC }: Held, swing: Swing | null): number {
  const { toleranceC, isFarBelowTop } = context;
  if (isFarBelowTop) return Math.max(toleranceC, SOAK_WITHIN_C);
  return (swing === null && turn.fromC < goalC ? 1 : 0.5) * toleranceC;
}

/** What swings over the top flattens; a heat that is stuck goes on as it began. */
function isStillRising(turn: Turn, trace: Trace): boolean {
  if (turn.agoS < FLATTENS_AFTER_S) return true;
  const end = traceLine(trace, FLATTENS_OVER_S) ?? momentLine(trace);
  return end !== null && end.perS >= FLATTENS_RATIO * turn.sincePerS;
}

/**
 * How far it has risen in a fall. A bend from before belongs to the top; and it counts from the way as it went before a
 * look through the door: what that took down comes up again.
 */
function fallRiseC(turn: Turn, trace: Trace, { sinceCornerS }: HeatContext, nowC: number): number {
  if (turn.agoS > sinceCornerS) return 0;
  const untilS = turn.agoS + LOOK_S;
  const before = traceLine(trace, Math.min(untilS + LOOKED_BACK_S, sinceCornerS), untilS);
  const sinceLookC =
    before === null ? Number.POSITIVE_INFINITY : nowC - before.atEndC - Math.min(before.perS, 0) * untilS;
  return Math.min(wentC(turn, 1, trace.noiseC, nowC), sinceLookC);
}

/** Down at the hold that catches it a controller swings in by far more than at the top, and no colour minds. */
function isLanding({ heat, landsOnC, toleranceC, rippleC }: HeatContext, nowC: number): boolean {
  if (landsOnC === null) return false;
  return nowC < landsOnC + Math.max(LANDS_TOLERANCES * toleranceC, LANDS_WITHIN_C[heat]) + rippleC;
}

/** Where a fall is let go or caught a controller swings: as it did while it guided, and as far above as it has come below. */
function isGuidanceSwing(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { guidanceFromC, sinceCornerS, toleranceC, rippleC } = context;
  if (guidanceFromC === null || sinceCornerS >= GUIDANCE_S) return false;
  const swungC = guidanceSwingC(turn, trace, context, guidanceFromC);
  return nowC < guidanceFromC + Math.max(toleranceC, swungC, RIPPLES * rippleC);
}

function guidanceSwingC(turn: Turn, trace: Trace, context: HeatContext, guidanceFromC: number): number {
  const { wish, toleranceC, sinceLidS } = context;
  if (wish === 'guided-fall') return Math.min(guidanceFromC - turn.fromC, CATCH_TOLERANCES * toleranceC);
  const guided = wish === 'fall' ? swingBefore(trace, turn.agoS, sinceLidS) : null;
  return guided === null ? 0 : guided.highestC - guided.lowestC;
}

/**
 * A controller that went along with its plan does not run ahead of it, nor away from its own way since the last corner: a
 * relay stuck, its couple out of the kiln.
 */
function isRunaway(turn: Turn, trace: Trace, context: HeatContext, swing: Swing, nowC: number): boolean {
  const { heat, wantedPerS, plannedC, toleranceC, rippleC } = context;
  if (heat === 'gas' || wantedPerS === null || plannedC === null || nowC < RUNAWAY_FROM_C) return false;
  if (context.wasPropped || (context.isPropped && nowC > context.goalC - SHUTS_WITHIN_C)) return false;
  if (context.proppedToC !== null && turn.fromC < context.proppedToC) return false;
  const isAhead = nowC > plannedC + Math.max(0.6 * toleranceC, 1.2 * rippleC);
  if (!keepsPace(turn.beforePerS, wantedPerS) || !(isAhead || hasKeptPace(turn, trace, context, wantedPerS)))
    return false;
  const ratio = isAhead ? RUNAWAY_RATIO : SURGE_RATIO;
  return (
    turn.agoS >= 12 &&
    turn.bendPerS > Math.max(ratio * wantedPerS, perSecond(130)) &&
    swing.nowC >= Math.max(3, 5 * trace.noiseC, 1.5 * rippleC + 2)
  );
}

function keepsPace(perS: number, wantedPerS: number): boolean {
  return perS > 0.6 * wantedPerS && perS < 1.3 * wantedPerS;
}

/** For minutes before the bend: no power came back to a kiln that had lost it, nor did a door shut. */
function hasKeptPace(
  { agoS }: Turn,
  trace: Trace,
  { sinceCornerS, sinceLidS }: HeatContext,
  wantedPerS: number,
): boolean {
  const before = traceLine(trace, Math.min(agoS + KEPT_S, sinceCornerS, sinceLidS), agoS);
  return before !== null && keepsPace(before.perS, wantedPerS);
}
