/** The shape of one sensor: its couple, what its figures count, where its cold end is, and its certificate. */
import { z } from 'zod';
import type { SensorSetup } from '../core/plan/kiln.ts';
import { readCertificate } from '../core/thermometry/calibration.ts';
import { COLD_END_C } from '../core/thermometry/cold-junction.ts';
import { isCoupleLetter } from '../core/thermometry/its90.ts';
import { classTolerance } from '../core/thermometry/wire-class.ts';
import type { Fault } from '../errors.ts';
import { faultAt, strict, valueAt } from './faults.ts';
import { LID } from './input-parts.ts';
import { temperature, words } from './schedule-schema.ts';
import type { Path, Source } from './yaml-file.ts';

const LETTERS = ['B', 'E', 'J', 'K', 'N', 'R', 'S', 'T'] as const;
const UNITS = { C: 'C', '°C': 'C', F: 'F', '°F': 'F', K: 'K', mV: 'mV' } as const;
const CONVERTER_KINDS = ['14-bit', '19-bit', '18-bit', '12-bit', 'controller', 'unknown'] as const;

export const SENSOR_NAME =
  "write 1 to 40 letters, digits, spaces, dots, hyphens or underscores, beginning and ending with a letter or digit; lid is no couple's name";
const UNIT = 'write the unit of its figures: C, F, K (kelvin) or mV';
const COLD_END =
  'write compensated, {measured: NAME} with the column, topic or point that tells its temperature in °C, or {atC, errorC}';
const CONVERTER = `write one of ${CONVERTER_KINDS.join(', ')}, or {errorC, coldErrorC, stepC} as its papers state them`;
const CLASS = 'write the tolerance class of its wire: 1, 2 or 3';
const STRAIGHT = 'write how many mV the instrument takes for a degree, for example 0.041276 with type K';
const DUE = 'write the day on which it runs out as YEAR-MONTH-DAY, for example 2027-03-01';
const POINT = 'write {atC, uncertaintyC} with correctionC or asFoundC, as the certificate states them';

/** Nobody who kept his terminals at a room's temperature without a thermometer knows it better. Common practice, no source. */
const ROOM_ERROR_C = 5;

const errorC = (what: string) => {
  const right = `write ${what} in °C either way, 0 or more`;
  return z.number({ error: right }).min(0, { error: right }).max(100, { error: right });
};
const difference = (what: string) => {
  const right = `write ${what} in °C`;
  return z.number({ error: right });
};

const TERMINALS = `write the terminals’ temperature in °C, from ${COLD_END_C.fromC} to ${COLD_END_C.toC}`;
const coldEnd = z.union(
  [
    z.literal('compensated'),
    strict({ measured: z.string().refine(isSensorName, { error: SENSOR_NAME }) }, COLD_END),
    strict(
      {
        atC: z
          .number({ error: TERMINALS })
          .min(COLD_END_C.fromC, { error: TERMINALS })
          .max(COLD_END_C.toC, { error: TERMINALS }),
        errorC: errorC('how far off that may be').default(ROOM_ERROR_C),
      },
      COLD_END,
    ),
  ],
  { error: COLD_END },
);

const converter = z.union(
  [
    z.enum(CONVERTER_KINDS),
    strict(
      {
        errorC: errorC('the instrument’s error'),
        coldErrorC: errorC('the error of its thermometer at the terminals').default(1),
        stepC: errorC('its last digit').default(1),
      },
      CONVERTER,
    ),
  ],
  { error: CONVERTER },
);

const point = strict(
  {
    atC: temperature('the reference’s temperature'),
    asFoundC: temperature('what the couple showed').optional(),
    correctionC: difference('what is to be added to what the couple shows').optional(),
    uncertaintyC: errorC('the certificate’s uncertainty (k = 2)'),
  },
  POINT,
  {
    correction: 'write correctionC, in °C',
    asFound: 'write asFoundC, in °C',
    uncertainty: 'write uncertaintyC, in °C (k = 2)',
    errorC: 'write correctionC: the error with its sign turned round',
  },
);

const POINTS = 'write a list of the certificate’s points, each {atC, asFoundC, uncertaintyC}';
const calibration = strict(
  {
    points: z.array(point, { error: POINTS }).min(1, { error: POINTS }).max(50, { error: 'write at most 50 points' }),
    due: z.string({ error: DUE }).refine(isDay, { error: DUE }).optional(),
    certificate: words('the certificate’s number', 200).optional(),
  },
  'write {points, due, certificate}',
  { dueDate: 'write due', number: 'write certificate' },
);

export const sensorSchema = strict(
  {
    name: z.string({ error: SENSOR_NAME }).refine(isSensorName, { error: SENSOR_NAME }),
    letter: z.enum(LETTERS, { error: `write the thermocouple's letter, one of ${LETTERS.join(', ')}` }),
    rules: z.boolean({ error: 'write true for the one sensor that steers the plan' }).optional(),
    unit: z.enum(Object.keys(UNITS) as (keyof typeof UNITS)[], { error: UNIT }).optional(),
    coldEnd: coldEnd.optional(),
    wireClass: z.union([z.literal(1), z.literal(2), z.literal(3)], { error: CLASS }).optional(),
    converter: converter.optional(),
    straightLineMvPerC: z
      .number({ error: STRAIGHT })
      .gt(0, { error: STRAIGHT })
      .max(0.2, { error: STRAIGHT })
      .optional(),
    calibration: calibration.optional(),
  },
  'write {name, letter}',
  {
    type: 'write letter',
    couple: 'write letter',
    id: 'write name',
    units: 'write unit',
    degrees: 'write unit',
    coldJunction: 'write coldEnd',
    coldJunctionC: 'write coldEnd: {atC, errorC}',
    terminals: 'write coldEnd: {measured: NAME}',
    class: 'write wireClass',
    tolerance: 'write wireClass: 1, 2 or 3',
    certificate: 'write calibration: {points, due, certificate}',
  },
);

