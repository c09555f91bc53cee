/**
 * What is ahead of the kiln, for the rules and the page: two curves with their spread, up to half an hour.
 *
 * `expected` is what will most likely be shown: where controller or hand has followed the plan it will follow it further.
 * `untouched` is where the kiln goes with the heat that it has now, if nobody and nothing turns it.
 */
import { clamp } from '../numbers/units.ts';

/** Between its points by straight lines. The first point is now. */
export interface Curve {
  readonly aheadS: readonly number[];
  readonly celsius: readonly number[];
  /** Standard deviation of what will be read there; the band of 90 % is 1.645 of them to each side. */
  readonly sigmaC: readonly number[];
}

export interface Prospect {
  readonly atMs: number;
  /** What the kiln is now, the noise of a single reading taken out; and that noise. */
  readonly fromC: number;
  readonly noiseC: number;
  /** The present rate with its standard error, °C/s. */
  readonly ratePerS: number;
  readonly rateSigmaPerS: number;
  readonly expected: Curve;
  readonly untouched: Curve;
}

export interface Band {
  readonly lowC: number;
  readonly highC: number;
}

/** Nothing is said of what lies further ahead. */
export const FARTHEST_S = 1800;
/** 90 % of a normal distribution lie within so many standard deviations. */
const BAND_SIGMAS = 1.645;

/** °C `aheadS` after the curve's instant; beyond its end, its end. */
export function aheadC(curve: Curve, aheadS: number): number {
  return between(curve.aheadS, curve.celsius, aheadS);
}

/** Standard deviation of that, °C. */
export function aheadSigmaC(curve: Curve, aheadS: number): number {
  return between(curve.aheadS, curve.sigmaC, aheadS);
}

/** Holds what will be read there nine times of ten. */
export function aheadBandC(curve: Curve, aheadS: number): Band {
  const middleC = aheadC(curve, aheadS);
  const halfC = BAND_SIGMAS * aheadSigmaC(curve, aheadS);
  return { lowC: middleC - halfC, highC: middleC + halfC };
}

/** Seconds until the curve first passes `goalC`, 0 if it is there; Infinity if it does not within its length. */
export function crossesAfterS(curve: Curve, goalC: number): number {
  const { aheadS, celsius } = curve;
  for (let i = 1; i < aheadS.length; i++) {
    const fromC = celsius[i - 1] ?? goalC;
    const toC = celsius[i] ?? goalC;
    if ((fromC - goalC) * (toC - goalC) > 0) continue;
    const fromS = aheadS[i - 1] ?? 0;
    const shareRatio = toC === fromC ? 0 : (goalC - fromC) / (toC - fromC);
    return fromS + shareRatio * ((aheadS[i] ?? fromS) - fromS);
  }
  return Number.POSITIVE_INFINITY;
}

/** The hottest point of the curve. */
export function hottest(curve: Curve): { readonly aheadS: number; readonly celsius: number } {
  let at = 0;
  for (let i = 1; i < curve.celsius.length; i++) if ((curve.celsius[i] ?? 0) > (curve.celsius[at] ?? 0)) at = i;
  return { aheadS: curve.aheadS[at] ?? 0, celsius: curve.celsius[at] ?? Number.NaN };
}

/** How likely it is to be above `limitC` there, 0 to 1, by a normal distribution. */
export function aboveRatio(curve: Curve, aheadS: number, limitC: number): number {
  const sigmaC = Math.max(aheadSigmaC(curve, aheadS), 1e-6);
  return normalRatio((aheadC(curve, aheadS) - limitC) / sigmaC);
}

/** Source: the logistic approximation of the normal distribution, off by less than 0.01 (from memory). */
function normalRatio(sigmas: number): number {
  return 1 / (1 + Math.exp(-clamp(1.702 * sigmas, -40, 40)));
}

function between(at: readonly number[], values: readonly number[], aheadS: number): number {
  let i = 1;
  while (i < at.length - 1 && (at[i] ?? 0) < aheadS) i++;
  const fromS = at[i - 1] ?? 0;
  const toS = at[i] ?? fromS;
  const from = values[i - 1] ?? Number.NaN;
  const to = values[i] ?? from;
  return toS === fromS ? from : from + (to - from) * clamp((aheadS - fromS) / (toS - fromS), 0, 1);
}
