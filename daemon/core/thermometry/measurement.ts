/** What an instrument said -> the temperature at the tip: by the couple's function, corrected, and how far off it may be. */
import { type Calibration, type Correction, correctionAt } from './calibration.ts';
import { tipC, tipCFromStraightLine } from './cold-junction.ts';
import type { Converter } from './converter.ts';
import { type Refused, rangeOf, type Temperature } from './its90.ts';
import type { CoupleLetter } from './its90-coefficients.ts';
import { type Budget, budgetOf } from './uncertainty.ts';
import { classTolerance, type WireClass } from './wire-class.ts';

/** Volts and degrees are kept apart by shape. */
export type Shown =
  | { readonly kind: 'temperature'; readonly temperatureC: number; readonly coldJunctionC?: number | undefined }
  | { readonly kind: 'emf'; readonly emfMv: number; readonly coldJunctionC: number };

/** One couple with what it is joined to. */
export interface Instrumentation {
  readonly letter: CoupleLetter;
  readonly wireClass: WireClass;
  readonly converter: Converter;
  /** The last digit as it arrives; undefined for the converter's own. */
  readonly stepC?: number | undefined;
  readonly calibration?: Calibration | null | undefined;
  /**
   * mV for each degree, where the converter counts along a straight line. Its figures are read by the couple's function
   * once it also tells the terminals' temperature; without that they cannot be, and are refused.
   */
  readonly straightLineMvPerC?: number | undefined;
}

export interface Measurement {
  readonly ok: true;
  /** Corrected. */
  readonly temperatureC: number;
  /** Before the certificate's correction. */
  readonly shownC: number;
  /** Expanded, k = 2. */
  readonly uncertaintyC: number;
  readonly budget: Budget;
  /** What the person must know of this figure: a certificate overdue, or used beyond its points. */
  readonly sentences: readonly string[];
}

/** @returns the measurement, or a sentence where what was said cannot be a temperature of this couple */
export function measure(shown: Shown, by: Instrumentation, atMs: number): Measurement | Refused {
  const hot = shownTemperature(shown, by);
  if (!hot.ok) return hot;
  const shownC = hot.temperatureC;
  const wire = classTolerance(by.letter, by.wireClass, shownC);
  if (!wire.ok) return wire;
  const correction: Correction | null = by.calibration ? correctionAt(by.calibration, shownC, atMs) : null;
  const temperatureC = shownC + (correction?.correctionC ?? 0);
  const budget = budgetOf({
    letter: by.letter,
    celsius: shownC,
    wireClass: by.wireClass,
    converter: by.converter,
    stepC: by.stepC,
    coldJunctionC: shown.coldJunctionC,
    correction,
  });
  return {
    ok: true,
    temperatureC,
    shownC,
    uncertaintyC: budget.expandedC,
    budget,
    sentences: correction?.sentences ?? [],
  };
}

function shownTemperature(shown: Shown, by: Instrumentation): Temperature | Refused {
  const { letter, straightLineMvPerC } = by;
  if (shown.kind === 'emf') return tipC(letter, shown.emfMv, shown.coldJunctionC);
  const { temperatureC, coldJunctionC } = shown;
  if (straightLineMvPerC !== undefined) {
    if (coldJunctionC !== undefined)
      return tipCFromStraightLine(letter, temperatureC, coldJunctionC, straightLineMvPerC);
    return {
      ok: false,
      sentence: `This converter counts along a straight line, so ${temperatureC} °C means nothing without its terminals’ temperature; let it send both.`,
    };
  }
  const { fromC, toC } = rangeOf(letter);
  if (temperatureC >= fromC && temperatureC <= toC) return { ok: true, temperatureC };
  return {
    ok: false,
    sentence: `${temperatureC} °C is outside what a type ${letter} couple can measure: ${fromC} to ${toC} °C.`,
  };
}
