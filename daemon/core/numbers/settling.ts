/** A way that comes to rest as a slow thing does that was put elsewhere: ever less, by the same share in the same time. */
import type { TimedC } from './line-fit.ts';
import { secondsBetween } from './units.ts';

export interface Settling {
  /** Where it comes to rest, °C. */
  readonly restC: number;
  /** In so long it comes nearer by all but a third. */
  readonly tauS: number;
  /** Standard deviation of the readings about it, °C. */
  readonly strayC: number;
}

/** From one tried time to the next; finer makes the fit no better by a hundredth of the way. */
const NEXT_RATIO = 1.12;

/**
 * Least squares of `restC + a·exp(-t/tauS)`, over a row of times.
 *
 * @param readings oldest first
 * @param leastS the shortest time that is tried, above 0
 * @param mostS the longest
 * @returns null with fewer than five readings, or where none of the times fits
 * Source: first-order response of a sensor, in any text on control; least squares (from memory).
 */
export function fitSettling(readings: readonly TimedC[], leastS: number, mostS: number): Settling | null {
  let best: Settling | null = null;
  if (readings.length < 5) return best;
  for (let tauS = leastS; tauS <= mostS; tauS *= NEXT_RATIO) {
    const fit = fitFor(readings, tauS);
    if (fit !== null && (best === null || fit.strayC < best.strayC)) best = fit;
  }
  return best;
}

function fitFor(readings: readonly TimedC[], tauS: number): Settling | null {
  const [first] = readings;
  if (first === undefined) return null;
  const n = readings.length;
  let sumX = 0;
  let sumXX = 0;
  let sumC = 0;
  let sumXC = 0;
  let sumCC = 0;
  for (const { atMs, celsius } of readings) {
    const x = Math.exp(-secondsBetween(first.atMs, atMs) / tauS);
    const c = celsius - first.celsius;
    sumX += x;
    sumXX += x * x;
    sumC += c;
    sumXC += x * c;
    sumCC += c * c;
  }
  const spread = sumXX - (sumX * sumX) / n;
  if (spread <= 0) return null;
  const a = (sumXC - (sumX * sumC) / n) / spread;
  const left = Math.max(sumCC - (sumC * sumC) / n - a * a * spread, 0);
  return { restC: first.celsius + (sumC - a * sumX) / n, tauS, strayC: Math.sqrt(left / n) };
}
