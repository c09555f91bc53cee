/** What the ruling sensor's last minutes say of the heat: the trace, its bends, its ripple, and heat gone or unwanted. */
import type { TimedC } from '../numbers/line-fit.ts';
import type { Schedule } from '../plan/schedule.ts';
import { type HeatChange, watchHeat } from './heat-change.ts';
import { type HeatContext, heatContext } from './heat-wish.ts';
import type { PlanTrack } from './plan-track.ts';
import { type Ripple, startRipple, watchRipple } from './ripple.ts';
import { extendTrace, NO_TRACE, type Trace } from './trace.ts';
import { findTurns, type Turn } from './turn.ts';

export interface HeatTrack {
  readonly trace: Trace;
  /** Where the way has lately bent most. */
  readonly turn: Turn | null;
  readonly ripple: Ripple | null;
  readonly change: HeatChange | null;
}

export const NO_HEAT_TRACK: HeatTrack = { trace: NO_TRACE, turn: null, ripple: null, change: null };

interface Known {
  readonly heat: 'gas' | 'electric';
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  readonly toleranceC: number;
  readonly lidMovedAtMs: number | null;
  readonly peakC: number;
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
  return { trace, turn: turns.most, change, ripple: nextRipple(before, trace, context) };
}

/** Goes on with the mean of each bin that has been filled. */
function nextRipple(before: HeatTrack, trace: Trace, context: HeatContext | null): Ripple | null {
  const bin = trace.bins[trace.bins.length - 2];
  const isNew =
    trace.bins[trace.bins.length - 1]?.beganAtMs !== before.trace.bins[before.trace.bins.length - 1]?.beganAtMs;
  if (bin === undefined || !isNew) return before.ripple;
  const isHeated = context !== null && context.wish !== 'fall' && context.wish !== 'guided-fall';
  return watchRipple(before.ripple ?? startRipple(bin), bin, isHeated);
}
