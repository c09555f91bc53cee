/** The search itself: damped Gauss-Newton with robust weights (Levenberg and Marquardt's way, from memory). */
import { type FiringPart, type FitProblem, OWN_STARTS, showsC, showsWithBlocksMoved } from './fit-problem.ts';
import type { KilnState } from './kiln-model.ts';
import { PARAMETER_COUNT } from './kiln-parameters.ts';
import { cholesky, inverseCorner, solveCholesky } from './normal-equations.ts';

export interface Found {
  readonly unknowns: Float64Array;
  /** Half of what was made small. */
  readonly cost: number;
  /** Of the readings about the model, one array for each firing, NaN where there is none. */
  readonly residuals: readonly Float64Array[];
  /** Covariance of the kiln's parameters (their logarithms); null if the equations could not be solved. */
  readonly covariance: readonly (readonly number[])[] | null;
}

/** Beyond so many standard deviations a reading counts by its distance, not by the square (Huber, from memory). */
const ROBUST_SIGMAS = 2;
const MOST_STEPS = 60;
/** The search ends after three steps that gain less than this share of the cost. */
const SMALL_GAIN = 3e-5;

/**
 * Finds only each firing's own unknowns, the kiln's parameters as they stand: from far away a search for all at once
 * loses its way.
 */
export function settle(problem: FitProblem, from: Float64Array, sigmaC: number): Float64Array {
  const kiln = from.subarray(0, PARAMETER_COUNT);
  const held = problem.beliefs.map((b, i) => (i < PARAMETER_COUNT ? { middle: kiln[i] ?? 0, sigma: 1e-6 } : b));
  // A reading far off must pull with its full weight here.
  return search({ ...problem, beliefs: held }, from, 50 * sigmaC, 4).unknowns;
}

/** @param sigmaC standard deviation that a reading is credited with */
export function search(problem: FitProblem, from: Float64Array, sigmaC: number, mostSteps = MOST_STEPS): Found {
  let unknowns = from;
  let now = judge(problem, unknowns, sigmaC);
  let damping = 1e-3;
  let smallGains = 0;
  for (let round = 0; round < mostSteps; round++) {
    const { normal, gradient } = equations(problem, unknowns, now.shown, sigmaC);
    let isBetter = false;
    let gain = 0;
    for (let tries = 0; tries < 8 && !isBetter; tries++) {
      const step = solveDamped(normal, gradient, damping);
      if (step !== null) {
        const share = shareOf(step);
        const next = unknowns.map((u, i) => u + share * (step[i] as number));
        const judged = judge(problem, next, sigmaC);
        if (judged.cost < now.cost) {
          gain = now.cost - judged.cost;
          unknowns = next;
          now = judged;
          isBetter = true;
          damping = Math.max(damping / 5, 1e-9);
          break;
        }
      }
      damping *= 6;
    }
    smallGains = gain < SMALL_GAIN * now.cost ? smallGains + 1 : 0;
    if (!isBetter || smallGains >= 3) break;
  }
  const { normal } = equations(problem, unknowns, now.shown, sigmaC);
  const lower = cholesky(normal);
  return {
    unknowns,
    cost: now.cost,
    residuals: problem.parts.map((part, p) =>
      part.firing.shownC.map((c, i) => c - ((now.shown[p]?.[i] as number) ?? 0)),
    ),
    covariance: lower === null ? null : inverseCorner(lower, PARAMETER_COUNT),
  };
}

/** No parameter moves by more than a factor of 2.7 at once: the share of the step that may be taken. */
function shareOf(step: Float64Array): number {
  const longest = step.subarray(0, PARAMETER_COUNT).reduce((most, s) => Math.max(most, Math.abs(s)), 0);
  return longest > 1 ? 1 / longest : 1;
}

interface Judged {
  readonly cost: number;
  readonly shown: readonly Float64Array[];
}

function judge(problem: FitProblem, unknowns: Float64Array, sigmaC: number): Judged {
  const shown = problem.parts.map((part) => {
    const into = new Float64Array(part.firing.shownC.length);
    showsC(problem, part, unknowns, into);
    return into;
  });
  let cost = 0;
  for (const [p, part] of problem.parts.entries()) {
    const made = shown[p] as Float64Array;
    const { shownC } = part.firing;
    for (let i = 0; i < shownC.length; i++) {
      const off = Math.abs(((shownC[i] as number) - (made[i] as number)) / sigmaC);
      if (Number.isNaN(off)) continue;
      cost += off <= ROBUST_SIGMAS ? 0.5 * off * off : ROBUST_SIGMAS * (off - 0.5 * ROBUST_SIGMAS);
    }
  }
  for (const [i, belief] of problem.beliefs.entries()) {
    const off = ((unknowns[i] as number) - belief.middle) / belief.sigma;
    cost += 0.5 * off * off;
  }
  for (const tie of problem.ties) {
    const off = ((unknowns[tie.after] as number) - (unknowns[tie.before] as number)) / tie.sigma;
    cost += 0.5 * off * off;
  }
  return { cost: Number.isFinite(cost) ? cost : Number.POSITIVE_INFINITY, shown };
}

