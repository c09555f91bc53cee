/**
 * What is ahead of the kiln, for the rules and the page: two curves, up to half an hour.
 *
 * `expected` is what will most likely be shown: where controller or hand has followed the plan it will follow it further.
 * `untouched` is where the kiln goes with the heat that it has now, if nobody and nothing turns it.
 */

import { BAND_SIGMAS } from '../numbers/band.ts';
import { clamp } from '../numbers/units.ts';

/** Between its points by straight lines. The first point is now. */
export interface Curve {
  readonly aheadS: readonly number[];
  readonly celsius: readonly number[];
}

/** With the standard deviation of what will be read there; the band of 90 % is 1.645 of them to each side. */
export interface BandedCurve extends Curve {
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
  readonly expected: BandedCurve;
  readonly untouched: Curve;
}

export interface Band {
  readonly lowC: number;
  readonly highC: number;
}

/** Nothing is said of what lies further ahead. */
export const FARTHEST_S = 1800;

/** °C `aheadS` after the curve's instant; beyond its end, its end. */
export function aheadC(curve: Curve, aheadS: number): number {
  return between(curve.aheadS, curve.celsius, aheadS);
}

/** Holds what will be read there nine times of ten. */
export function aheadBandC(curve: BandedCurve, aheadS: number): Band {
  const middleC = aheadC(curve, aheadS);
  const halfC = BAND_SIGMAS * between(curve.aheadS, curve.sigmaC, aheadS);
  return { lowC: middleC - halfC, highC: middleC + halfC };
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
