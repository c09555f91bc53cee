/**
 * A couple that ages in the firing, or is poisoned, and shows ever less or ever more. One couple alone can't tell; of two
 * nobody knows which; from three on it is the one that leaves while the others stay together.
 */
import { S_PER_H, S_PER_MIN, secondsBetween } from '../../numbers/units.ts';
import { type Detector, type DetectorContext, degrees, isShown, medianOf, type SensorFault } from './detector.ts';

export interface DriftState {
  /** Means of a few minutes each, oldest first. */
  readonly blocks: readonly Block[];
  readonly open: Block | null;
  readonly fault: SensorFault | null;
}

interface Block {
  readonly fromMs: number;
  /** How far this sensor was from the middle of the others, on average. */
  readonly awayC: number;
  /** How far the others were apart. */
  readonly spreadC: number;
  readonly othersC: number;
  readonly count: number;
}

const BLOCK_S = 5 * S_PER_MIN;
/** Longest stretch that is looked at. */
const MOST_BLOCKS = 13;
const LEAST_BLOCKS = 4;
/** This much away from where it was to the others, beyond what the others move against each other. Ours. */
const DRIFTED_C = 10;
const OTHERS_RATIO = 2.5;
/** Slower ageing shows in the next calibration, not in a firing. */
const LEAST_C_PER_H = 8;
/** It goes on and on: each third of the way has its part. */
const PART_RATIO = 0.12;

export const drift: Detector<DriftState> = {
  begin: { blocks: [], open: null, fault: null },
  judge(state, sample, context) {
    const othersC = context.others.map((o) => o.celsius);
    const middleC = medianOf(othersC);
    if (!isShown(sample) || middleC === null || othersC.length < 2) return { state, fault: state.fault };
    // An opened kiln cools unevenly, and is uneven for a while.
    if (context.isOpen) return { state: drift.begin, fault: null };
    const spreadC = Math.max(...othersC) - Math.min(...othersC);
    const open = addTo(state.open, sample.atMs, sample.celsius - middleC, spreadC, middleC);
    if (secondsBetween(open.fromMs, sample.atMs) < BLOCK_S) return { state: { ...state, open }, fault: state.fault };
    const blocks = [...state.blocks, open].slice(-MOST_BLOCKS);
    const fault = judgeBlocks(blocks, state.fault, context);
    return { state: { blocks, open: null, fault }, fault };
  },
};

function addTo(open: Block | null, atMs: number, awayC: number, spreadC: number, othersC: number): Block {
  if (open === null) return { fromMs: atMs, awayC, spreadC, othersC, count: 1 };
  const count = open.count + 1;
  const mean = (before: number, now: number): number => before + (now - before) / count;
  return {
    fromMs: open.fromMs,
    awayC: mean(open.awayC, awayC),
    spreadC: mean(open.spreadC, spreadC),
    othersC: mean(open.othersC, othersC),
    count,
  };
}

/** Any stretch that ends now and is long enough may show it. */
function judgeBlocks(
  blocks: readonly Block[],
  standing: SensorFault | null,
  context: DetectorContext,
): SensorFault | null {
  const last = blocks[blocks.length - 1];
  if (last === undefined) return null;
  for (let from = 0; from + LEAST_BLOCKS <= blocks.length; from++) {
    const stretch = blocks.slice(from);
    const first = stretch[0];
    if (first === undefined || !isDrift(stretch, first, last)) continue;
    if (standing !== null) return standing;
    const byC = last.awayC - first.awayC;
    return {
      cause: 'drift',
      sinceMs: first.fromMs,
      sentence: `${context.sensor} has moved ${degrees(Math.abs(byC))} ${byC < 0 ? 'down' : 'up'} against the other sensors, which kept together: it drifts.`,
    };
  }
  // What has drifted stays off, though it may have stopped drifting.
  return standing;
}

function isDrift(stretch: readonly Block[], first: Block, last: Block): boolean {
  const byC = last.awayC - first.awayC;
  const hours = secondsBetween(first.fromMs, last.fromMs) / S_PER_H;
  const spreads = stretch.map((b) => b.spreadC);
  const othersMovedC = Math.max(...spreads) - Math.min(...spreads);
  if (Math.abs(byC) < Math.max(DRIFTED_C, OTHERS_RATIO * othersMovedC)) return false;
  if (Math.abs(byC) < LEAST_C_PER_H * hours) return false;
  // A leap or a slip has its own name.
  const third = Math.floor((stretch.length - 1) / 3);
  const at = (i: number): number => stretch[i]?.awayC ?? 0;
  const parts = [at(third) - at(0), at(2 * third) - at(third), at(stretch.length - 1) - at(2 * third)];
  return third > 0 && parts.every((part) => part / byC >= PART_RATIO);
}
