/**
 * How deep the temperature of this kiln usually dips while it climbs or holds: the ripple of a relay, the waves of a hand
 * at the valve. What dips no deeper than usual is no news.
 */
import type { TimedC } from '../numbers/line-fit.ts';

export interface Ripple {
  /** The last high, and the lowest since. */
  readonly highC: number;
  readonly highAtMs: number;
  readonly lowC: number;
  /** The usual depth, °C. */
  readonly usualC: number;
}

/** Without a new high for so long the way counts as level from here on. */
const LEVEL_MS = 12 * 60_000;
/** A dip that stays away is half forgotten after so long. Ours. */
const HALF_FORGOTTEN_MS = 20 * 60_000;
/** More than this is no ripple: an opened door, a flame that was out. From memory. */
const MOST_C = 30;

export function startRipple(now: TimedC): Ripple {
  return highAt(now, 0);
}

function highAt({ atMs, celsius }: TimedC, usualC: number): Ripple {
  return { highC: celsius, highAtMs: atMs, lowC: celsius, usualC };
}

/** @param now mean of a few seconds, so that noise is no ripple. @param isHeated false where the plan lets it fall */
export function watchRipple(ripple: Ripple, now: TimedC, isHeated: boolean): Ripple {
  if (!isHeated) return highAt(now, ripple.usualC);
  if (now.celsius < ripple.highC && now.atMs - ripple.highAtMs < LEVEL_MS) {
    return now.celsius < ripple.lowC ? { ...ripple, lowC: now.celsius } : ripple;
  }
  const dipC = ripple.highC - ripple.lowC;
  const isRipple = dipC > 0.5 && dipC < MOST_C;
  const knownC = ripple.usualC * 0.5 ** ((now.atMs - ripple.highAtMs) / HALF_FORGOTTEN_MS);
  return highAt(now, isRipple ? Math.max(dipC, knownC) : knownC);
}
