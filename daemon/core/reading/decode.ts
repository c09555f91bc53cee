/** One raw message -> readings, by the decoding declared for its input. */
import type { RawMessage } from '../inputs.ts';
import type { Decoding } from '../plan/kiln.ts';
import { quote } from './quote.ts';
import type { Decoded, Reading, Rejected } from './reading.ts';
import { decodeRegisters } from './register-map.ts';

/** A number as instruments print it: sign, digits, a decimal point or comma, perhaps an exponent. */
const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$/;
const OPEN = new Set(['open', '1', 'true', 'on']);
const CLOSED = new Set(['closed', '0', 'false', 'off']);
/** Words by which instruments and boards say that there is no value. */
const NO_VALUE = new Set(['', 'nan', 'null', 'none', '---', 'open', 'err', 'error', 'fault', 'n/a']);

export function decodeRaw(message: RawMessage, decoding: Decoding | undefined): Decoded | Rejected {
  if (decoding === undefined) return reject(`Input ${message.input} is not one of this kiln's inputs`);
  switch (decoding.kind) {
    case 'columns':
      return decodeColumns(message.text, decoding.columns);
    case 'channels': {
      const sensor = message.channel === undefined ? undefined : decoding.channels[message.channel];
      if (sensor === undefined) return reject(`Nothing here belongs to ${quote(message.channel ?? '')}`);
      const reading = readField(sensor, message.text);
      return reading === undefined
        ? reject(`${message.channel} said ${quote(message.text)}, which is no temperature`)
        : { ok: true, readings: [reading] };
    }
    case 'registers':
      return decodeRegisters(message.channel, message.text, decoding.points);
  }
}

/** A text line: `name=value` pairs in any order, or the values alone in the order of the columns. */
function decodeColumns(line: string, columns: readonly string[]): Decoded | Rejected {
  const trimmed = line.trim();
  if (trimmed === '') return reject('An empty line');
  if (trimmed.includes('=')) return decodePairs(trimmed, columns);
  const fields = splitFields(trimmed, columns.length);
  if (fields.length !== columns.length) {
    return reject(`The line ${quote(trimmed)} has ${fields.length} fields where ${columns.length} are expected`);
  }
  const readings: Reading[] = [];
  for (const [i, name] of columns.entries()) {
    if (name === '-') continue;
    const reading = readField(name, fields[i] ?? '');
    if (reading === undefined) return reject(`The line ${quote(trimmed)} has no temperature where ${name} should be`);
    readings.push(reading);
  }
  return { ok: true, readings };
}

function decodePairs(line: string, columns: readonly string[]): Decoded | Rejected {
  const readings: Reading[] = [];
  for (const pair of line.split(/[;\s]+|,(?=\s*[A-Za-z_])/)) {
    const [name, value] = pair.split('=').map((part) => part.trim());
    if (name === undefined || value === undefined || !columns.includes(name)) continue;
    const reading = readField(name, value);
    if (reading === undefined) return reject(`The line ${quote(line)} has no temperature behind ${name}=`);
    readings.push(reading);
  }
  return readings.length > 0
    ? { ok: true, readings }
    : reject(`The line ${quote(line)} names none of ${columns.join(', ')}`);
}

/** A comma may part fields or stand in a number: with one column it is the number's own. */
function splitFields(line: string, count: number): string[] {
  if (count === 1) return [line];
  const bySemicolonOrSpace = line.split(/\s*;\s*|\s+/);
  if (bySemicolonOrSpace.length === count) return bySemicolonOrSpace;
  return line.split(/\s*[,;\t]\s*/);
}

function readField(name: string, text: string): Reading | undefined {
  const value = text.trim().toLowerCase();
  if (name === 'lid') {
    if (OPEN.has(value)) return { kind: 'lid', open: true };
    return CLOSED.has(value) ? { kind: 'lid', open: false } : undefined;
  }
  if (NO_VALUE.has(value)) return { kind: 'fault', sensor: name, fault: 'the instrument gives no value' };
  const bare = value.replace(/\s*°?\s*c$/, '');
  if (!NUMBER.test(bare)) return undefined;
  const temperatureC = Number(bare.replace(',', '.'));
  return Number.isFinite(temperatureC) ? { kind: 'temperature', sensor: name, temperatureC } : undefined;
}

function reject(sentence: string): Rejected {
  return { ok: false, sentence: `${sentence}.` };
}
