/** Fits a kiln's few numbers to recorded firings by least squares, and says how sure each of them is. */
import { BAND_SIGMAS } from '../numbers/band.ts';
import { type FitProblem, fitProblem, greatestHeatCPerH, steepestClimbCPerH } from './fit-problem.ts';
import type { KilnModel } from './kiln-model.ts';
import { type Belief, beliefs, type FitSetting, modelOf, PARAMETER_COUNT } from './kiln-parameters.ts';
import { type GriddedFiring, gridFiring, type RecordedFiring } from './recorded-firing.ts';
import { type Found, search, settle } from './search.ts';

/** A number with the bounds that should hold the truth nine times in ten. */
export interface Estimate {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** `at-least`: the readings show that it is no less. `unknown`: they hardly say more than was believed before. */
  readonly told: 'told' | 'at-least' | 'unknown';
}

export const ESTIMATED = [
  'powerCPerH',
  'lossColdPerH',
  'lossHotPerH',
  'exchangePerH',
  'wallRatio',
  'heatLagS',
  'sensorLagS',
  'bothLagsS',
  'glowS',
  'settingPower',
] as const;

export type EstimatedName = (typeof ESTIMATED)[number];

export interface KilnFit {
  readonly model: KilnModel;
  readonly estimates: Readonly<Record<EstimatedName, Estimate>>;
  /** Logarithms in the order of `PARAMETERS`, and their covariance: what a rehearsal draws its band from. */
  readonly logs: readonly number[];
  readonly covariance: readonly (readonly number[])[];
  /** Root mean square of the readings about the model, run through each whole firing with nothing but its start and heat. */
  readonly errorC: number;
  readonly firings: readonly FittedFiring[];
  /** Share of the time in which the heat was known. */
  readonly heatKnownRatio: number;
}

export interface FittedFiring {
  readonly name: string;
  readonly errorC: number;
  readonly peakC: number;
}

/** Told: nine times in ten within a factor of 2.3, and narrowed to less than 0.6 of what was believed before. Ours. */
const TOLD_SIGMA = 0.5;
const TOLD_NARROWING = 0.6;
/** A setting is fitted only where it may not be proportional. */
const FREE_SIGMA = 0.01;
/** Two answers whose costs differ by less than this cannot be told apart (a likelihood ratio of 7, from memory). */
const ALIKE = 2;

/** @returns null where no firing has readings enough */
export function fitKiln(recorded: readonly RecordedFiring[], setting: FitSetting): KilnFit | null {
  const firings = recorded.flatMap((firing) => gridFiring(firing) ?? []);
  if (firings.length === 0) return null;
  const steepestCPerH = Math.max(...firings.map(steepestClimbCPerH), 1);
  const spanS = Math.max(...firings.map((f) => f.stepS * (f.shownC.length - 1)));
  const before = beliefs(setting, spanS, steepestCPerH);
  const problem = fitProblem(firings, setting.heat, before, steepestCPerH);
  const coarse = recorded.flatMap((firing) => gridFiring(firing, COARSE) ?? []);
  const found = bestOf(problem, fitProblem(coarse, setting.heat, before, steepestCPerH, COARSE));
  if (found === null) return null;
  return described(problem, found, before, setting, firings);
}

interface Best {
  readonly found: Found;
  /** The same with the two lags' roles exchanged: what the readings cannot refute. Null where they can. */
  readonly swapped: Found | null;
}

/**
 * Searches from several starting points with coarse weights, then from the best with the weights that the residuals
 * themselves give. Residuals of a model are no white noise: each counts as much less as they hang together.
 */
function bestOf(problem: FitProblem, coarse: FitProblem): Best | null {
  const spreadC = Math.max(spreadOf(problem) / 200, 0.2);
  const rough = startingPoints(coarse)
    .map((start) => search(coarse, settle(coarse, start, spreadC), spreadC, 30))
    .sort((a, b) => a.cost - b.cost);
  const finer = differing(rough)
    // The kiln's parameters go over to the finer grid; each firing's own unknowns are found again.
    .map(({ unknowns }) => problem.beliefs.map((b, i) => (i < PARAMETER_COUNT ? (unknowns[i] ?? 0) : b.middle)))
    .map((start) => search(problem, settle(problem, Float64Array.from(start), spreadC), spreadC))
    .sort((a, b) => a.cost - b.cost);
  let [found] = finer;
  if (found === undefined) return null;
  for (let round = 0; round < 2; round++) found = search(problem, found.unknowns, ownSigmaC(found.residuals));
  let sigmaC = spreadC;
  for (let round = 0; round < 2; round++) {
    sigmaC = creditedSigmaC(found.residuals);
    found = search(problem, found.unknowns, sigmaC);
  }
  const swappedStart = Float64Array.from(found.unknowns);
  [swappedStart[HEAT_LAG], swappedStart[SENSOR_LAG]] = [found.unknowns[SENSOR_LAG] ?? 0, found.unknowns[HEAT_LAG] ?? 0];
  const other = search(problem, swappedStart, sigmaC);
  if (other.covariance === null || other.cost > found.cost + ALIKE) return { found, swapped: null };
  return other.cost < found.cost ? { found: other, swapped: found } : { found, swapped: other };
}

