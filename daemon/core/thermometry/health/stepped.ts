/** A way that goes on as it came, only lower from one minute to the next: the couple has been moved, or its terminals. */
import { fitLine } from '../../numbers/line-fit.ts';
import type { TimedC } from '../../numbers/timed-list.ts';
import { S_PER_H, secondsBetween } from '../../numbers/units.ts';

export interface Step {
  /** Where it was just before. */
  readonly from: TimedC;
}

/** A flickering flame stays within this. Ours. */
const LEAST_C = 14;
/** As a kiln is lit its couple goes up and down with the flame. Common practice, no source. */
const FROM_C = 150;
/**
 * What falls within so long and for so long since has strayed from its old way, lower by the same, by no more than this
 * share, at a pace between these shares of the old one or a little about it: that was no door, no flame and no hand, which
 * bend the way for minutes. Of 600 simulated firings with one couple, while they were heated, only those did so of which
 * the couple or its terminals leapt. Ours.
 */
const FALLS_S = 30;
const STANDS_S = 90;
const LEAST_COUNT = 6;
const STRAYS_RATIO = 0.08;
const PACE = { leastRatio: 0.4, mostRatio: 2.5, aboutPerS: 15 / S_PER_H } as const;

/** @param way the last minutes under heat, oldest first */
export function findStep(way: readonly TimedC[]): Step | null {
  const last = way[way.length - 1];
  const from = deepestFall(way);
  if (last === undefined || from === null) return null;
  const fallenMs = from.atMs + FALLS_S * 1000;
  if (secondsBetween(fallenMs, last.atMs) < STANDS_S) return null;
  const before = way.filter((p) => p.atMs <= from.atMs);
  const since = way.filter((p) => p.atMs >= fallenMs);
  if (before.length < LEAST_COUNT || since.length < LEAST_COUNT) return null;
  const old = fitLine(before, secondsBetween(before[0]?.atMs ?? from.atMs, from.atMs));
  const present = fitLine(since, secondsBetween(fallenMs, last.atMs));
  if (old === undefined || present === undefined) return null;
  const offsC = since.map((p) => old.atEndC + old.slopePerS * secondsBetween(from.atMs, p.atMs) - p.celsius);
  const byC = offsC.reduce((sum, offC) => sum + offC, 0) / offsC.length;
  const strayC = Math.hypot(...offsC.map((offC) => offC - byC)) / Math.sqrt(offsC.length);
  const goesOn =
    present.slopePerS >= PACE.leastRatio * old.slopePerS - PACE.aboutPerS &&
    present.slopePerS <= PACE.mostRatio * old.slopePerS + PACE.aboutPerS;
  const isStraight = Math.max(strayC, old.noiseC) < STRAYS_RATIO * byC;
  return byC >= LEAST_C && from.celsius >= FROM_C && goesOn && isStraight ? { from } : null;
}

/** Where the deepest fall in so short a time began. */
function deepestFall(way: readonly TimedC[]): TimedC | null {
  let from: TimedC | null = null;
  let mostC = LEAST_C / 2;
  let first = 0;
  for (const p of way) {
    let then = way[first];
    while (then !== undefined && secondsBetween(then.atMs, p.atMs) > FALLS_S) then = way[++first];
    if (then === undefined || then.celsius - p.celsius <= mostC) continue;
    mostC = then.celsius - p.celsius;
    from = then;
  }
  return from;
}
