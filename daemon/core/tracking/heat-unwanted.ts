/** Recognises that heat goes in though nobody should want it: a relay stuck, a programme begun again, a valve not shut. */
import { perSecond } from '../numbers/units.ts';
import { type HeatContext, swingUpTo } from './heat-wish.ts';
import { risesBeyond, type Swing } from './swing.ts';
import type { Trace } from './trace.ts';
import type { Turn } from './turn.ts';

/** Where a fall is caught by a hold, so far above it in tolerances and in °C; far below the top, in any hold. Common practice, no source. */
const LANDS_TOLERANCES = 2;
const LANDS_WITHIN_C = 15;
const SOAK_WITHIN_C = 8;
/** The swing of a controller that has let go, or that catches a fall, shows for so long. */
const GUIDANCE_S = 900;
const CATCH_TOLERANCES = 2;
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
/** A climb that has become faster by so many times the plan's pace; and so long after a corner of the plan a controller has swung in. From simulated firings. */
const RUNAWAY_RATIO = 1.9;
const RUNAWAY_CORNER_S = 900;
/** Cooler a relay's rounds are long and steep. From simulated firings. */
const RUNAWAY_FROM_C = 140;
const COLD_C = 250;
const COLD_ROSE_C = 15;
export function isUnwanted(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { wish, heat, goalC, toleranceC } = context;
  if (context.sinceLidS < AFTER_LID_S || isLanding(context, nowC) || isGuidanceSwing(turn, context, nowC)) return false;
  const swing = swingUpTo(turn, trace, context);
  if (swing !== null && !risesBeyond(swing, trace)) return false;
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

export function isRunningOut(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { goalC, toleranceC, sinceLidS } = context;
  if (sinceLidS < AFTER_LID_S || isLanding(context, nowC) || !wasHeld(turn, context)) return false;
  const swing = swingUpTo(turn, trace, context);
  return (
    (swing === null ? turn.fromC >= goalC : risesBeyond(swing, trace)) &&
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
