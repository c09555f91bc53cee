/** How far off new thermocouple wire may be, by its tolerance class. */
import type { WireClass } from '../plan/instrument.ts';
import type { Refused } from './its90.ts';
import type { CoupleLetter } from './its90-coefficients.ts';

export type { WireClass };

/** The larger of `absoluteC` and `relative` times the temperature; or `absoluteC`, and above `aboveC` so much more. */
export interface Tolerance {
  readonly fromC: number;
  readonly toC: number;
  readonly absoluteC: number;
  readonly relative: number;
  readonly aboveC?: number;
}

const t = (fromC: number, toC: number, absoluteC: number, relative: number): Tolerance => ({
  fromC,
  toC,
  absoluteC,
  relative,
});
const NOBLE_1: Tolerance = { fromC: 0, toC: 1600, absoluteC: 1, relative: 0.003, aboveC: 1100 };

/**
 * IEC 60584-1:2013, new wire as delivered, from secondary tables (the standard's own text was not at hand); compared
 * with tests/data/thermocouple/tolerance-iec60584.json.
 */
const CLASSES: Readonly<Record<CoupleLetter, Readonly<Partial<Record<WireClass, Tolerance>>>>> = {
  B: { 2: t(600, 1700, 0, 0.0025), 3: t(600, 1700, 4, 0.005) },
  E: { 1: t(-40, 800, 1.5, 0.004), 2: t(-40, 900, 2.5, 0.0075), 3: t(-200, 40, 2.5, 0.015) },
  J: { 1: t(-40, 750, 1.5, 0.004), 2: t(-40, 750, 2.5, 0.0075) },
  K: { 1: t(-40, 1000, 1.5, 0.004), 2: t(-40, 1200, 2.5, 0.0075), 3: t(-200, 40, 2.5, 0.015) },
  N: { 1: t(-40, 1000, 1.5, 0.004), 2: t(-40, 1200, 2.5, 0.0075), 3: t(-200, 40, 2.5, 0.015) },
  R: { 1: NOBLE_1, 2: t(0, 1600, 1.5, 0.0025) },
  S: { 1: NOBLE_1, 2: t(0, 1600, 1.5, 0.0025) },
  T: { 1: t(-40, 350, 0.5, 0.004), 2: t(-40, 350, 1, 0.0075), 3: t(-200, 40, 1, 0.015) },
};

/** What the class allows, and where; undefined where the letter has no such class. */
export function toleranceOfClass(letter: CoupleLetter, wireClass: WireClass): Tolerance | undefined {
  return CLASSES[letter][wireClass];
}

export interface ClassTolerance {
  readonly ok: true;
  /** Either way. */
  readonly toleranceC: number;
  /** The standard promises nothing at this temperature; the figure is the formula carried on. */
  readonly isBeyondStandard: boolean;
}

/**
 * How far off wire of that class may be at `celsius`, either way.
 * Outside the class's range the formula is carried on, and is never less than at the range's near end.
 *
 * @returns a sentence where the letter has no such class
 */
export function classTolerance(letter: CoupleLetter, wireClass: WireClass, celsius: number): ClassTolerance | Refused {
  const tolerance = toleranceOfClass(letter, wireClass);
  if (tolerance === undefined) {
    const known = Object.keys(CLASSES[letter]).join(' and ');
    return { ok: false, sentence: `There is no such class: type ${letter} comes in class ${known}, not ${wireClass}.` };
  }
  const { fromC, toC } = tolerance;
  const isBeyondStandard = celsius < fromC || celsius > toC;
  const nearEndC = celsius < fromC ? fromC : toC;
  const ownC = widthC(tolerance, celsius);
  const toleranceC = isBeyondStandard ? Math.max(ownC, widthC(tolerance, nearEndC)) : ownC;
  return { ok: true, toleranceC, isBeyondStandard };
}

/** Either way, within the class's range. */
export function widthC({ absoluteC, relative, aboveC }: Tolerance, celsius: number): number {
  if (aboveC !== undefined) return absoluteC + relative * Math.max(celsius - aboveC, 0);
  return Math.max(absoluteC, relative * Math.abs(celsius));
}
