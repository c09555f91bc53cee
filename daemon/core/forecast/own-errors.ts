/**
 * The forecast watches its own errors, so that its band is as wide as it is wrong: nine times of ten the truth is inside.
 * How wide is told by how far the opinions are apart, by the errors of late, and by a factor that grows with each truth
 * outside the band and shrinks with each one inside.
 *
 * Source of the factor: adaptive conformal inference (Gibbs and Candès 2021; from memory).
 */
import { BAND_SIGMAS } from '../numbers/band.ts';
import { clamp } from '../numbers/units.ts';

/** Of one judged look. */
export interface OwnErrors {
  /** Sum of the sizes of its errors, each by its share, forgotten as time goes, °C; and what share has been heard so far. */
  readonly sumC: number;
  readonly heardRatio: number;
  readonly bandRatio: number;
}

export const NO_ERRORS: OwnErrors = { sumC: 0, heardRatio: 0, bandRatio: 1 };

/** The share of truths outside. */
const OUTSIDE_RATIO = 0.1;
/** How fast the factor moves with each promise. */
const PACE = 0.04;
const NARROWEST = 0.25;
const WIDEST = 6;

/** @param sigmaC as it was promised, the factor included */
export function learnError(errors: OwnErrors, offC: number, sigmaC: number, keptRatio: number): OwnErrors {
  const isOutside = Math.abs(offC) > BAND_SIGMAS * sigmaC;
  return {
    sumC: keptRatio * errors.sumC + (1 - keptRatio) * Math.abs(offC),
    heardRatio: keptRatio * errors.heardRatio + (1 - keptRatio),
    bandRatio: clamp(errors.bandRatio * Math.exp(PACE * ((isOutside ? 1 : 0) - OUTSIDE_RATIO)), NARROWEST, WIDEST),
  };
}

/**
 * A farther look errs more: by the root of the way if errors add up as the steps of a random walk, in proportion to it if
 * the pace was misjudged (any text on time series; from memory). Between the two. Ours.
 */
const GROWS_BY = 0.75;

export function growthRatio(fromS: number, toS: number): number {
  return (toS / fromS) ** GROWS_BY;
}

/**
 * Standard deviation of what is foreseen at each judged look. What a look has not heard of itself yet is as the nearer
 * one's, grown by the way.
 * @param spreadsC how far the opinions are apart there
 * @param aheadS how far each look looks
 */
export function sigmasC(
  errors: readonly OwnErrors[],
  spreadsC: readonly number[],
  aheadS: readonly number[],
  noiseC: number,
): number[] {
  let ownC = noiseC;
  let ratio = 1;
  return errors.map(({ sumC, heardRatio, bandRatio }, judged) => {
    const grown = judged === 0 ? 1 : growthRatio(aheadS[judged - 1] ?? 1, aheadS[judged] ?? 1);
    ownC = sumC + (1 - heardRatio) * ownC * grown;
    ratio = heardRatio * bandRatio + (1 - heardRatio) * ratio;
    return Math.hypot(ratio * ownC, spreadsC[judged] ?? 0, noiseC);
  });
}