/** The first search runs on a grid so many times coarser. */
const COARSE = 3;

const HEAT_LAG = 5;
const SENSOR_LAG = 6;

/** The best, and the best that lies in another valley. */
function differing(rough: readonly Found[]): Found[] {
  const [best] = rough;
  if (best === undefined) return [];
  const isElsewhere = ({ unknowns }: Found): boolean =>
    [EXCHANGE, WALL_RATIO].some((i) => Math.abs((unknowns[i] ?? 0) - (best.unknowns[i] ?? 0)) > 0.3);
  const other = rough.find(isElsewhere);
  return other === undefined ? [best] : [best, other];
}

const EXCHANGE = 3;
const WALL_RATIO = 4;

/** The valley is long and has side valleys in exchange and wall: the search begins in several places along it. */
function startingPoints(problem: FitProblem): Float64Array[] {
  const middle = Float64Array.from(problem.beliefs, (b) => b.middle);
  return [-1.2, 0, 1.2].flatMap((exchange) =>
    [-0.8, 0.8].map((wall) => {
      const start = Float64Array.from(middle);
      start[EXCHANGE] = (start[EXCHANGE] ?? 0) + exchange;
      start[WALL_RATIO] = (start[WALL_RATIO] ?? 0) + wall;
      return start;
    }),
  );
}

function spreadOf(problem: FitProblem): number {
  const all = problem.parts.flatMap(({ firing }) => [...firing.shownC].filter((c) => !Number.isNaN(c)));
  const mean = all.reduce((sum, c) => sum + c, 0) / Math.max(all.length, 1);
  return Math.sqrt(all.reduce((sum, c) => sum + (c - mean) ** 2, 0) / Math.max(all.length, 1));
}

/** No instrument on a kiln is better than this, whatever a fit makes of it. From memory. */
const FINEST_C = 0.05;

/**
 * The standard deviation with which a reading enters the fit: that of the residuals, larger the more they hang together,
 * so that n readings count as the few independent ones that they are worth.
 * Source: effective sample size from the sum of autocorrelations (from memory).
 */
function creditedSigmaC(residuals: readonly Float64Array[]): number {
  const count = residuals.reduce((sum, r) => sum + r.filter((c) => !Number.isNaN(c)).length, 0);
  return ownSigmaC(residuals) * Math.sqrt(timesTooMany(residuals, count));
}

function ownSigmaC(residuals: readonly Float64Array[]): number {
  const sizes = residuals.flatMap((r) => [...r].filter((c) => !Number.isNaN(c)).map(Math.abs)).sort((a, b) => a - b);
  // 1.4826: median absolute deviation of a normal distribution to its standard deviation.
  const robustC = 1.4826 * (sizes[Math.floor(sizes.length / 2)] ?? FINEST_C);
  const rmsC = Math.sqrt(sizes.reduce((sum, c) => sum + c * c, 0) / Math.max(sizes.length, 1));
  return Math.max(0.5 * (robustC + Math.min(rmsC, 2 * robustC)), FINEST_C);
}

/** By how much the readings outnumber the independent ones they are worth. */
function timesTooMany(residuals: readonly Float64Array[], count: number): number {
  let power = 0;
  for (const r of residuals) for (const c of r) if (!Number.isNaN(c)) power += c * c;
  if (power === 0) return 1;
  let sum = 1;
  for (let lag = 1; lag < count / 8; lag++) {
    let together = 0;
    for (const r of residuals) {
      for (let i = lag; i < r.length; i++) {
        const product = (r[i] as number) * (r[i - lag] as number);
        if (!Number.isNaN(product)) together += product;
      }
    }
    if (together / power < 0.05) break;
    sum += (2 * together) / power;
  }
  return Math.min(sum, count / 8);
}

