/** What the configuration says of a sensor -> what its figures are reckoned with. */
import type { SensorSetup } from '../plan/kiln.ts';
import { readCertificate } from './calibration.ts';
import { converterOf } from './converter.ts';
import { isCoupleLetter, type Refused } from './its90.ts';
import type { Instrumentation } from './measurement.ts';
import { classTolerance } from './wire-class.ts';

/** What is commonly sold, and so what is taken where nobody said. Common practice, no source. */
export const USUAL_WIRE_CLASS = 2;

export interface Prepared {
  readonly ok: true;
  readonly instrumentation: Instrumentation;
}

/** Reckoned once for each setup: a setup never changes, another is another. */
const PREPARED = new WeakMap<SensorSetup, Prepared | Refused>();

/** @returns a sentence where the letter, its class or its certificate cannot be */
export function instrumentationOf(setup: SensorSetup): Prepared | Refused {
  const known = PREPARED.get(setup);
  if (known !== undefined) return known;
  const prepared = prepare(setup);
  PREPARED.set(setup, prepared);
  return prepared;
}

function prepare({ letter, coldEnd, wireClass = USUAL_WIRE_CLASS, ...setup }: SensorSetup): Prepared | Refused {
  if (!isCoupleLetter(letter)) return { ok: false, sentence: `There is no thermocouple letter ${letter}.` };
  const wire = classTolerance(letter, wireClass, 0);
  if (!wire.ok) return wire;
  const calibration = setup.calibration === undefined ? null : readCertificate(setup.calibration);
  if (calibration !== null && 'ok' in calibration) return calibration;
  const converter = converterOf(setup.converter);
  const isFixed = coldEnd?.kind === 'fixed';
  return {
    ok: true,
    instrumentation: {
      letter,
      wireClass,
      converter: isFixed ? { ...converter, coldErrorC: coldEnd.errorC } : converter,
      calibration,
      straightLineMvPerC: setup.straightLineMvPerC,
    },
  };
}
