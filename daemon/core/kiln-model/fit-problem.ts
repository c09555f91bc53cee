/**
 * The sum of squares that a fit makes small: for each firing the difference between what the model would have shown and
 * what the couple showed, and beside it the weak beliefs. The unknowns are the kiln's parameters and, for each firing,
 * where chamber and wall began and the heat of every few minutes in which nobody knows it.
 */
import { S_PER_H } from '../numbers/units.ts';
import { heatOf, KilnRun, type KilnState, restingState } from './kiln-model.ts';
import { type Belief, modelOf, PARAMETER_COUNT } from './kiln-parameters.ts';
import type { GriddedFiring } from './recorded-firing.ts';

export interface FitProblem {
  readonly heat: 'gas' | 'electric';
  readonly parts: readonly FiringPart[];
  /** One for each unknown. */
  readonly beliefs: readonly Belief[];
  /** Beliefs about differences of neighbouring unknown heats: how fast a hand or a controller changes it. */
  readonly ties: readonly Tie[];
  readonly count: number;
}

interface Tie {
  readonly before: number;
  readonly after: number;
  readonly sigma: number;
}

interface FiringPart {
  readonly firing: GriddedFiring;
  /** Where this firing's own unknowns begin: `OWN_STARTS` about its start, then its heats. */
  readonly offset: number;
  readonly startC: number;
  /** Warm as the record began: heat may have been on its way. */
  readonly isWarm: boolean;
  /** For each step the block whose heat is unknown, or -1. */
  readonly block: Int32Array;
  /** First step of each block. */
  readonly blockFrom: readonly number[];
}

/** Unknown heats are counted in this share of the steepest climb seen, so that all unknowns are of like size. */
export interface HeatScale {
  readonly heatCPerH: number;
}

const BLOCK_S = 240;
/** A short run has at most about so many blocks of unknown heat. Ours. */
const MOST_BLOCKS = 120;
/** From block to block a hand or a controller changes the heat by about this share of the steepest climb. From memory. */
const CHANGE_RATIO = 0.6;

export function fitProblem(
  firings: readonly GriddedFiring[],
  heat: 'gas' | 'electric',
  kilnBeliefs: readonly Belief[],
  heatScaleCPerH: number,
  coarser = 1,
): FitProblem {
  const beliefs: Belief[] = [...kilnBeliefs];
  const ties: Tie[] = [];
  const parts = firings.map((firing): FiringPart => {
    const offset = beliefs.length;
    const startC = firstReadingC(firing);
    const aboveRoomC = Math.abs(startC - firing.roomC);
    // A kiln that begins at the room's temperature is cold throughout; of a warm one's wall nobody knows.
    const isWarm = aboveRoomC >= 8;
    beliefs.push(
      { middle: 0, sigma: 2 },
      { middle: 0, sigma: isWarm ? Math.max(0.4 * aboveRoomC, 2) : 1 },
      { middle: 0, sigma: isWarm ? 0.5 * heatScaleCPerH : 0.1 * heatScaleCPerH },
    );
    const { block, blockFrom } = blocksOf(firing, coarser);
    for (const [i, from] of blockFrom.entries()) {
      const index = beliefs.length;
      const isAfterBlock = i > 0 && block[from - 1] === i - 1;
      beliefs.push({ middle: 0, sigma: 20 * heatScaleCPerH });
      if (isAfterBlock) ties.push({ before: index - 1, after: index, sigma: CHANGE_RATIO * heatScaleCPerH });
    }
    return { firing, offset, startC, isWarm, block, blockFrom };
  });
  return { heat, parts, beliefs, ties, count: beliefs.length };
}

function firstReadingC(firing: GriddedFiring): number {
  return firing.shownC.find((c) => !Number.isNaN(c)) ?? firing.roomC;
}

function blocksOf({ unknownRatio, stepS }: GriddedFiring, coarser: number): { block: Int32Array; blockFrom: number[] } {
  const block = new Int32Array(unknownRatio.length).fill(-1);
  const blockFrom: number[] = [];
  const spanS = unknownRatio.length * stepS;
  const unknownS = unknownRatio.filter((u) => u > 0).length * stepS;
  const length = Math.max(
    Math.round((coarser * Math.max(Math.min(BLOCK_S, spanS / 60), unknownS / MOST_BLOCKS)) / stepS),
    2,
  );
  let since = 0;
  for (let i = 1; i < unknownRatio.length; i++) {
    if (unknownRatio[i] === 0) continue;
    const isNew = block[i - 1] === -1 || i - since >= length;
    if (isNew) {
      since = i;
      blockFrom.push(i);
    }
    block[i] = blockFrom.length - 1;
  }
  return { block, blockFrom };
}

/** How far chamber, wall and arriving heat were at the start from what is likely. */
export const OWN_STARTS = 3;

