/** What the ruling sensor's last minutes say of the heat: the trace, its bends, its ripple, and heat gone or unwanted. */
import type { TimedC } from '../numbers/line-fit.ts';
import type { Schedule } from '../plan/schedule.ts';
import { followGlass } from './glass-way.ts';
import { type HeatChange, watchHeat } from './heat-change.ts';
import { type HeatContext, heatContext } from './heat-wish.ts';
import type { PlanTrack } from './plan-track.ts';
import { type Ripple, startRipple, watchRipple } from './ripple.ts';
import { steepestRatio } from './steepest.ts';
import { extendTrace, NO_TRACE, type Trace, type TraceBin } from './trace.ts';
import { findTurns, type Turn } from './turn.ts';

export interface HeatTrack {
  readonly trace: Trace;
  /** The way of the glass behind it, as it is reckoned. */
  readonly glass: Trace;
  /** Where the way has lately bent most. */
  readonly turn: Turn | null;
  readonly ripple: Ripple | null;
  /** How many times the plan's pace a hand has climbed at most; see `steepest.ts`. */
  readonly steepestRatio: number | null;
  readonly change: HeatChange | null;
}

export const NO_HEAT_TRACK: HeatTrack = {
  trace: NO_TRACE,
  glass: NO_TRACE,
  turn: null,
  ripple: null,
  steepestRatio: null,
  change: null,
};

interface Known {
  readonly heat: 'gas' | 'electric';
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  readonly toleranceC: number;
  readonly lidMovedAtMs: number | null;
  readonly peakC: number;
  readonly plateMm?: number | undefined;
  /** Readings have paused: what was before says nothing of bends. */
  readonly hasPaused: boolean;
}

/** Carries on by one good reading of the ruling sensor. */
export function trackHeat(before: HeatTrack, now: TimedC, known: Known): HeatTrack {
  const trace = extendTrace(known.hasPaused ? NO_TRACE : before.trace, now);
  const turns = findTurns(trace);
  const context = heatContext(known.schedule, known.track, {
    heat: known.heat,
    toleranceC: known.toleranceC,
    lidMovedAtMs: known.lidMovedAtMs,
    nowMs: now.atMs,
    nowC: now.celsius,
    peakC: known.peakC,
    rippleC: before.ripple?.usualC ?? 0,
  });
  const change = context === null ? null : watchHeat(known.hasPaused ? null : before.change, trace, turns, context);
  const bin = newBin(before.trace, trace);
  const glass = known.hasPaused ? NO_TRACE : before.glass;
  return {
    trace,
    glass: bin === null ? glass : followGlass(glass, bin, known.plateMm),
    turn: turns.most,
    ripple: bin === null ? before.ripple : nextRipple(before.ripple, bin, context),
    steepestRatio:
      bin === null || known.heat === 'electric'
        ? before.steepestRatio
        : steepestRatio(before.steepestRatio, trace, known.schedule, known.track),
    change,
  };
}

/** The bin that has just been filled. */
function newBin(before: Trace, trace: Trace): TraceBin | null {
  const isNew = trace.bins[trace.bins.length - 1]?.beganAtMs !== before.bins[before.bins.length - 1]?.beganAtMs;
  return isNew ? (trace.bins[trace.bins.length - 2] ?? null) : null;
}

/** Goes on with the mean of each bin that has been filled. */
function nextRipple(ripple: Ripple | null, bin: TraceBin, context: HeatContext | null): Ripple {
  const isHeated = context !== null && context.wish !== 'fall' && context.wish !== 'guided-fall';
  return watchRipple(ripple ?? startRipple(bin), bin, isHeated);
}
