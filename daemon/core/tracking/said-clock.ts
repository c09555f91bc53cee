/** Whether what a board says is of now, told by the times that it gives itself (requirements C11 to C13). */
import { secondsBetween } from '../numbers/units.ts';

/** What is known of the clock behind one sensor. */
export interface SaidClock {
  /** Null until something was believed. */
  readonly known: KnownClock | null;
  /** What has come too late of late, and whether it does so evenly; null while all is of now. */
  readonly tardy: TardyRun | null;
}

interface KnownClock {
  readonly lastSaidMs: number;
  /** The shortest that a message took, by its clock and ours. It holds how far the two clocks are apart. */
  readonly leastLagMs: number;
}

/** Messages in a row, each newer than the one before, that took about as long. */
interface TardyRun {
  readonly count: number;
  readonly firstArrivedMs: number;
  readonly lastSaidMs: number;
  readonly leastLagMs: number;
  readonly mostLagMs: number;
}

/** `clock`: what is known of it from now on. */
export type Heard = { readonly clock: SaidClock } & (OfNow | Late);

interface OfNow {
  readonly is: 'now';
  /** When it was measured, on our clock; never later than it arrived. */
  readonly atMs: number;
}

/** It is no reading of now. `sentence` is for the person, where something can be mended. */
interface Late {
  readonly is: 'late';
  readonly reason: string;
  readonly sentence: string | null;
}

/** A message that took longer is of earlier: a plan moves a kiln by a degree or two meanwhile. Ours. */
export const LATE_AFTER_S = 30;
/** A clock so far off was never set: it counts from 1970, or from when the board was switched on. Ours. */
const NEVER_SET_MS = 86_400_000;
/**
 * What was kept back comes faster than it was measured, and is less old with each message. What is as old as ever after
 * so long and so many messages, within what a network's own pace varies, comes from a clock that is off. Ours.
 */
const EVEN_S = 30;
const EVEN_COUNT = 3;
const EVEN_WITHIN_S = 5;

/**
 * @param arrivedAtMs on our clock
 * @param saidAtMs on the board's
 */
export function judgeSaidTime(clock: SaidClock | null, arrivedAtMs: number, saidAtMs: number): Heard {
  const lagMs = arrivedAtMs - saidAtMs;
  if (isNeverSet(lagMs)) return judgeCount(clock, arrivedAtMs, saidAtMs);
  // What was learned of a clock before it was set says nothing of it now.
  const known = clock?.known == null || isNeverSet(clock.known.leastLagMs) ? null : clock.known;
  const tardy = carryOn(clock?.tardy ?? null, arrivedAtMs, saidAtMs);
  if (isEven(tardy, arrivedAtMs) && heldBackS(known, tardy.leastLagMs) > LATE_AFTER_S) {
    return now(saidAtMs, tardy.leastLagMs);
  }
  if (known !== null && saidAtMs <= known.lastSaidMs) {
    return notNew(saidAtMs === known.lastSaidMs, { known, tardy });
  }
  const oldS = heldBackS(known, lagMs);
  if (oldS > LATE_AFTER_S) {
    const old = oldS < 120 ? `${Math.round(oldS)} seconds` : `${Math.round(oldS / 60)} minutes`;
    const sentence = `What comes is ${old} old by its own time: the network kept it back, or the board's clock is wrong. Set that clock, or leave timePath out of the configuration.`;
    return { is: 'late', reason: `it is ${old} old by its own time`, sentence, clock: { known, tardy } };
  }
  return now(saidAtMs, Math.min(lagMs, known?.leastLagMs ?? lagMs));
}

/** By the quickest message so far; and by our own clock, unless the board's is known to be slow. */
function heldBackS(known: KnownClock | null, lagMs: number): number {
  const beyondMs = lagMs - Math.min(lagMs, known?.leastLagMs ?? lagMs);
  const isKnownToBeSlow = known !== null && known.leastLagMs > LATE_AFTER_S * 1000;
  return (isKnownToBeSlow ? beyondMs : Math.max(lagMs, beyondMs)) / 1000;
}

/** How far the board's clock is off, in seconds, above 0 where it is slow; 0 where it is right enough or was never set. */
export function clockOffS({ known }: SaidClock): number {
  if (known === null || isNeverSet(known.leastLagMs)) return 0;
  const offS = known.leastLagMs / 1000;
  return Math.abs(offS) > LATE_AFTER_S ? offS : 0;
}

/** Of several boards the one that is furthest off. */
export function worstClockOffS(clocks: Readonly<Record<string, SaidClock>>): number {
  return Object.values(clocks)
    .map(clockOffS)
    .reduce((worst, offS) => (Math.abs(offS) > Math.abs(worst) ? offS : worst), 0);
}

function now(saidAtMs: number, leastLagMs: number): Heard {
  return {
    is: 'now',
    atMs: saidAtMs + leastLagMs,
    clock: { known: { lastSaidMs: saidAtMs, leastLagMs }, tardy: null },
  };
}

function carryOn(before: TardyRun | null, arrivedAtMs: number, saidAtMs: number): TardyRun {
  const lagMs = arrivedAtMs - saidAtMs;
  const leastLagMs = Math.min(lagMs, before?.leastLagMs ?? lagMs);
  const mostLagMs = Math.max(lagMs, before?.mostLagMs ?? lagMs);
  const goesOn = before !== null && saidAtMs > before.lastSaidMs && mostLagMs - leastLagMs <= EVEN_WITHIN_S * 1000;
  if (goesOn) return { ...before, count: before.count + 1, lastSaidMs: saidAtMs, leastLagMs, mostLagMs };
  return { count: 1, firstArrivedMs: arrivedAtMs, lastSaidMs: saidAtMs, leastLagMs: lagMs, mostLagMs: lagMs };
}

function isEven({ count, firstArrivedMs }: TardyRun, arrivedAtMs: number): boolean {
  return count >= EVEN_COUNT && secondsBetween(firstArrivedMs, arrivedAtMs) >= EVEN_S;
}

/** Of a clock that was never set only the order counts. One that has fallen far back began anew: the board was switched on. */
function judgeCount(clock: SaidClock | null, arrivedAtMs: number, saidAtMs: number): Heard {
  const known = clock?.known != null && isNeverSet(clock.known.leastLagMs) ? clock.known : null;
  if (known !== null && saidAtMs <= known.lastSaidMs && saidAtMs > known.lastSaidMs / 2) {
    return notNew(saidAtMs === known.lastSaidMs, { known, tardy: null });
  }
  return now(saidAtMs, arrivedAtMs - saidAtMs);
}

/** A clock that was never set says in what order things were measured, and not when. */
export function tellsNoTime(arrivedAtMs: number, saidAtMs: number): boolean {
  return isNeverSet(arrivedAtMs - saidAtMs);
}

function isNeverSet(lagMs: number): boolean {
  return Math.abs(lagMs) > NEVER_SET_MS;
}

function notNew(isSame: boolean, clock: SaidClock): Heard {
  return {
    is: 'late',
    reason: isSame ? 'it was said before' : 'it is older than what is known',
    sentence: null,
    clock,
  };
}
