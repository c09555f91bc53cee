/** One wire drawn from all that its tolerance class allows. */
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';
import type { CoupleLetter } from '../daemon/core/thermometry/its90-coefficients.ts';
import {
  type Tolerance,
  type WireClass as ToleranceClass,
  toleranceOfClass,
  widthC,
} from '../daemon/core/thermometry/wire-class.ts';

export type { CoupleLetter, ToleranceClass };

export interface WireClass {
  readonly letter: CoupleLetter;
  readonly toleranceClass: ToleranceClass;
}

/** Class 3 is left out where it ends below a kiln's temperatures. */
const KILN_C = 300;

function allowedFor({ letter, toleranceClass }: WireClass): Tolerance {
  const ofKilns = (wanted: ToleranceClass): Tolerance | undefined => {
    const found = toleranceOfClass(letter, wanted);
    return found !== undefined && found.toC > KILN_C ? found : undefined;
  };
  const found = ofKilns(toleranceClass);
  if (found !== undefined) return found;
  const known = ([1, 2, 3] as const).filter((each) => ofKilns(each) !== undefined).join(' or ');
  throw new RangeError(`type ${letter} has no tolerance class ${toleranceClass} here; write class ${known}`);
}

/** In °C either way, for `fromC` to `toC` of the class. @throws RangeError for a class that the letter has not */
export function classToleranceC(wire: WireClass, celsius: number): number {
  return widthC(allowedFor(wire), celsius);
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
function corners(a: Tolerance): number[] {
  const bendC = a.aboveC ?? a.absoluteC / a.relative;
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
  const pivotErrorC = (2 * random.next() - 1) * widthC(a, pivotC);
  let least = Number.NEGATIVE_INFINITY;
  let most = Number.POSITIVE_INFINITY;
  for (const cornerC of corners(a)) {
    const awayC = cornerC - pivotC;
    if (awayC === 0) continue;
    const toleranceC = widthC(a, cornerC);
    const one = (toleranceC - pivotErrorC) / awayC;
    const other = (-toleranceC - pivotErrorC) / awayC;
    least = Math.max(least, Math.min(one, other));
    most = Math.min(most, Math.max(one, other));
  }
  const gainRatio = least + random.next() * (most - least);
  return { atZeroC: pivotErrorC - gainRatio * pivotC, gainRatio };
}
