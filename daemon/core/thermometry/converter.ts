/** What stands between a couple and the figure: how far off each kind of converter may be, and how finely it reads. */

import type { ConverterKind, ConverterSetup } from '../plan/instrument.ts';
import { sensitivityMvPerC } from './its90.ts';
import type { CoupleLetter } from './its90-coefficients.ts';

export interface HotError {
  readonly fromC: number;
  readonly toC: number;
  /** Either way, the couple's own error apart. */
  readonly errorC: number;
}

export interface Converter {
  /** For the person, in the plainest words. */
  readonly what: string;
  /** From narrow to wide: the first that holds the temperature counts. */
  readonly hotErrors: readonly HotError[];
  /** Where the error is told as a voltage instead. */
  readonly hotErrorMv?: number;
  /** Of the thermometer at the terminals, either way. */
  readonly coldErrorC: number;
  /** The last digit. */
  readonly stepC: number;
  readonly coldStepC: number;
}

const anywhere = (errorC: number): readonly HotError[] => [{ fromC: -300, toC: 2000, errorC }];
const COARSE: readonly HotError[] = [{ fromC: -200, toC: 700, errorC: 2 }, ...anywhere(6)];

/**
 * Generic figures; tests/data/thermocouple/converters.json says which were read on boards' pages and which are from
 * memory. A converter of which nothing is known is taken for the coarsest that is commonly sold.
 */
export const CONVERTERS: Readonly<Record<ConverterKind, Converter>> = {
  // Read on public boards' pages.
  '14-bit': {
    what: 'converter for type K in steps of a quarter degree',
    hotErrors: COARSE,
    coldErrorC: 3,
    stepC: 0.25,
    coldStepC: 0.0625,
  },
  // From memory: 0.15 % of a full scale of 78 mV.
  '19-bit': {
    what: 'universal converter in steps of a hundredth of a degree',
    hotErrors: [],
    hotErrorMv: 0.117,
    coldErrorC: 0.7,
    stepC: 0.0078125,
    coldStepC: 0.015625,
  },
  // Steps read, errors from memory.
  '18-bit': {
    what: 'universal converter in steps of a sixteenth of a degree',
    hotErrors: anywhere(1.5),
    coldErrorC: 1,
    stepC: 0.0625,
    coldStepC: 0.0625,
  },
  // Steps from memory; nothing is stated of its errors, so those of the coarse one are taken.
  '12-bit': {
    what: 'old converter for type K in steps of a quarter degree',
    hotErrors: COARSE,
    coldErrorC: 3,
    stepC: 0.25,
    coldStepC: 0.25,
  },
  // From memory: a panel instrument, a quarter per cent of 1200 °C and one digit, cold end 1 °C.
  controller: {
    what: 'temperature controller with a display',
    hotErrors: anywhere(4),
    coldErrorC: 1,
    stepC: 1,
    coldStepC: 0.1,
  },
  unknown: {
    what: 'instrument of which nothing is known',
    hotErrors: COARSE,
    coldErrorC: 3,
    stepC: 1,
    coldStepC: 1,
  },
};

/** The converter that a setup names, or one of the errors that it states. */
export function converterOf(setup: ConverterSetup | undefined): Converter {
  if (setup === undefined) return CONVERTERS.unknown;
  if (typeof setup === 'string') return CONVERTERS[setup];
  const { errorC, coldErrorC, stepC } = setup;
  return {
    what: 'instrument, as its papers state',
    hotErrors: anywhere(errorC),
    coldErrorC,
    stepC,
    coldStepC: stepC,
  };
}

/**
 * How far off the converter may be at the hot end, either way, in °C.
 * An error told as a voltage weighs more where the couple gives less for a degree.
 */
export function hotErrorC(converter: Converter, letter: CoupleLetter, celsius: number): number {
  const stated = converter.hotErrors.find(({ fromC, toC }) => celsius >= fromC && celsius <= toC)?.errorC ?? 0;
  if (converter.hotErrorMv === undefined) return stated;
  const sensitivity = sensitivityMvPerC(letter, celsius) ?? 0;
  return sensitivity > 0 ? stated + converter.hotErrorMv / sensitivity : stated;
}

/**
 * How far an error at the terminals moves the reading: by the ratio of what the couple gives for a degree here and there.
 * With type B almost nothing, with type S half, with type K nearly all of it.
 *
 * @param coldErrorC of the terminals' thermometer, either way
 */
export function coldErrorAtTipC(
  letter: CoupleLetter,
  celsius: number,
  coldJunctionC: number,
  coldErrorC: number,
): number {
  const there = sensitivityMvPerC(letter, coldJunctionC);
  const here = sensitivityMvPerC(letter, celsius);
  if (there === undefined || here === undefined || here <= 0) return coldErrorC;
  return coldErrorC * Math.abs(there / here);
}
