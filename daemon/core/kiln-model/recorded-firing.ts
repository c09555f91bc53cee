/** A recorded firing as a fit reads it: readings and heat on an even grid of time. */

/** Heat from an instant on: its setting as a share of full, or null where nobody knows. */
export interface HeatFrom {
  readonly atMs: number;
  readonly ratio: number | null;
}

/** A stretch whose heat says nothing of the shut kiln: the door was open, and for a while after. */
export interface LeftOut {
  readonly fromMs: number;
  readonly toMs: number;
}

export interface RecordedFiring {
  readonly name: string;
  readonly readings: readonly { readonly atMs: number; readonly celsius: number }[];
  /** In order of time; before the first nobody knows. */
  readonly heat: readonly HeatFrom[];
  readonly leftOut: readonly LeftOut[];
  readonly roomC: number;
}

export interface GriddedFiring {
  readonly name: string;
  readonly startMs: number;
  readonly stepS: number;
  /** Mean reading about each instant of the grid, NaN where there is none. */
  readonly shownC: Float64Array;
  /** Mean setting over that part of the step which ends at each instant in which it is known. */
  readonly ratio: Float64Array;
  /** The part of the step in which nobody knows it, 0 to 1. */
  readonly unknownRatio: Float64Array;
  readonly roomC: number;
}

/** Fitting needs no finer grid: nothing in a kiln moves faster. Ours. */
const COARSEST_STEP_S = 30;
/** A short run of a small plant is cut into about so many steps. Ours. */
const STEPS = 700;

/**
 * @param coarser so many times the step that the run deserves
 * @returns null with fewer than 20 readings, or all at one instant
 */
export function gridFiring(firing: RecordedFiring, coarser = 1): GriddedFiring | null {
  const { readings, heat } = firing;
  const startMs = readings[0]?.atMs ?? 0;
  const endMs = readings[readings.length - 1]?.atMs ?? 0;
  const spanS = (endMs - startMs) / 1000;
  if (readings.length < 20 || spanS <= 0) return null;
  const stepS = coarser * Math.min(Math.max(spanS / STEPS, spanS / readings.length), COARSEST_STEP_S);
  const count = Math.floor(spanS / stepS) + 1;
  const sums = new Float64Array(count);
  const counts = new Float64Array(count);
  for (const [i, { atMs, celsius }] of readings.entries()) {
    const at = Math.round((atMs - startMs) / 1000 / stepS);
    if (at < 0 || at >= count || isGlitch(readings, i)) continue;
    sums[at] = (sums[at] ?? 0) + celsius;
    counts[at] = (counts[at] ?? 0) + 1;
  }
  const shownC = sums.map((sum, i) => ((counts[i] ?? 0) > 0 ? sum / (counts[i] ?? 1) : Number.NaN));
  const { ratio, unknownRatio } = meanRatios(heat, startMs, stepS, count);
  for (let i = 1; i < count; i++) {
    // While it stands open heat leaves that no setting tells of; what it shows still tells how warm the wall becomes.
    if (isLeftOut(firing.leftOut, startMs + i * stepS * 1000)) unknownRatio[i] = 1;
  }
  return { name: firing.name, startMs, stepS, shownC, ratio, unknownRatio, roomC: firing.roomC };
}

/** No kiln moves this far between two readings and back. From memory. */
const GLITCH_C = 25;

/** A reading that stands alone, far off the middle one of the five about it. */
function isGlitch(readings: RecordedFiring['readings'], index: number): boolean {
  const about = readings.slice(Math.max(index - 2, 0), index + 3).map((r) => r.celsius);
  const middleC = about.sort((a, b) => a - b)[about.length >> 1] ?? 0;
  return Math.abs((readings[index]?.celsius ?? 0) - middleC) > GLITCH_C;
}

function isLeftOut(stretches: readonly LeftOut[], atMs: number): boolean {
  return stretches.some((s) => atMs >= s.fromMs && atMs < s.toMs);
}

/** The mean over each step of a setting that is kept until the next one. */
function meanRatios(
  heat: readonly HeatFrom[],
  startMs: number,
  stepS: number,
  count: number,
): Pick<GriddedFiring, 'ratio' | 'unknownRatio'> {
  const ratio = new Float64Array(count);
  const unknownRatio = new Float64Array(count);
  const stepMs = stepS * 1000;
  let next = 0;
  let now: number | null = null;
  while ((heat[next]?.atMs ?? Number.POSITIVE_INFINITY) <= startMs) now = heat[next++]?.ratio ?? null;
  for (let i = 1; i < count; i++) {
    const endMs = startMs + i * stepMs;
    let fromMs = endMs - stepMs;
    let sum = 0;
    let knownMs = 0;
    for (;;) {
      const change = heat[next];
      const isInStep = change !== undefined && change.atMs < endMs;
      const untilMs = isInStep ? change.atMs : endMs;
      if (now !== null) {
        sum += now * (untilMs - fromMs);
        knownMs += untilMs - fromMs;
      }
      if (!isInStep) break;
      fromMs = untilMs;
      now = change.ratio;
      next++;
    }
    ratio[i] = knownMs > 0 ? sum / knownMs : 0;
    unknownRatio[i] = 1 - knownMs / stepMs;
  }
  return { ratio, unknownRatio };
}

/** The coldest reading after the firing's hottest while nothing was left out: how far down its fall was seen. */
export function seenFallC({ readings, leftOut }: RecordedFiring): number {
  let hottestC = Number.NEGATIVE_INFINITY;
  let coldestC = Number.POSITIVE_INFINITY;
  for (const { atMs, celsius } of readings) {
    if (celsius > hottestC) {
      hottestC = celsius;
      coldestC = celsius;
    } else if (!isLeftOut(leftOut, atMs)) coldestC = Math.min(coldestC, celsius);
  }
  return coldestC;
}
