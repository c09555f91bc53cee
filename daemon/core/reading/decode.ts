/** One raw message -> readings, by the decoding declared for its input. */
import type { RawMessage } from '../inputs.ts';
import type { Decoding } from '../plan/kiln.ts';
import { quote } from './quote.ts';
import type { Decoded, Reading, Rejected } from './reading.ts';
import { decodeRegisters } from './register-map.ts';
import { decodeLine, type FieldReader } from './text-line.ts';

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
    case 'names':
    case 'pattern':
      return decodeLine(message.text, decoding, fieldReader);
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

const fieldReader: FieldReader = { read: readField, wanted: () => 'temperature' };

/** No field of a number is longer; the patterns below look at no more. Ours. */
const LONGEST_FIELD = 60;

function readField(name: string, text: string): Reading | undefined {
  const value = text.trim().toLowerCase();
  if (name === 'lid') {
    if (OPEN.has(value)) return { kind: 'lid', open: true };
    return CLOSED.has(value) ? { kind: 'lid', open: false } : undefined;
  }
  if (NO_VALUE.has(value)) return { kind: 'fault', sensor: name, fault: 'the instrument gives no value' };
  if (value.length > LONGEST_FIELD) return undefined;
  const bare = value.replace(/\s*[°\ufffd]?\s*c$/, '');
  if (!NUMBER.test(bare)) return undefined;
  const temperatureC = Number(bare.replace(',', '.'));
  return Number.isFinite(temperatureC) ? { kind: 'temperature', sensor: name, temperatureC } : undefined;
}

function reject(sentence: string): Rejected {
  return { ok: false, sentence: `${sentence}.` };
}
