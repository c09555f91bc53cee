/**
 * Tells a bend of the way, which goes on from reading to reading, from what only looks like one: a single reading off the
 * way, or a step, after which the couple goes on as before.
 */
import type { Trace, TraceBin } from './trace.ts';
import type { Turn } from './turn.ts';

/** Bins further apart than this hold a reading each; the last but one must be off its way by this share of the last. */
const SPARSE_MS = 4000;
const SECOND_RATIO = 0.25;
/** A bend within so many bins, or younger than so long, may be a step: over this share of its age it has gone on by little. */
const STEP_BINS = 5;
const STEP_WITHIN_S = 40;
const STEP_OVER_RATIO = 0.3;
const STEP_RATIO = 0.87;
/** And of a bend this share has come before the last moments; where bins hold several readings each, before the last but one. */
const BEGUN_RATIO = 0.07;

/** How far a bin is off the way as it went before the turn, °C. */
function offC({ atMs, celsius }: TraceBin, turn: Turn): number {
  return celsius - turn.fromC - (turn.beforePerS * (atMs - turn.atMs)) / 1000;
}

/** Where readings are sparse a single one off the way makes a bend: a peek at the load, a wild value. A second must agree. */
export function isOneReading({ bins }: Trace, turn: Turn): boolean {
  const last = bins[bins.length - 1];
  const second = bins[bins.length - 2];
  if (last === undefined || second === undefined || last.atMs - second.atMs < SPARSE_MS) return false;
  const secondOffC = offC(second, turn);
  return Math.abs(secondOffC) < SECOND_RATIO * Math.abs(turn.offC) || Math.sign(secondOffC) !== Math.sign(turn.offC);
}

/** A couple that shows less, or more, at once, and goes on as before: heat lost or gained goes on from reading to reading. */
export function isStep({ bins }: Trace, turn: Turn): boolean {
  const last = bins[bins.length - 1];
  const second = bins[bins.length - 2];
  const third = bins[bins.length - 3];
  if (last === undefined || second === undefined || third === undefined) return true;
  const spacingMs = last.atMs - second.atMs;
  if (turn.agoS > Math.max((STEP_BINS * spacingMs) / 1000, STEP_WITHIN_S)) return false;
  const wentC = (bin: TraceBin): number => Math.sign(turn.bendPerS) * offC(bin, turn);
  // Where bins are full of readings a step may lie in the midst of one.
  const begun = second.count > 1 ? third : second;
  const earlier = bins.findLast((bin) => bin.atMs <= last.atMs - STEP_OVER_RATIO * turn.agoS * 1000) ?? second;
  return wentC(earlier) > STEP_RATIO * wentC(last) || wentC(begun) < BEGUN_RATIO * wentC(last);
}
