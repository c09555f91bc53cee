/** One decoded reading -> a sample: good, suspect or bad, with how far off it may be. */
import type { SampleEvent } from '../events.ts';
import type { SensorSetup } from '../plan/kiln.ts';
import type { Reading } from '../reading/reading.ts';
import { LETTERS, wireToleranceC } from './tolerance.ts';

export type SensorReading = Extract<Reading, { sensor: string }>;

/**
 * A temperature outside what the thermocouple's letter can measure is no temperature.
 * The uncertainty is that of ordinary wire (class 2) alone: converter and calibration come on top.
 */
export function toSample(reading: SensorReading, setup: SensorSetup, atMs: number): SampleEvent {
  if (reading.kind === 'fault') return badSample(setup.name, atMs, reading.fault);
  const celsius = reading.temperatureC;
  const letter = LETTERS[setup.letter];
  if (letter && (celsius < letter.fromC || celsius > letter.toC)) {
    return badSample(setup.name, atMs, `${celsius} °C is outside what a type ${setup.letter} couple can measure`);
  }
  const uncertaintyC = wireToleranceC(setup.letter, celsius) ?? null;
  return { type: 'reading', atMs, sensor: setup.name, celsius, uncertaintyC, quality: 'good' };
}

export function badSample(sensor: string, atMs: number, reason: string): SampleEvent {
  return { type: 'reading', atMs, sensor, celsius: null, uncertaintyC: null, quality: 'bad', reason };
}
