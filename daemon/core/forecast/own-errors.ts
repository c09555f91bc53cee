/**
 * The forecast watches its own errors, so that its band is as wide as it is wrong: nine times of ten the truth is inside.
 * How wide is told by how far the opinions are apart, by the errors of late, and by a factor that grows with each truth
 * outside the band and shrinks with each one inside.
 *
 * Source of the factor: adaptive conformal inference (Gibbs and Candès 2021; from memory).
 */
import { clamp } from '../numbers/units.ts';

/** Of one judged look. */
export interface OwnErrors {
  /** Mean square of the errors, forgotten as time goes; null before the first. */
  readonly meanSquare: number | null;
  readonly bandRatio: number;
}

export const NO_ERRORS: OwnErrors = { meanSquare: null, bandRatio: 1 };

/** The share of truths outside. */
const OUTSIDE_RATIO = 0.1;
/** How fast the factor moves with each promise. */
const PACE = 0.08;
const NARROWEST = 0.25;
const WIDEST = 6;
/** One wild error counts as one of so many times the usual size. */
const MOST_RATIO = 4;
/** 90 % of a normal distribution lie within so many standard deviations. */
export const BAND_SIGMAS = 1.645;

/** @param sigmaC as it was promised, the factor included */
export function learnError(errors: OwnErrors, offC: number, sigmaC: number, keptRatio: number): OwnErrors {
  const isOutside = Math.abs(offC) > BAND_SIGMAS * sigmaC;
  const bandRatio = clamp(errors.bandRatio * Math.exp(PACE * ((isOutside ? 1 : 0) - OUTSIDE_RATIO)), NARROWEST, WIDEST);
  const usual = errors.meanSquare ?? offC * offC;
  const square = Math.min(offC * offC, MOST_RATIO ** 2 * Math.max(usual, sigmaC * sigmaC));
  return { bandRatio, meanSquare: usual + (1 - keptRatio) * (square - usual) };
}

/**
 * Standard deviation of what is foreseen at each judged look.
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
  return errors.map((own, judged) => {
    // Before its first promise has fallen due a look errs as the nearer one, in proportion to the way.
    const growth = judged === 0 ? 1 : (aheadS[judged] ?? 1) / (aheadS[judged - 1] ?? 1);
    ownC = own.meanSquare === null ? ownC * growth : Math.sqrt(own.meanSquare);
    ratio = own.meanSquare === null ? ratio : own.bandRatio;
    return ratio * Math.hypot(ownC, spreadsC[judged] ?? 0, noiseC);
  });
}
