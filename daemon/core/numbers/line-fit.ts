/** A straight line through readings, with how sure its slope is. */
import { countOf, listOf, readingAt, type TimedC, type TimedList } from './timed-list.ts';

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
  const { older, young } = readings;
  const border = older.length;
  const fromMs = last.atMs - windowS * 1000;
  let n = 0;
  let sumT = 0;
  let sumC = 0;
  let sumTT = 0;
  let sumTC = 0;
  let sumCC = 0;
  // Times and temperatures are taken from the last reading, so that the sums keep their digits.
  for (let i = end - 1; i >= 0; i--) {
    const reading = i < border ? older[i] : young[i - border];
    if (reading === undefined || reading.atMs < fromMs) break;
    const t = (reading.atMs - last.atMs) / 1000;
    const c = reading.celsius - last.celsius;
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