function equations(
  problem: FitProblem,
  unknowns: Float64Array,
  shown: readonly Float64Array[],
  sigmaC: number,
): { normal: Float64Array[]; gradient: Float64Array } {
  const normal = Array.from({ length: problem.count }, () => new Float64Array(problem.count));
  const gradient = new Float64Array(problem.count);
  for (const [p, part] of problem.parts.entries()) {
    addFiring(problem, part, unknowns, shown[p] as Float64Array, sigmaC, normal, gradient);
  }
  for (const [i, belief] of problem.beliefs.entries()) {
    const weight = 1 / (belief.sigma * belief.sigma);
    (normal[i] as Float64Array)[i] = ((normal[i] as Float64Array)[i] as number) + weight;
    gradient[i] = (gradient[i] as number) - ((unknowns[i] as number) - belief.middle) * weight;
  }
  for (const { before, after, sigma } of problem.ties) {
    const weight = 1 / (sigma * sigma);
    const off = (unknowns[after] as number) - (unknowns[before] as number);
    add(normal, before, before, weight);
    add(normal, after, after, weight);
    add(normal, after, before, -weight);
    add(normal, before, after, -weight);
    gradient[after] = (gradient[after] as number) - off * weight;
    gradient[before] = (gradient[before] as number) + off * weight;
  }
  return { normal, gradient };
}

function add(matrix: readonly Float64Array[], row: number, column: number, value: number): void {
  const line = matrix[row] as Float64Array;
  line[column] = (line[column] as number) + value;
}

/** How the readings of one firing pull at the unknowns. */
function addFiring(
  problem: FitProblem,
  part: FiringPart,
  unknowns: Float64Array,
  base: Float64Array,
  sigmaC: number,
  normal: readonly Float64Array[],
  gradient: Float64Array,
): void {
  const { shownC } = part.firing;
  const columns = columnsOf(problem, part, unknowns, base);
  const weights = new Float64Array(shownC.length);
  for (let i = 0; i < shownC.length; i++) {
    const off = Math.abs(((shownC[i] as number) - (base[i] as number)) / sigmaC);
    weights[i] = Number.isNaN(off) ? 0 : (off <= ROBUST_SIGMAS ? 1 : ROBUST_SIGMAS / off) / (sigmaC * sigmaC);
  }
  for (const [a, one] of columns.entries()) {
    for (let b = 0; b <= a; b++) {
      const other = columns[b];
      if (other === undefined) break;
      let sum = 0;
      for (let i = Math.max(one.from, other.from); i < weights.length; i++) {
        sum += (weights[i] as number) * (one.slopes[i] as number) * (other.slopes[i] as number);
      }
      add(normal, one.index, other.index, sum);
      if (one.index !== other.index) add(normal, other.index, one.index, sum);
    }
    let pull = 0;
    for (let i = one.from; i < weights.length; i++) {
      if (weights[i] === 0) continue;
      pull += (weights[i] as number) * (one.slopes[i] as number) * ((shownC[i] as number) - (base[i] as number));
    }
    gradient[one.index] = (gradient[one.index] as number) + pull;
  }
}

interface Column {
  readonly index: number;
  readonly from: number;
  readonly slopes: Float64Array;
}

/** How much each reading moves with each unknown: by moving it a little. */
function columnsOf(problem: FitProblem, part: FiringPart, unknowns: Float64Array, base: Float64Array): Column[] {
  const marks: KilnState[] = [];
  const scratch = new Float64Array(base.length);
  if (part.blockFrom.length > 0) showsC(problem, part, unknowns, scratch, marks);
  const own = Array.from({ length: OWN_STARTS }, (_, i) => part.offset + i);
  const shared = [...Array(PARAMETER_COUNT).keys(), ...own];
  const columns = shared.map((index): Column => {
    const moved = Float64Array.from(unknowns);
    const by = index < PARAMETER_COUNT ? 1e-4 : index === part.offset + 2 ? 1 : 0.05;
    moved[index] = (moved[index] as number) + by;
    const slopes = new Float64Array(base.length);
    showsC(problem, part, moved, slopes);
    for (let i = 0; i < slopes.length; i++) slopes[i] = ((slopes[i] as number) - (base[i] as number)) / by;
    return { index, from: 0, slopes };
  });
  const byCPerH = 1;
  for (const [block, slopes] of showsWithBlocksMoved(problem, part, unknowns, marks, byCPerH).entries()) {
    const from = part.blockFrom[block] as number;
    for (let i = from; i < slopes.length; i++) slopes[i] = ((slopes[i] as number) - (base[i] as number)) / byCPerH;
    columns.push({ index: part.offset + OWN_STARTS + block, from, slopes });
  }
  return columns;
}

function solveDamped(normal: readonly Float64Array[], gradient: Float64Array, damping: number): Float64Array | null {
  const damped = normal.map((row, i) => {
    const copy = Float64Array.from(row);
    copy[i] = (copy[i] as number) * (1 + damping);
    return copy;
  });
  const lower = cholesky(damped);
  return lower === null ? null : solveCholesky(lower, gradient);
}
