/** One raw message -> readings, by the decoding declared for its input. */
import type { RawMessage } from '../inputs.ts';
import type { FigureUnit } from '../plan/instrument.ts';
import type { Decoding, SensorSetup } from '../plan/kiln.ts';
import { inCelsius } from './degrees.ts';
import { quote } from './quote.ts';
import type { Decoded, Reading, Rejected } from './reading.ts';
import { decodeRegisters } from './register-map.ts';
import { decodeLine, type FieldReader, figureText, misread } from './text-line.ts';
import { decodePayload } from './topic-payload.ts';

/** A number as instruments print it: sign, digits, a decimal point or comma, perhaps an exponent. */
const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$/;
const OPEN = new Set(['open', '1', 'true', 'on']);
const CLOSED = new Set(['closed', '0', 'false', 'off']);
/** Words by which instruments and boards say that there is no value. */
const NO_VALUE = new Set(['', 'nan', 'null', 'none', '---', 'open', 'err', 'error', 'fault', 'n/a']);

/** Units as instruments print them behind a figure. */
const PRINTED_UNIT = /\s*([°\ufffd]?\s*[cf]|k|mv)$/;
const UNITS: Readonly<Record<string, FigureUnit>> = { c: 'C', f: 'F', k: 'K', mv: 'mV' };

/** A field without the unit that is printed behind its figure, and that unit; null where none is. */
export function partedFromUnit(field: string): { readonly bare: string; readonly unit: FigureUnit | null } {
  const printed = PRINTED_UNIT.exec(field.toLowerCase());
  if (printed === null) return { bare: field, unit: null };
  return { bare: field.slice(0, printed.index), unit: UNITS[printed[1]?.replace(/[°\ufffd\s]/g, '') ?? ''] ?? null };
}

type Sensors = readonly Pick<SensorSetup, 'name' | 'unit'>[];

/** @param sensors whose figures count something else than °C; a name that is none of them is taken for °C */
export function decodeRaw(
  message: RawMessage,
  decoding: Decoding | undefined,
  sensors: Sensors = [],
): Decoded | Rejected {
  if (decoding === undefined) return reject(`Input ${message.input} is not one of this kiln's inputs`);
  switch (decoding.kind) {
    case 'columns':
    case 'names':
    case 'pattern':
      return decodeLine(message.text, decoding, fieldReaderOf(sensors));
    case 'channels': {
      const sensor = message.channel === undefined ? undefined : decoding.channels[message.channel];
      if (sensor === undefined) return reject(`Nothing here belongs to ${quote(message.channel ?? '')}`);
      const figure = figureText(message.text, {});
      const reading = figure === undefined ? undefined : readField(sensor, figure, sensors);
      if (reading !== undefined) return { ok: true, readings: [reading] };
      const why = figure === undefined ? misread(message.text, {}) : `is no ${expected(sensor, sensors)}`;
      return reject(`${message.channel} said ${quote(message.text)}, which ${why}`);
    }
    case 'topics':
      return decodePayload(message.channel, message.text, decoding.points, fieldReaderOf(sensors));
    case 'registers':
      return inVolts(decodeRegisters(message.channel, message.text, decoding.points), sensors);
  }
}

/** A register's figure of a couple that is told in millivolts. */
function inVolts(decoded: Decoded | Rejected, sensors: Sensors): Decoded | Rejected {
  if (!decoded.ok || !sensors.some((sensor) => sensor.unit === 'mV')) return decoded;
  const readings = decoded.readings.map((reading): Reading => {
    if (reading.kind !== 'temperature' || unitOf(reading.sensor, sensors) !== 'mV') return reading;
    return { kind: 'emf', sensor: reading.sensor, emfMv: reading.temperatureC };
  });
  return { ...decoded, readings };
}

function fieldReaderOf(sensors: Sensors): FieldReader {
  return {
    read: (name, text) => readField(name, text, sensors),
    wanted: (name) => expected(name, sensors),
  };
}

/** No field of a number is longer; the patterns below look at no more. Ours. */
const LONGEST_FIELD = 60;

function readField(name: string, text: string, sensors: Sensors): Reading | undefined {
  const value = text.trim().toLowerCase();
  if (name === 'lid') {
    if (OPEN.has(value)) return { kind: 'lid', open: true };
    return CLOSED.has(value) ? { kind: 'lid', open: false } : undefined;
  }
  if (NO_VALUE.has(value)) return { kind: 'fault', sensor: name, fault: 'the instrument gives no value' };
  if (value.length > LONGEST_FIELD) return undefined;
  const unit = unitOf(name, sensors);
  const { bare, unit: printed } = partedFromUnit(value);
  // A figure that says it counts something else than was declared is not what it was taken for.
  if (printed !== null && printed !== unit) return undefined;
  if (!NUMBER.test(bare)) return undefined;
  const figure = Number(bare.replace(',', '.'));
  if (!Number.isFinite(figure)) return undefined;
  if (unit === 'mV') return { kind: 'emf', sensor: name, emfMv: figure };
  return { kind: 'temperature', sensor: name, temperatureC: inCelsius(figure, unit) };
}

function unitOf(name: string, sensors: Sensors): FigureUnit {
  return sensors.find((sensor) => sensor.name === name)?.unit ?? 'C';
}

/** What the person is told is missing. */
function expected(name: string, sensors: Sensors): string {
  const unit = unitOf(name, sensors);
  if (unit === 'C') return 'temperature';
  return unit === 'mV' ? 'voltage in mV' : `temperature in ${unit === 'F' ? '°F' : 'K'}`;
}

function reject(sentence: string): Rejected {
  return { ok: false, sentence: `${sentence}.` };
}
