/** A straight line through readings of which a few may be wild or all be rounded, and how sure its slope then is. */
import { fitLine, fitLineOf, type LineFit, type TimedC } from './line-fit.ts';
import { countOf, olderFigures, readingAt, type TimedList } from './timed-list.ts';

/**
 * So many times the usual distance from the line is wild. The usual one is the median, which single readings do not move;
 * of a normal distribution it is 0.674 standard deviations.
 */
const WILD_SIGMAS = 4;
const MEDIAN_SIGMAS = 0.674;
/** Rounding alone takes a reading half a step off, never this many steps. */
const WILD_STEPS = 1.5;
/** It is worth looking for wild readings where one is further off than any is by chance; fewer readings hide them better. */
const SUSPECT_SIGMAS = { few: 1.9, many: 3.3 } as const;
const FEW = 20;
/** Readings that say the same as often as this are rounded. */
const SAME_RATIO = 0.3;
/** The slope of a rounded line is off by about this share of a step over its length, the less the more steps it took. Ours. */
const STEP_RATIO = 0.6;

/** As `fitLine`, without wild readings, and unsure of its slope by the readings' rounding too. */
export function fitRobustLine(readings: TimedList, windowS: number): LineFit | undefined {
  const fit = fitLineOf(readings, windowS);
  const last = readingAt(readings, countOf(readings) - 1);
  if (fit === undefined || last === undefined) return undefined;
  const from = countOf(readings) - fit.count;
  const steps = stepsOf(readings, from);
  const kept = withoutWild(readings, from, fit, steps.sizeC);
  const line = kept === null ? fit : (fitLine(kept, windowS) ?? fit);
  const spanS = (last.atMs - (readingAt(readings, from)?.atMs ?? last.atMs)) / 1000;
  const roundedPerS = (STEP_RATIO * steps.sizeC) / (spanS * Math.sqrt(1 + steps.count));
  return { ...line, slopeSigmaPerS: Math.hypot(line.slopeSigmaPerS, roundedPerS) };
}

/** null where none is wild. */
function withoutWild(readings: TimedList, from: number, fit: LineFit, stepC: number): TimedC[] | null {
  const last = readingAt(readings, countOf(readings) - 1);
  if (last === undefined) return null;
  const lastMs = last.atMs;
  const { young } = readings;
  const older = olderFigures(readings);
  const border = older.atMs.length;
  let mostC = 0;
  for (let i = from; i < border; i++) {
    const off = distanceC(fit, lastMs, older.atMs[i] ?? 0, older.celsius[i] ?? 0);
    if (off > mostC) mostC = off;
  }
  for (let i = Math.max(from - border, 0); i < young.length; i++) {
    const reading = young[i];
    const off = reading === undefined ? 0 : distanceC(fit, lastMs, reading.atMs, reading.celsius);
    if (off > mostC) mostC = off;
  }
  const suspect = fit.count < FEW ? SUSPECT_SIGMAS.few : SUSPECT_SIGMAS.many;
  if (mostC <= suspect * fit.noiseC || mostC <= WILD_STEPS * stepC) return null;
  const offC = new Float64Array(fit.count);
  for (let i = 0; i < fit.count; i++) {
    const { atMs, celsius } = readingAt(readings, from + i) ?? last;
    offC[i] = distanceC(fit, lastMs, atMs, celsius);
  }
  const median = offC.slice().sort()[offC.length >> 1] ?? 0;
  const wildC = Math.max((WILD_SIGMAS * median) / MEDIAN_SIGMAS, WILD_STEPS * stepC);
  const kept: TimedC[] = [];
  for (const [i, off] of offC.entries()) {
    const reading = readingAt(readings, from + i);
    if (off <= wildC && reading !== undefined) kept.push(reading);
  }
  // The latest alone may be the first of a true change: it is never the one left out.
  return kept.length < 3 || kept.length === offC.length || kept[kept.length - 1] !== last ? null : kept;
}

/** How far a reading is off the line, whose end is at `lastMs`. */
function distanceC({ atEndC, slopePerS }: LineFit, lastMs: number, atMs: number, celsius: number): number {
  return Math.abs(celsius - atEndC - (slopePerS * (atMs - lastMs)) / 1000);
}

/** The step that rounded readings move by, and how often they moved; nothing where they are not rounded. */
function stepsOf(readings: TimedList, from: number): { sizeC: number; count: number } {
  let sizeC = Number.POSITIVE_INFINITY;
  let count = 0;
  const end = countOf(readings);
  const { young } = readings;
  const older = olderFigures(readings);
  const border = older.atMs.length;
  let beforeC = readingAt(readings, from)?.celsius ?? 0;
  for (let i = from + 1; i < end; i++) {
    const celsius = i < border ? (older.celsius[i] ?? 0) : (young[i - border]?.celsius ?? 0);
    const stepC = Math.abs(celsius - beforeC);
    beforeC = celsius;
    if (stepC === 0) continue;
    count++;
    if (stepC < sizeC) sizeC = stepC;
  }
  const all = end - from - 1;
  return count === 0 || all - count < SAME_RATIO * all ? { sizeC: 0, count: 0 } : { sizeC, count };
}
