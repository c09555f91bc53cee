/** The latest way of the kiln and of its plan, as far as the look ahead needs them. */
import type { TimedC } from '../numbers/line-fit.ts';
import type { Foresight } from './foresight.ts';
import { lineOf } from './lines.ts';
import { JUDGED, judgedS } from './looks.ts';

/** The range of a look fades over so many times its length. */
const RANGE_LASTS_RATIO = 4;
const LONGEST_LATE_MS = 330_000;
const PLANNED_EACH_MS = 4000;
/** Of the distance to a line drawn from earlier readings so much is one reading's own noise. */
const NOISE_RATIO = 0.8;
const NOISE_PACE = 0.05;

/** The highest and lowest of late, for each judged look. */
export function seeRange(
  { highsC, lowsC }: Foresight,
  celsius: number,
  stepS: number,
): Pick<Foresight, 'highsC' | 'lowsC'> {
  if (highsC.length === 0) return { highsC: JUDGED.map(() => celsius), lowsC: JUDGED.map(() => celsius) };
  const highs = highsC.slice();
  const lows = lowsC.slice();
  for (let judged = 0; judged < highs.length; judged++) {
    const share = Math.min(stepS / (judgedS(judged) * RANGE_LASTS_RATIO), 1);
    const highC = highsC[judged] ?? celsius;
    const lowC = lowsC[judged] ?? celsius;
    highs[judged] = Math.max(celsius, highC + (celsius - highC) * share);
    lows[judged] = Math.min(celsius, lowC + (celsius - lowC) * share);
  }
  return { highsC: highs, lowsC: lows };
}

/** How far single readings are off the line of those before them: mean of the distance, forgotten over some 20 readings. */
export function learnNoise(
  { lines, noiseC }: Foresight,
  window: number,
  now: TimedC,
  stepS: number,
  isLeap: boolean,
): number {
  if (lines.last === null || isLeap || lines.intervalS === 0) return noiseC;
  const line = lineOf(lines, window);
  const offC = Math.abs(now.celsius - line.levelC - line.slopePerS * stepS);
  return noiseC + NOISE_PACE * (NOISE_RATIO * offC - noiseC);
}

/** What the plan wanted lately, the present instant last. */
export function rememberPlan(planned: readonly TimedC[], now: TimedC, plannedC: number): readonly TimedC[] {
  const latest = { atMs: now.atMs, celsius: plannedC };
  const last = planned[planned.length - 2];
  // The last one is always the present one; those before it are PLANNED_EACH_MS apart.
  const settled = last !== undefined && now.atMs - last.atMs < PLANNED_EACH_MS ? planned.slice(0, -1) : planned;
  const first = settled[0];
  if (first !== undefined && now.atMs - first.atMs > 1.25 * LONGEST_LATE_MS) {
    return [...settled.filter((p) => now.atMs - p.atMs <= LONGEST_LATE_MS), latest];
  }
  return [...settled, latest];
}
