/** A sensor's figure without its sparks, and how much it scatters. */
import { S_PER_MIN, secondsBetween } from '../../numbers/units.ts';
import { medianOf, type Shown } from './detector.ts';

export interface Calm {
  /** The figures of the last seconds, oldest first. */
  readonly recent: readonly { readonly atMs: number; readonly celsius: number }[];
  /** Middle one of them: one or two wild figures change nothing. */
  readonly calmC: number | null;
  /** Standard deviation of one figure, from how it differs from its neighbour. */
  readonly noiseC: number;
}

export const UNHEARD: Calm = { recent: [], calmC: null, noiseC: 0 };

const OVER_S = 7;
const LEAST_COUNT = 3;
const NOISE_SHARE = 0.04;
/** Mean size of a difference between two figures, over the spread of one: 2/√π. */
const DIFFERENCE_RATIO = 1.128;
/** A wild figure teaches nothing of the noise: not more than this times what is known, or so many degrees. */
const WILD_RATIO = 6;
const WILD_C = 4;

export function calmDown(calm: Calm, sample: Shown): Calm {
  const { atMs, celsius } = sample;
  const last = calm.recent[calm.recent.length - 1];
  // After a pause the old figures say nothing of now.
  const hasPaused = last !== undefined && secondsBetween(last.atMs, atMs) > 3 * S_PER_MIN;
  const kept = hasPaused ? [] : calm.recent;
  const youngest = Math.max(kept.length - LEAST_COUNT + 1, 0);
  let from = 0;
  while (from < youngest && atMs - (kept[from]?.atMs ?? atMs) > OVER_S * 1000) from++;
  const recent = kept.slice(from);
  recent.push({ atMs, celsius });
  const differenceC = last === undefined || hasPaused ? 0 : Math.abs(celsius - last.celsius);
  const countedC = Math.min(differenceC, WILD_RATIO * calm.noiseC + WILD_C) / DIFFERENCE_RATIO;
  return {
    recent,
    calmC: medianOf(recent.map((r) => r.celsius)),
    noiseC: calm.noiseC + NOISE_SHARE * (countedC - calm.noiseC),
  };
}
