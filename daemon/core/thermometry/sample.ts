/** One decoded reading -> a sample: good, suspect or bad, with how far off it may be. */
import type { SampleEvent } from '../events.ts';
import type { TimedC } from '../numbers/line-fit.ts';
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import type { SensorSetup } from '../plan/kiln.ts';
import type { Reading } from '../reading/reading.ts';
import { instrumentationOf } from './instrumentation.ts';
import { measure, type Shown } from './measurement.ts';

export type SensorReading = Extract<Reading, { sensor: string }>;

/** Terminals are heavy and change slowly; older than this their temperature is not known. Ours. */
const TERMINALS_KNOWN_S = 5 * S_PER_MIN;

/**
 * What cannot be a temperature of this couple is none, and the sample says why.
 * A figure in °C that no certificate corrects stays the very number that the instrument gave; what was reckoned is
 * rounded to the record's thousandth of a degree, so that the record, the page and the rules have the same.
 *
 * @param terminals the last word of the thermometer at this sensor's terminals, where it has one
 */
export function toSample(
  reading: SensorReading,
  setup: SensorSetup,
  atMs: number,
  terminals?: TimedC | undefined,
): SampleEvent {
  if (reading.kind === 'fault') return badSample(setup.name, atMs, reading.fault);
  const by = instrumentationOf(setup);
  if (!by.ok) return badSample(setup.name, atMs, clause(by.sentence));
  const shown = shownOf(reading, setup, atMs, terminals);
  if (typeof shown === 'string') return badSample(setup.name, atMs, shown);
  const measured = measure(shown, by.instrumentation, atMs);
  if (!measured.ok) return badSample(setup.name, atMs, clause(measured.sentence));
  const { temperatureC, shownC, uncertaintyC, sentences } = measured;
  const isAsGiven = reading.kind === 'temperature' && temperatureC === reading.temperatureC;
  const sample = {
    type: 'reading',
    atMs,
    sensor: setup.name,
    celsius: isAsGiven ? temperatureC : thousandth(temperatureC),
    uncertaintyC: thousandth(uncertaintyC),
    quality: 'good',
  } as const;
  if (temperatureC === shownC && sentences.length === 0) return sample;
  return {
    ...sample,
    ...(temperatureC !== shownC && { shownC: thousandth(shownC) }),
    ...(sentences.length > 0 && { remark: sentences.join(' ') }),
  };
}

export function badSample(sensor: string, atMs: number, reason: string): SampleEvent {
  return { type: 'reading', atMs, sensor, celsius: null, uncertaintyC: null, quality: 'bad', reason };
}

/** With the terminals' temperature where the figure needs it; or why it is not known, as a clause. */
function shownOf(
  reading: Exclude<SensorReading, { kind: 'fault' }>,
  { coldEnd }: SensorSetup,
  atMs: number,
  terminals: TimedC | undefined,
): Shown | string {
  let coldJunctionC: number | undefined;
  if (coldEnd?.kind === 'fixed') coldJunctionC = coldEnd.atC;
  if (coldEnd?.kind === 'measured') {
    if (terminals === undefined) return `${coldEnd.by}, the temperature of its terminals, has not come yet`;
    const oldS = secondsBetween(terminals.atMs, atMs);
    if (oldS > TERMINALS_KNOWN_S) {
      return `${coldEnd.by}, the temperature of its terminals, last came ${Math.round(oldS / S_PER_MIN)} minutes ago`;
    }
    coldJunctionC = terminals.celsius;
  }
  if (reading.kind === 'temperature') return { kind: 'temperature', temperatureC: reading.temperatureC, coldJunctionC };
  // An instrument that adds the terminals' part itself gives its voltage against 0 °C.
  return { kind: 'emf', emfMv: reading.emfMv, coldJunctionC: coldJunctionC ?? 0 };
}

/** A reason stands in the middle of other words. */
function clause(sentence: string): string {
  return sentence.replace(/\.$/, '');
}

function thousandth(celsius: number): number {
  return Math.round(celsius * 1000) / 1000;
}
