/** Plain ways to foresee a temperature, to hold core's forecast against. All look back only. */
import { rms } from './figures.ts';

export interface Timed {
  readonly atMs: number;
  readonly celsius: number;
}

/** Least squares over the last two minutes, or the last eight readings where they are sparse; null with fewer than 3. */
const LINE_S = 120;
const LINE_LEAST = 8;

export function straightLineC(readings: readonly Timed[], at: number, aheadS: number): number | null {
  const last = readings[at];
  if (last === undefined) return null;
  let n = 0;
  let sumT = 0;
  let sumC = 0;
  let sumTT = 0;
  let sumTC = 0;
  for (let i = at; i >= 0; i--) {
    const reading = readings[i];
    if (reading === undefined) break;
    const t = (reading.atMs - last.atMs) / 1000;
    if (t < -LINE_S && n >= LINE_LEAST) break;
    const c = reading.celsius - last.celsius;
    n++;
    sumT += t;
    sumC += c;
    sumTT += t * t;
    sumTC += t * c;
  }
  const spread = sumTT - (sumT * sumT) / n;
  if (n < 3 || spread <= 0) return null;
  const slope = (sumTC - (sumT * sumC) / n) / spread;
  return last.celsius + (sumC - slope * sumT) / n + slope * aheadS;
}

export interface HoltConstants {
  readonly level: number;
  readonly trend: number;
  readonly damping: number;
}

/** Level and trend after each reading, as if they came evenly; begun anew after a pause of five intervals. */
export function damped(readings: readonly Timed[], intervalS: number, { level: a, trend: b, damping }: HoltConstants) {
  const levels = new Float64Array(readings.length);
  const trends = new Float64Array(readings.length);
  for (const [i, { atMs, celsius }] of readings.entries()) {
    const before = readings[i - 1];
    if (before === undefined || atMs - before.atMs > 5000 * intervalS) {
      levels[i] = celsius;
      trends[i] = 0;
      continue;
    }
    const expectedC = (levels[i - 1] ?? 0) + damping * (trends[i - 1] ?? 0);
    levels[i] = expectedC + a * (celsius - expectedC);
    trends[i] = b * ((levels[i] ?? 0) - (levels[i - 1] ?? 0)) + (1 - b) * damping * (trends[i - 1] ?? 0);
  }
  return (at: number, aheadS: number): number => {
    const steps = aheadS / intervalS;
    const reach = damping === 1 ? steps : (damping * (1 - damping ** steps)) / (1 - damping);
    return (levels[at] ?? Number.NaN) + reach * (trends[at] ?? Number.NaN);
  };
}

/** One place in a curve from which is looked ahead, and what was then true at each horizon; null where nobody knows. */
export interface Origin {
  readonly at: number;
  readonly truthC: readonly (number | null)[];
}

const GRID = {
  level: [0.02, 0.1, 0.3, 0.6, 0.9],
  trend: [0.005, 0.02, 0.08, 0.3],
  damping: [0.9, 0.97, 0.99, 0.997, 0.9995],
} as const;

/** The constants that do best on this very curve, over all horizons together: more than a forecaster could know. */
export function fitHolt(
  readings: readonly Timed[],
  intervalS: number,
  origins: readonly Origin[],
  horizonsS: readonly number[],
): HoltConstants {
  let best: HoltConstants = { level: 0.3, trend: 0.08, damping: 0.97 };
  let leastLoss = Number.POSITIVE_INFINITY;
  for (const level of GRID.level) {
    for (const trend of GRID.trend) {
      for (const damping of GRID.damping) {
        const constants = { level, trend, damping };
        const ahead = damped(readings, intervalS, constants);
        const loss = horizonsS.reduce((product, aheadS, h) => {
          const errors = origins.flatMap(({ at, truthC }) => {
            const truth = truthC[h];
            return truth == null ? [] : [ahead(at, aheadS) - truth];
          });
          return errors.length === 0 ? product : product + Math.log(rms(errors) + 1e-9);
        }, 0);
        if (loss < leastLoss) {
          leastLoss = loss;
          best = constants;
        }
      }
    }
  }
  return best;
}