function described(
  problem: FitProblem,
  { found, swapped }: Best,
  before: readonly Belief[],
  setting: FitSetting,
  firings: readonly GriddedFiring[],
): KilnFit | null {
  const { covariance } = found;
  if (covariance === null) return null;
  const logs = [...found.unknowns.subarray(0, PARAMETER_COUNT)];
  const steps = firings.reduce((sum, f) => sum + f.ratio.length - 1, 0);
  const unknownSteps = firings.reduce((sum, f) => sum + f.unknownRatio.reduce((all, u) => all + u, 0), 0);
  const isHeatKnown = firings.some((f) => f.ratio.some((r, i) => r > 0 && (f.unknownRatio[i] ?? 1) < 1));
  const estimates = estimatesOf(logs, covariance, before);
  if (swapped?.covariance) {
    const swappedLogs = [...swapped.unknowns.subarray(0, PARAMETER_COUNT)];
    const others = estimatesOf(swappedLogs, swapped.covariance, before);
    for (const name of ['heatLagS', 'sensorLagS'] as const) estimates[name] = either(estimates[name], others[name]);
  }
  let model = modelOf(logs, setting.heat);
  if (!isHeatKnown) {
    const heatCPerH = Math.max(...problem.parts.map((part) => greatestHeatCPerH(part, found.unknowns, 900)));
    const value = Math.max(heatCPerH, 1);
    model = { ...model, powerCPerH: value };
    logs[0] = Math.log(value);
    estimates.powerCPerH = { value, low: 0.9 * value, high: 3 * value, told: 'at-least' };
  }
  return {
    model,
    estimates,
    logs,
    // Of a lower bound nobody knows how far off it is: what is worked out of the model holds for this much heat.
    covariance: isHeatKnown ? covariance : covariance.map((row, i) => row.map((c, j) => (i === 0 || j === 0 ? 0 : c))),
    errorC: rmsOf(found.residuals),
    firings: firings.map((f, i) => ({
      name: f.name,
      errorC: rmsOf([found.residuals[i] ?? new Float64Array()]),
      peakC: f.shownC.reduce((high, c) => (Number.isNaN(c) ? high : Math.max(high, c)), Number.NEGATIVE_INFINITY),
    })),
    heatKnownRatio: 1 - unknownSteps / Math.max(steps, 1),
  };
}

function rmsOf(residuals: readonly Float64Array[]): number {
  let sum = 0;
  let count = 0;
  for (const r of residuals) {
    for (const c of r) {
      if (Number.isNaN(c)) continue;
      sum += c * c;
      count++;
    }
  }
  return Math.sqrt(sum / Math.max(count, 1));
}

function estimatesOf(
  logs: readonly number[],
  covariance: readonly (readonly number[])[],
  before: readonly Belief[],
): Record<EstimatedName, Estimate> {
  const weigh = (weights: Readonly<Record<number, number>>): { sigma: number; believed: number } => {
    let variance = 0;
    let believed = 0;
    for (const [i, a] of Object.entries(weights)) {
      believed += (a * (before[Number(i)]?.sigma ?? 0)) ** 2;
      for (const [j, b] of Object.entries(weights)) variance += a * b * (covariance[Number(i)]?.[Number(j)] ?? 0);
    }
    return { sigma: Math.sqrt(Math.max(variance, 0)), believed: Math.sqrt(believed) };
  };
  const estimate = (value: number, weights: Readonly<Record<number, number>>): Estimate => {
    const { sigma, believed } = weigh(weights);
    const factor = Math.exp(BAND_SIGMAS * sigma);
    const isTold = believed < FREE_SIGMA || (sigma < TOLD_SIGMA && sigma < TOLD_NARROWING * believed);
    return { value, low: value / factor, high: value * factor, told: isTold ? 'told' : 'unknown' };
  };
  const at = (index: number): number => Math.exp(logs[index] ?? 0);
  const bothS = at(HEAT_LAG) + at(SENSOR_LAG);
  return {
    powerCPerH: estimate(at(0), { 0: 1 }),
    lossColdPerH: estimate(at(1), { 1: 1 }),
    lossHotPerH: estimate(at(1) * at(2), { 1: 1, 2: 1 }),
    exchangePerH: estimate(at(3), { 3: 1 }),
    wallRatio: estimate(at(4), { 4: 1 }),
    heatLagS: estimate(at(HEAT_LAG), { [HEAT_LAG]: 1 }),
    sensorLagS: estimate(at(SENSOR_LAG), { [SENSOR_LAG]: 1 }),
    bothLagsS: estimate(bothS, { [HEAT_LAG]: at(HEAT_LAG) / bothS, [SENSOR_LAG]: at(SENSOR_LAG) / bothS }),
    glowS: estimate(at(8), { 8: 1 }),
    settingPower: estimate(at(7), { 7: 1 }),
  };
}

/** Two answers that the readings allow alike: the bounds of both, and no number to go by where they lie far apart. */
function either(one: Estimate, other: Estimate): Estimate {
  const low = Math.min(one.low, other.low);
  const high = Math.max(one.high, other.high);
  const isNarrow = Math.log(high / low) < 2 * BAND_SIGMAS * TOLD_SIGMA;
  return {
    value: one.value,
    low,
    high,
    told: one.told === 'told' && other.told === 'told' && isNarrow ? 'told' : 'unknown',
  };
}
