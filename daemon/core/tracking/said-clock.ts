/** Whether what a board says is of now, told by the times that it gives itself (requirements C11 to C13). */

/** What is known of the clock behind one sensor. */
export interface SaidClock {
  readonly lastSaidMs: number;
  /** The shortest that a message took, by its clock and ours. It holds how far the two clocks are apart. */
  readonly leastLagMs: number;
}

export type Heard =
  /** `atMs`: when it was measured, on our clock; never later than it arrived. */
  | { readonly is: 'now'; readonly atMs: number; readonly clock: SaidClock }
  /** It is no reading of now. `sentence` is for the person, where something can be mended. */
  | { readonly is: 'late'; readonly reason: string; readonly sentence: string | null };

/** A message that took longer is of earlier: a plan moves a kiln by a degree or two meanwhile. Ours. */
export const LATE_AFTER_S = 30;
/** A clock so far off was never set: it counts from 1970, or from when the board was switched on. Ours. */
const NEVER_SET_MS = 86_400_000;

/**
 * @param arrivedAtMs on our clock
 * @param saidAtMs on the board's
 */
export function judgeSaidTime(clock: SaidClock | null, arrivedAtMs: number, saidAtMs: number): Heard {
  if (isNeverSet(arrivedAtMs - saidAtMs)) return judgeCount(clock, arrivedAtMs, saidAtMs);
  const lagMs = arrivedAtMs - saidAtMs;
  // What was learned of a clock before it was set says nothing of it now.
  const known = clock === null || isNeverSet(clock.leastLagMs) ? null : clock;
  if (known !== null && saidAtMs <= known.lastSaidMs) return notNew(saidAtMs === known.lastSaidMs);
  const leastLagMs = Math.min(lagMs, known?.leastLagMs ?? lagMs);
  const heldBackS = Math.max(lagMs, lagMs - leastLagMs) / 1000;
  if (heldBackS > LATE_AFTER_S) {
    const old = heldBackS < 120 ? `${Math.round(heldBackS)} seconds` : `${Math.round(heldBackS / 60)} minutes`;
    const sentence = `What comes is ${old} old by its own time: the network kept it back, or the board's clock is wrong. Set that clock, or leave timePath out of the configuration.`;
    return { is: 'late', reason: `it is ${old} old by its own time`, sentence };
  }
  return {
    is: 'now',
    atMs: saidAtMs + leastLagMs,
    clock: { lastSaidMs: saidAtMs, leastLagMs },
  };
}

/** Of a clock that was never set only the order counts. One that has fallen far back began anew: the board was switched on. */
function judgeCount(clock: SaidClock | null, arrivedAtMs: number, saidAtMs: number): Heard {
  const known = clock !== null && isNeverSet(clock.leastLagMs) ? clock : null;
  if (known !== null && saidAtMs <= known.lastSaidMs && saidAtMs > known.lastSaidMs / 2) {
    return notNew(saidAtMs === known.lastSaidMs);
  }
  return { is: 'now', atMs: arrivedAtMs, clock: { lastSaidMs: saidAtMs, leastLagMs: arrivedAtMs - saidAtMs } };
}

function isNeverSet(lagMs: number): boolean {
  return Math.abs(lagMs) > NEVER_SET_MS;
}

function notNew(isSame: boolean): Heard {
  return { is: 'late', reason: isSame ? 'it was said before' : 'it is older than what is known', sentence: null };
}
