/** A straight line through readings, with how sure its slope is. */
import { countOf, listOf, olderFigures, readingAt, type TimedC, type TimedList } from './timed-list.ts';

export type { TimedC };

export interface LineFit {
  /** °C/s. */
  readonly slopePerS: number;
  /** Standard error of the slope, °C/s. */
  readonly slopeSigmaPerS: number;
  /** The line's value at the last reading, °C. */
  readonly atEndC: number;
  /** Standard deviation of the readings about the line, °C. */
  readonly noiseC: number;
  readonly count: number;
}

/**
 * Least squares over the readings not older than `windowS` before the last one.
 *
 * @param end only the readings before this index count
 * @returns undefined with fewer than three readings, or all at one instant
 * Source: ordinary least squares; the standard error of a slope is in any statistics text (from memory).
 */
export function fitLine(readings: readonly TimedC[], windowS: number, end = readings.length): LineFit | undefined {
  return fitLineOf(listOf(readings), windowS, end);
}

/** As `fitLine`, over a list in pieces. */
export function fitLineOf(readings: TimedList, windowS: number, end = countOf(readings)): LineFit | undefined {
  const last = readingAt(readings, end - 1);
  if (last === undefined) return undefined;
  const { young } = readings;
  const older = olderFigures(readings);
  const border = older.atMs.length;
  const { atMs: lastMs, celsius: lastC } = last;
  const fromMs = last.atMs - windowS * 1000;
  let n = 0;
  let sumT = 0;
  let sumC = 0;
  let sumTT = 0;
  let sumTC = 0;
  let sumCC = 0;
  // Times and temperatures are taken from the last reading, so that the sums keep their digits.
  let isOld = false;
  for (let i = end - 1; i >= border; i--) {
    const reading = young[i - border];
    isOld = reading === undefined || reading.atMs < fromMs;
    if (reading === undefined || isOld) break;
    const t = (reading.atMs - lastMs) / 1000;
    const c = reading.celsius - lastC;
    n++;
    sumT += t;
    sumC += c;
    sumTT += t * t;
    sumTC += t * c;
    sumCC += c * c;
  }
  for (let i = isOld ? -1 : Math.min(end, border) - 1; i >= 0; i--) {
    const atMs = older.atMs[i] ?? fromMs;
    if (atMs < fromMs) break;
    const t = (atMs - lastMs) / 1000;
    const c = (older.celsius[i] ?? 0) - lastC;
    n++;
    sumT += t;
    sumC += c;
    sumTT += t * t;
    sumTC += t * c;
    sumCC += c * c;
  }
  if (n < 3) return undefined;
  const spread = sumTT - (sumT * sumT) / n;
  if (spread <= 0) return undefined;
  const slope = (sumTC - (sumT * sumC) / n) / spread;
  const residual = Math.max(sumCC - (sumC * sumC) / n - slope * slope * spread, 0);
  const noise = Math.sqrt(residual / Math.max(n - 2, 1));
  return {
    slopePerS: slope,
    slopeSigmaPerS: noise / Math.sqrt(spread),
    atEndC: last.celsius + (sumC - slope * sumT) / n,
    noiseC: noise,
    count: n,
  };
}
