/** How far off a thermocouple of ordinary quality may be, and between which temperatures it means anything. */

export interface Letter {
  /** Range of the published EMF table, °C. */
  readonly fromC: number;
  readonly toC: number;
  /** Tolerance class 2: the larger of `absoluteC` and `relative` times the temperature. */
  readonly absoluteC: number;
  readonly relative: number;
}

/**
 * Ranges: NIST ITS-90 thermocouple tables (SRD 60). Tolerances: IEC 60584-1:2013, class 2.
 * Checked against both in tests/core/thermometry/tolerance.test.ts.
 */
export const LETTERS: Readonly<Record<string, Letter>> = {
  B: { fromC: 0, toC: 1820, absoluteC: 1.5, relative: 0.0025 },
  E: { fromC: -270, toC: 1000, absoluteC: 2.5, relative: 0.0075 },
  J: { fromC: -210, toC: 1200, absoluteC: 2.5, relative: 0.0075 },
  K: { fromC: -270, toC: 1372, absoluteC: 2.5, relative: 0.0075 },
  N: { fromC: -270, toC: 1300, absoluteC: 2.5, relative: 0.0075 },
  R: { fromC: -50, toC: 1768, absoluteC: 1.5, relative: 0.0025 },
  S: { fromC: -50, toC: 1768, absoluteC: 1.5, relative: 0.0025 },
  T: { fromC: -270, toC: 400, absoluteC: 1, relative: 0.0075 },
};

/** Tolerance of new wire as delivered, class 2, in °C; the converter's own error comes on top. */
export function wireToleranceC(letter: string, temperatureC: number): number | undefined {
  const known = LETTERS[letter];
  return known && Math.max(known.absoluteC, known.relative * Math.abs(temperatureC));
}
