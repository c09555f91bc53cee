/**
 * Straight lines through the latest readings, over seven windows from less than one reading to five hundred, all kept
 * going at once: least squares with weights that die away with age, so that each reading costs the same however many
 * came before. Works at any spacing of the readings.
 *
 * Source: exponentially weighted least squares (from memory).
 */
import type { TimedC } from '../numbers/line-fit.ts';
import { secondsBetween } from '../numbers/units.ts';

export interface Lines {
  readonly last: TimedC | null;
  /** The usual spacing of the readings, that the windows are chosen for; 0 before it is known. */
  readonly intervalS: number;
  /** Five for each window, counted from the last reading: sums of the weights and of t, t², c, t·c under them. */
  readonly sums: readonly number[];
}

export interface Line {
  readonly levelC: number;
  readonly slopePerS: number;
}

/** Each window is three times the one before it, the shortest less than one spacing: a reading of that age weighs 1/e. */
export const WINDOW_COUNT = 7;
const SHORTEST_RATIO = 0.7;
/** Readings further apart than this are sparse, for a kiln. */
const SPARSE_S = 3;
const SUMS = 5;
export const NO_LINES: Lines = { last: null, intervalS: 0, sums: [] };

/** A slope counts in full only once the readings span more than this share of their spacing. Ours. */
const SPAN_RATIO = 0.05;
/** The spacing is taken anew once the readings turn out to come quite otherwise. */
const OTHERWISE_RATIO = 0.6;

/** Of sparse readings fewer are taken together: by then the kiln has moved on. */
function shortestS(intervalS: number): number {
  return (SHORTEST_RATIO * intervalS) / Math.sqrt(1 + intervalS / SPARSE_S);
}

export function windowS(window: number, intervalS: number): number {
  return shortestS(intervalS) * 3 ** window;
}

/** The first window of at least this length. */
export function windowFrom(leastS: number, intervalS: number): number {
  for (let i = 0; i < WINDOW_COUNT; i++) if (windowS(i, intervalS) >= leastS) return i;
  return WINDOW_COUNT - 1;
}

/**
 * @param isLeap the reading leapt away from those before it and was confirmed: the lines leap with it, their slopes stay
 * @param intervalS usual spacing of the readings as it is known now; null before the second one
 */
export function drawOn(lines: Lines, reading: TimedC, isLeap: boolean, intervalS: number | null): Lines {
  const { last } = lines;
  if (last === null || intervalS === null) return { last: reading, intervalS: 0, sums: [] };
  if (!isAsUsual(intervalS, lines.intervalS)) {
    // Begun anew from the reading before.
    const sums = Array.from({ length: WINDOW_COUNT }, () => [1, 0, 0, 0, 0]).flat();
    return drawOn({ last, intervalS, sums }, reading, isLeap, intervalS);
  }
  const stepS = Math.max(secondsBetween(last.atMs, reading.atMs), 1e-3);
  const stepC = isLeap ? 0 : reading.celsius - last.celsius;
  const sums = lines.sums.slice();
  let lengthS = shortestS(lines.intervalS);
  for (let k = 0; k < WINDOW_COUNT * SUMS; k += SUMS, lengthS *= 3) {
    const fadeRatio = Math.exp(-stepS / lengthS);
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
  return { last: reading, intervalS: lines.intervalS, sums };
}

function isAsUsual(intervalS: number, chosenS: number): boolean {
  const ratio = intervalS / chosenS;
  return ratio > OTHERWISE_RATIO && ratio < 1 / OTHERWISE_RATIO;
}

/** The line of one window, at the last reading. */
export function lineOf(lines: Lines, window: number): Line {
  const { intervalS } = lines;
  if (intervalS === 0) return { levelC: lines.last?.celsius ?? 0, slopePerS: 0 };
  const k = window * SUMS;
  const w = lines.sums[k] ?? 1;
  const t = lines.sums[k + 1] ?? 0;
  const tt = lines.sums[k + 2] ?? 0;
  const c = lines.sums[k + 3] ?? 0;
  const tc = lines.sums[k + 4] ?? 0;
  const slopePerS = (w * tc - t * c) / (w * tt - t * t + SPAN_RATIO * intervalS * intervalS);
  return { levelC: (lines.last?.celsius ?? 0) + (c - slopePerS * t) / w, slopePerS };
}
