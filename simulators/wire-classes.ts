/** How far new thermocouple wire may be off, and one wire drawn from all that a class allows. */
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';

export type CoupleLetter = 'B' | 'E' | 'J' | 'K' | 'N' | 'R' | 'S' | 'T';
export type ToleranceClass = 1 | 2 | 3;

export interface WireClass {
  readonly letter: CoupleLetter;
  readonly toleranceClass: ToleranceClass;
}

/** In °C either way: the larger of `absoluteC` and what grows with the temperature. */
interface Allowed {
  readonly fromC: number;
  readonly toC: number;
  readonly absoluteC: number;
  /** Times the distance from `aboveC`; where `aboveC` is 0, instead of `absoluteC`, else on top of it. */
  readonly growthRatio: number;
  readonly aboveC: number;
}

const allowed = (fromC: number, toC: number, absoluteC: number, growthRatio: number, aboveC = 0): Allowed => ({
  fromC,
  toC,
  absoluteC,
  growthRatio,
  aboveC,
});

/**
 * IEC 60584-1:2013, new wire as delivered, from secondary tables (the standard's text was not at hand); checked against
 * tests/data/thermocouple/tolerance-classes.json. Class 3 only where it reaches a kiln's temperatures: type B.
 */
const ALLOWED: Readonly<Record<CoupleLetter, Partial<Record<ToleranceClass, Allowed>>>> = {
  B: { 2: allowed(600, 1700, 0, 0.0025), 3: allowed(600, 1700, 4, 0.005) },
  E: { 1: allowed(-40, 800, 1.5, 0.004), 2: allowed(-40, 900, 2.5, 0.0075) },
  J: { 1: allowed(-40, 750, 1.5, 0.004), 2: allowed(-40, 750, 2.5, 0.0075) },
  K: { 1: allowed(-40, 1000, 1.5, 0.004), 2: allowed(-40, 1200, 2.5, 0.0075) },
  N: { 1: allowed(-40, 1000, 1.5, 0.004), 2: allowed(-40, 1200, 2.5, 0.0075) },
  R: { 1: allowed(0, 1600, 1, 0.003, 1100), 2: allowed(0, 1600, 1.5, 0.0025) },
  S: { 1: allowed(0, 1600, 1, 0.003, 1100), 2: allowed(0, 1600, 1.5, 0.0025) },
  T: { 1: allowed(-40, 350, 0.5, 0.004), 2: allowed(-40, 350, 1, 0.0075) },
};

function allowedFor({ letter, toleranceClass }: WireClass): Allowed {
  const found = ALLOWED[letter][toleranceClass];
  if (found !== undefined) return found;
  const known = Object.keys(ALLOWED[letter]).join(' or ');
  throw new RangeError(`type ${letter} has no tolerance class ${toleranceClass} here; write class ${known}`);
}

function toleranceOf(a: Allowed, celsius: number): number {
  const distanceC = Math.abs(celsius);
  if (a.aboveC === 0) return Math.max(a.absoluteC, a.growthRatio * distanceC);
  return a.absoluteC + a.growthRatio * Math.max(0, distanceC - a.aboveC);
}

/** In °C either way, for `fromC` to `toC` of the class. @throws RangeError for a class that the letter has not */
export function classToleranceC(wire: WireClass, celsius: number): number {
  return toleranceOf(allowedFor(wire), celsius);
}

/** Where the class says anything, °C. @throws RangeError for a class that the letter has not */
export function classRangeC(wire: WireClass): { readonly fromC: number; readonly toC: number } {
  const { fromC, toC } = allowedFor(wire);
  return { fromC, toC };
}

/** What a wire shows too much at `celsius`: `atZeroC + gainRatio × celsius`. */
export interface WireError {
  readonly atZeroC: number;
  readonly gainRatio: number;
}

/** Where the straight line of a wire's error could cross the tolerance: the ends and the bends. */
function corners(a: Allowed): number[] {
  const bendC = a.aboveC === 0 ? a.absoluteC / a.growthRatio : a.aboveC;
  return [a.fromC, -bendC, bendC, a.toC].filter((c) => c >= a.fromC && c <= a.toC);
}

/**
 * A wire with an offset and a gain that keep it within its class at every temperature of the range; any such pair can
 * come. Two random numbers. Beyond the range the line goes on, and may leave the class.
 *
 * @throws RangeError for a class that the letter has not
 */
export function drawWireError(wire: WireClass, random: SeededRandom): WireError {
  const a = allowedFor(wire);
  // First the error at 0 °C, or at the cold end if the class begins above; then a gain out of what that leaves free.
  const pivotC = Math.max(0, a.fromC);
  const pivotErrorC = (2 * random.next() - 1) * toleranceOf(a, pivotC);
  let least = Number.NEGATIVE_INFINITY;
  let most = Number.POSITIVE_INFINITY;
  for (const cornerC of corners(a)) {
    const awayC = cornerC - pivotC;
    if (awayC === 0) continue;
    const toleranceC = toleranceOf(a, cornerC);
    const one = (toleranceC - pivotErrorC) / awayC;
    const other = (-toleranceC - pivotErrorC) / awayC;
    least = Math.max(least, Math.min(one, other));
    most = Math.min(most, Math.max(one, other));
  }
  const gainRatio = least + random.next() * (most - least);
  return { atZeroC: pivotErrorC - gainRatio * pivotC, gainRatio };
}