type SensorShape = z.infer<typeof sensorSchema>;

/** It stands in a topic and in a path, and must not be taken for the lid's column. */
function isSensorName(name: string): boolean {
  return name !== LID && /^[\p{L}\p{N}](?:[\p{L}\p{N} ._-]{0,38}[\p{L}\p{N}])?$/u.test(name);
}

function isDay(text: string): boolean {
  return /^\d{4}-\d{2}-\d{2}$/.test(text) && !Number.isNaN(Date.parse(text)) && dayOf(Date.parse(text)) === text;
}

function dayOf(atMs: number): string {
  return new Date(atMs).toISOString().slice(0, 10);
}

/** What the sensor at `at` says that cannot be together, though each part is well written. */
export function sensorFaults(source: Source, at: Path): Fault[] {
  const parsed = sensorSchema.safeParse(valueAt(source.value, at));
  if (!parsed.success) return [];
  const shape = parsed.data;
  return [
    ...classFaults(shape, source, at),
    ...coldEndFaults(shape, source, at),
    ...certificateFaults(shape, source, at),
  ];
}

function classFaults({ letter, wireClass }: SensorShape, source: Source, at: Path): Fault[] {
  if (wireClass === undefined || !isCoupleLetter(letter)) return [];
  const wire = classTolerance(letter, wireClass, 0);
  if (wire.ok) return [];
  return [faultAt(source, [...at, 'wireClass'], 'write a class in which this letter is made', clause(wire.sentence))];
}

function coldEndFaults(shape: SensorShape, source: Source, at: Path): Fault[] {
  const { unit, coldEnd, straightLineMvPerC } = shape;
  const where = [...at, 'coldEnd'];
  if (straightLineMvPerC !== undefined) {
    if (unit === 'mV') return [faultAt(source, [...at, 'straightLineMvPerC'], 'leave it out with unit: mV')];
    if (coldEnd !== undefined && coldEnd !== 'compensated') return [];
    const what = 'is missing, and figures along a straight line mean nothing without the terminals’ temperature';
    return [faultAt(source, where, COLD_END, what)];
  }
  if (unit === 'mV' && coldEnd === undefined) {
    const what = 'is missing, and millivolts mean a temperature only together with that of the terminals';
    return [faultAt(source, where, COLD_END, what)];
  }
  if (unit === 'mV' || coldEnd === undefined || coldEnd === 'compensated') return [];
  const right =
    'leave it out, or write unit: mV if its figures are millivolts, or straightLineMvPerC if they are degrees along a straight line';
  return [faultAt(source, where, right, 'an instrument that gives degrees has added the cold end already')];
}

function certificateFaults({ calibration }: SensorShape, source: Source, at: Path): Fault[] {
  if (calibration === undefined) return [];
  const where = [...at, 'calibration', 'points'];
  const unsure = calibration.points.flatMap(({ asFoundC, correctionC }, i) =>
    (asFoundC === undefined) === (correctionC === undefined)
      ? [faultAt(source, [...where, i], 'write either asFoundC or correctionC', 'a point of the certificate')]
      : [],
  );
  if (unsure.length > 0) return unsure;
  const read = readCertificate(certificateOf(calibration));
  if (read === null || !('ok' in read)) return [];
  return [faultAt(source, where, 'write the points as the certificate states them', clause(read.sentence))];
}

function clause(sentence: string): string {
  return sentence.charAt(0).toLowerCase() + sentence.slice(1).replace(/\.$/, '');
}

function certificateOf(calibration: NonNullable<SensorShape['calibration']>): NonNullable<SensorSetup['calibration']> {
  const { points, due, certificate } = calibration;
  return {
    points: points.map(({ atC, uncertaintyC, asFoundC, correctionC }) =>
      asFoundC === undefined ? { atC, uncertaintyC, correctionC: correctionC ?? 0 } : { atC, uncertaintyC, asFoundC },
    ),
    ...(due !== undefined && { dueAtMs: Date.parse(due) }),
    ...(certificate !== undefined && { certificate }),
  };
}

/** A sensor in which nothing was found wrong. What is not said is left out, so that a plain sensor stays `{name, letter}`. */
export function sensorSetup({ unit, coldEnd, calibration, ...plain }: SensorShape): SensorSetup {
  return {
    ...plain,
    ...(unit !== undefined && UNITS[unit] !== 'C' && { unit: UNITS[unit] }),
    ...(coldEnd !== undefined && { coldEnd: coldEndOf(coldEnd) }),
    ...(calibration !== undefined && { calibration: certificateOf(calibration) }),
  };
}

function coldEndOf(coldEnd: NonNullable<SensorShape['coldEnd']>): NonNullable<SensorSetup['coldEnd']> {
  if (coldEnd === 'compensated') return { kind: 'compensated' };
  if ('measured' in coldEnd) return { kind: 'measured', by: coldEnd.measured };
  return { kind: 'fixed', ...coldEnd };
}