/** Where a firing begins, by the unknowns. */
function startOf(part: FiringPart, unknowns: Float64Array, heatCPerH: number): KilnState {
  const chamberC = part.startC + (unknowns[part.offset] ?? 0);
  const wallC = chamberC + (unknowns[part.offset + 1] ?? 0);
  const arrivingCPerH = (part.isWarm ? heatCPerH : 0) + (unknowns[part.offset + 2] ?? 0);
  const rest = restingState(chamberC);
  return { ...rest, arrivingCPerH, wallC: rest.wallC.map(() => wallC) };
}

/** What the model shows at each instant of the grid, °C. */
export function showsC(
  problem: FitProblem,
  part: FiringPart,
  unknowns: Float64Array,
  into: Float64Array,
  marks?: KilnState[],
): void {
  const model = modelOf(unknowns, problem.heat);
  const heats = heatsOf(problem, part, unknowns);
  const run = new KilnRun(model, part.firing.roomC, startOf(part, unknowns, heats[1] ?? 0));
  into[0] = run.shownC;
  advance(run, part, heats, 1, into, marks);
}

/**
 * What the model shows with the heat of one block after the other changed by `byCPerH`: from the first step of the block
 * on, out of the states marked by `showsC`.
 */
export function showsWithBlocksMoved(
  problem: FitProblem,
  part: FiringPart,
  unknowns: Float64Array,
  marks: readonly KilnState[],
  byCPerH: number,
): Float64Array[] {
  const model = modelOf(unknowns, problem.heat);
  const heats = heatsOf(problem, part, unknowns);
  return part.blockFrom.map((from, block) => {
    const moved = Float64Array.from(heats);
    for (let i = from; part.block[i] === block; i++) {
      moved[i] = (moved[i] as number) + (part.firing.unknownRatio[i] as number) * byCPerH;
    }
    // The first block may also be the heat that was on its way as the record began.
    const state = from === 1 ? startOf(part, unknowns, moved[1] ?? 0) : (marks[block] as KilnState);
    const into = new Float64Array(moved.length);
    advance(new KilnRun(model, part.firing.roomC, state), part, moved, from, into);
    return into;
  });
}

function heatsOf(problem: FitProblem, part: FiringPart, unknowns: Float64Array): Float64Array {
  const model = modelOf(unknowns, problem.heat);
  const { ratio, unknownRatio } = part.firing;
  const heats = new Float64Array(ratio.length);
  let lastRatio = Number.NaN;
  let lastHeat = 0;
  for (let i = 1; i < ratio.length; i++) {
    const now = ratio[i] as number;
    if (now !== lastRatio) {
      lastRatio = now;
      lastHeat = heatOf(model, now);
    }
    const share = unknownRatio[i] as number;
    const block = part.block[i] as number;
    const unknownHeat = block >= 0 ? (unknowns[part.offset + OWN_STARTS + block] as number) : 0;
    heats[i] = (1 - share) * lastHeat + share * unknownHeat;
  }
  return heats;
}

function advance(
  run: KilnRun,
  part: FiringPart,
  heats: Float64Array,
  from: number,
  into: Float64Array,
  marks?: KilnState[],
): void {
  const { stepS } = part.firing;
  for (let i = from; i < heats.length; i++) {
    const block = part.block[i] as number;
    if (marks !== undefined && block >= 0 && part.blockFrom[block] === i) marks[block] = run.state();
    run.step(stepS, heats[i] as number);
    into[i] = run.shownC;
  }
}

/** Heat that came in over the firing, as °C/h: the greatest that was kept up for `forS`. */
export function greatestHeatCPerH(part: FiringPart, unknowns: Float64Array, forS: number): number {
  const { stepS } = part.firing;
  const heats = part.firing.ratio.map((_, i) => {
    const block = part.block[i] as number;
    return block >= 0 ? (unknowns[part.offset + OWN_STARTS + block] as number) : 0;
  });
  const length = Math.max(Math.round(forS / stepS), 1);
  let sum = 0;
  let greatest = 0;
  for (let i = 1; i < heats.length; i++) {
    sum += heats[i] as number;
    if (i > length) sum -= heats[i - length] as number;
    if (i >= length) greatest = Math.max(greatest, sum / length);
  }
  return greatest;
}

/** Steepest climb over about a fiftieth of the run, °C/h. */
export function steepestClimbCPerH(firing: GriddedFiring): number {
  const { shownC, stepS } = firing;
  const apart = Math.max(Math.round(shownC.length / 50), 2);
  let steepest = 0;
  for (let i = apart; i < shownC.length; i++) {
    const riseC = (shownC[i] ?? Number.NaN) - (shownC[i - apart] ?? Number.NaN);
    if (riseC > 0) steepest = Math.max(steepest, (riseC / (apart * stepS)) * S_PER_H);
  }
  return steepest;
}

export type { FiringPart };
export { PARAMETER_COUNT };
