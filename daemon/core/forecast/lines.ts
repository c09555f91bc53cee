/**
 * Straight lines through the latest readings, over nine windows from a third of a second to forty minutes, all kept
 * going at once: least squares with weights that die away with age, so that each reading costs the same however many
 * came before. Works at any spacing of the readings.
 *
 * Source: exponentially weighted least squares (from memory).
 */
import type { TimedC } from '../numbers/line-fit.ts';
import { clamp, secondsBetween } from '../numbers/units.ts';

export interface Lines {
  readonly last: TimedC | null;
  /** Five for each window, counted from the last reading: sums of the weights and of t, t², c, t·c under them. */
  readonly sums: readonly number[];
}

export interface Line {
  readonly levelC: number;
  readonly slopePerS: number;
}

/** Each window is three times the one before it, s; a reading of that age weighs 1/e. */
export const WINDOWS_S: readonly number[] = Array.from({ length: 9 }, (_, i) => 0.35 * 3 ** i);
const SUMS = 5;
export const NO_LINES: Lines = { last: null, sums: WINDOWS_S.flatMap(() => [0, 0, 0, 0, 0]) };

/** A slope counts in full only once the readings span more than this share of their spacing. Ours. */
const SPAN_RATIO = 0.05;
/** A window shorter than this share of the spacing knows one reading only. */
const SHORTEST_RATIO = 0.5;

/** The first window that the spacing of the readings lets mean something, leaving room for `count` windows from there. */
export function firstWindow(intervalS: number, count: number): number {
  const first = WINDOWS_S.findIndex((windowS) => windowS >= SHORTEST_RATIO * intervalS);
  return clamp(first < 0 ? WINDOWS_S.length : first, 0, WINDOWS_S.length - count);
}

/** @param isLeap the reading leapt away from those before it and was confirmed: the lines leap with it, their slopes stay */
export function drawOn(lines: Lines, reading: TimedC, isLeap: boolean): Lines {
  const { last } = lines;
  const stepS = last === null ? 0 : Math.max(secondsBetween(last.atMs, reading.atMs), 1e-3);
  const stepC = last === null || isLeap ? 0 : reading.celsius - last.celsius;
  const sums: number[] = new Array(lines.sums.length);
  for (let i = 0, k = 0; i < WINDOWS_S.length; i++, k += SUMS) {
    const fadeRatio = Math.exp(-stepS / (WINDOWS_S[i] ?? 1));
    const w = lines.sums[k] ?? 0;
    const t = lines.sums[k + 1] ?? 0;
    const tt = lines.sums[k + 2] ?? 0;
    const c = lines.sums[k + 3] ?? 0;
    const tc = lines.sums[k + 4] ?? 0;
    // All moved to the new reading's place, then faded, then the new one added at (0, 0) with weight 1.
    const tMoved = t - stepS * w;
    sums[k] = w * fadeRatio + 1;
    sums[k + 1] = tMoved * fadeRatio;
    sums[k + 2] = (tt - 2 * stepS * t + stepS * stepS * w) * fadeRatio;
    sums[k + 3] = (c - stepC * w) * fadeRatio;
    sums[k + 4] = (tc - stepS * c - stepC * tMoved) * fadeRatio;
  }
  return { last: reading, sums };
}

/** The line of one window, at the last reading. */
export function lineOf(lines: Lines, window: number, intervalS: number): Line {
  const k = window * SUMS;
  const w = lines.sums[k] ?? 1;
  const t = lines.sums[k + 1] ?? 0;
  const tt = lines.sums[k + 2] ?? 0;
  const c = lines.sums[k + 3] ?? 0;
  const tc = lines.sums[k + 4] ?? 0;
  const slopePerS = (w * tc - t * c) / (w * tt - t * t + SPAN_RATIO * intervalS * intervalS);
  return { levelC: (lines.last?.celsius ?? 0) + (c - slopePerS * t) / w, slopePerS };
}
