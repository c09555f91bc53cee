/** How the pace of the trace grows or dies away, by the parabola that fits it best: a bottle that sinks, a jet that clogs. */
import { FILLED_RATIO, type Trace, traceSpanS } from './trace.ts';

/** A pace that grows or dies away over a stretch of the trace. */
export interface TraceBow {
  /** The pace at the earlier and at the later end, °C/s, by the parabola that fits best. */
  readonly atStartPerS: number;
  readonly atEndPerS: number;
  /** Standard error of their difference, where waves about the parabola count as slow as they are. */
  readonly changeSigmaPerS: number;
  /** How far it rose above the parabola at most, °C: a relay's swing, and noise. */
  readonly highestC: number;
}

/** Waves of the hand and a relay's ripple are alike for about so long: two readings within it say no more than one. From memory. */
const ALIKE_S = 120;

/**
 * The parabola through the last `fromS`, by least squares; null where the trace is too short or too sparse. The error of
 * the change of pace over a stretch S from n readings that scatter by r is 2 r √(180/n) / S, as for any parabola through
 * evenly spaced points (Draper and Smith, Applied Regression Analysis, on orthogonal polynomials).
 */
export function traceBow(trace: Trace, fromS: number): TraceBow | null {
  const { bins } = trace;
  const last = bins[bins.length - 1];
  if (last === undefined || traceSpanS(trace) < fromS * FILLED_RATIO) return null;
  let first = bins.length - 1;
  while (first > 0 && (last.atMs - (bins[first - 1]?.atMs ?? 0)) / 1000 <= fromS) first--;
  const start = bins[first];
  if (start === undefined || bins.length - first < 6) return null;
  const spanS = (last.atMs - start.atMs) / 1000;
  const middleMs = (last.atMs + start.atMs) / 2;
  const sums = [0, 0, 0, 0, 0];
  const means = [0, 0, 0];
  for (let i = first; i < bins.length; i++) {
    const bin = bins[i];
    if (bin === undefined) continue;
    // From -1 to 1, so that the sums stay tame.
    const t = (2 * (bin.atMs - middleMs)) / 1000 / spanS;
    const c = bin.celsius - last.celsius;
    let power = bin.count;
    for (let k = 0; k < 5; k++) {
      sums[k] = (sums[k] ?? 0) + power;
      if (k < 3) means[k] = (means[k] ?? 0) + power * c;
      power *= t;
    }
  }
  const fit = solveParabola(sums, means);
  if (fit === null) return null;
  const [a, b, c] = fit;
  let squares = 0;
  let weight = 0;
  let highestC = 0;
  for (let i = first; i < bins.length; i++) {
    const bin = bins[i];
    if (bin === undefined) continue;
    const t = (2 * (bin.atMs - middleMs)) / 1000 / spanS;
    const offC = bin.celsius - last.celsius - a - b * t - c * t * t;
    squares += bin.count * offC * offC;
    weight += bin.count;
    highestC = Math.max(highestC, offC);
  }
  const scatterC = Math.max(Math.sqrt(squares / weight), 0.3 * trace.noiseC);
  const apart = Math.max(Math.min(spanS / ALIKE_S, bins.length - first), 3);
  const perT = 2 / spanS;
  return {
    atStartPerS: (b - 2 * c) * perT,
    atEndPerS: (b + 2 * c) * perT,
    changeSigmaPerS: (2 * scatterC * Math.sqrt(180 / apart)) / spanS,
    highestC,
  };
}

/** Cramer's rule for the three normal equations. */
function solveParabola(sums: readonly number[], means: readonly number[]): readonly [number, number, number] | null {
  const [s0 = 0, s1 = 0, s2 = 0, s3 = 0, s4 = 0] = sums;
  const [m0 = 0, m1 = 0, m2 = 0] = means;
  const p = s2 * s4 - s3 * s3;
  const q = s1 * s4 - s2 * s3;
  const r = s1 * s3 - s2 * s2;
  const all = s0 * p - s1 * q + s2 * r;
  if (Math.abs(all) < 1e-9) return null;
  const a = (m0 * p - s1 * (m1 * s4 - m2 * s3) + s2 * (m1 * s3 - m2 * s2)) / all;
  const b = (s0 * (m1 * s4 - m2 * s3) - m0 * q + s2 * (s1 * m2 - s2 * m1)) / all;
  const c = (s0 * (s2 * m2 - s3 * m1) - s1 * (s1 * m2 - s2 * m1) + m0 * r) / all;
  return [a, b, c];
}
