/** Registers of a Modbus instrument -> figures, by the declared type, order of bytes and scale (requirements C6 and C7). */
import type { ByteOrder, RegisterPoint, RegisterType } from '../plan/kiln.ts';
import { inCelsius } from './degrees.ts';
import { quote } from './quote.ts';
import type { Decoded, Reading, Rejected } from './reading.ts';

/** Of a number that is no number, or one by which instruments say that they have none. */
const NO_VALUE = 'the instrument gives no value';

/** No kiln is hotter; full heat is 1, and what cools is below nought. Ours. */
const HOTTEST_C = 3000;
const MOST_OUTPUT_RATIO = 1.1;

/** How many registers hold a figure of this type. */
export function registerCountOf(type: RegisterType): 1 | 2 {
  return type === 'int16' || type === 'uint16' ? 1 : 2;
}

/** `1962 7fff`, as the interface hands the words of a block on; undefined where it is none. */
export function wordsIn(text: string): number[] | undefined {
  if (!/^[0-9a-f]{4}(?: [0-9a-f]{4}){0,124}$/.test(text)) return undefined;
  return text.split(' ').map((word) => Number.parseInt(word, 16));
}

/** The points that lie in this block, each as a reading. */
export function decodeRegisters(
  channel: string | undefined,
  text: string,
  points: readonly RegisterPoint[],
): Decoded | Rejected {
  const here = points.filter((point) => point.channel === channel);
  if (here.length === 0) return { ok: false, sentence: `Nothing here belongs to ${quote(channel ?? '')}.` };
  const refusal = /^exception (\d{1,3})$/.exec(text)?.[1];
  if (refusal !== undefined) {
    const fault = `the instrument refuses to give this register (code ${refusal})`;
    return { ok: true, readings: here.flatMap((point) => faultOf(point, fault)) };
  }
  const words = wordsIn(text);
  if (words === undefined || here.some((point) => point.place + registerCountOf(point.type) > words.length)) {
    return { ok: false, sentence: `${channel} said ${quote(text)}, which does not hold the registers asked for.` };
  }
  return { ok: true, readings: here.flatMap((point) => readingOf(point, words)) };
}

function readingOf(point: RegisterPoint, words: readonly number[]): Reading[] {
  const { gives } = point;
  const rawNumber = numberAt(words, point);
  const figure = rawNumber === undefined ? undefined : tidy(rawNumber * point.scale + point.offset);
  const isFigure = figure !== undefined && Number.isFinite(figure);
  switch (gives.kind) {
    case 'lid':
      return rawNumber === undefined ? [] : [{ kind: 'lid', open: lidOpen(rawNumber, point) }];
    case 'setpoint':
      return [{ kind: 'setpoint', setpointC: isFigure ? within(inCelsius(figure, point.degrees), HOTTEST_C) : null }];
    case 'output':
      return [{ kind: 'output', outputRatio: isFigure ? within(tidy(figure / 100), MOST_OUTPUT_RATIO) : null }];
    case 'sensor':
      if (!isFigure) return faultOf(point, NO_VALUE);
      return [{ kind: 'temperature', sensor: gives.sensor, temperatureC: inCelsius(figure, point.degrees) }];
  }
}

/** What is further from nought than any controller says is another register's figure. */
function within(figure: number, most: number): number | null {
  return Math.abs(figure) <= most ? figure : null;
}

/** A lid that is not told of is as it was. */
function faultOf({ gives }: RegisterPoint, fault: string): Reading[] {
  switch (gives.kind) {
    case 'sensor':
      return [{ kind: 'fault', sensor: gives.sensor, fault }];
    case 'setpoint':
      return [{ kind: 'setpoint', setpointC: null }];
    case 'output':
      return [{ kind: 'output', outputRatio: null }];
    case 'lid':
      return [];
  }
}

function lidOpen(rawNumber: number, { bit }: RegisterPoint): boolean {
  return bit === undefined ? rawNumber !== 0 : ((rawNumber >>> bit) & 1) === 1;
}

/** @returns undefined for what stands for no value */
function numberAt(words: readonly number[], point: RegisterPoint): number | undefined {
  const rawNumber = rawNumberAt(words, point.place, point.type, point.order);
  if (rawNumber === undefined || point.noValue.includes(rawNumber)) return undefined;
  // A switch has every number for its own.
  if (point.gives.kind !== 'lid' && isSentinel(rawNumber, point.type)) return undefined;
  return rawNumber;
}

/**
 * The number as it stands in the registers at `place`, before scale and offset; undefined for a float that is no number,
 * or where the registers end too soon. The letters name the bytes of a 32-bit number from high to low, in the order in which
 * they come; with 16 bits only whether the two bytes are swapped counts.
 */
export function rawNumberAt(
  words: readonly number[],
  place: number,
  type: RegisterType,
  order: ByteOrder,
): number | undefined {
  const count = registerCountOf(type);
  const taken = words.slice(place, place + count);
  if (taken.length < count) return undefined;
  const isSwappedInWord = order === 'BADC' || order === 'DCBA';
  const isLowWordFirst = order === 'CDAB' || order === 'DCBA';
  const inOrder = isLowWordFirst ? taken.reverse() : taken;
  const view = new DataView(new ArrayBuffer(4));
  for (const [i, word] of inOrder.entries()) view.setUint16(2 * i, word, isSwappedInWord);
  switch (type) {
    case 'int16':
      return view.getInt16(0);
    case 'uint16':
      return view.getUint16(0);
    case 'int32':
      return view.getInt32(0);
    case 'uint32':
      return view.getUint32(0);
    case 'float32': {
      const number = view.getFloat32(0);
      return Number.isFinite(number) ? number : undefined;
    }
  }
}

/**
 * The ends of whole numbers, by which instruments say that a couple is broken or missing (from memory). A 16-bit
 * instrument shows both ends of the signed range whichever type is declared.
 */
export function isSentinel(rawNumber: number, type: RegisterType): boolean {
  switch (type) {
    case 'int16':
      return rawNumber === 0x7fff || rawNumber === -0x8000;
    case 'uint16':
      return rawNumber === 0x7fff || rawNumber === 0x8000 || rawNumber === 0xffff;
    case 'int32':
      return rawNumber === 0x7fff_ffff || rawNumber === -0x8000_0000;
    case 'uint32':
      return rawNumber === 0x7fff_ffff || rawNumber === 0x8000_0000 || rawNumber === 0xffff_ffff;
    case 'float32':
      // The largest float and its neighbours, beyond any instrument.
      return Math.abs(rawNumber) > 1e30;
  }
}

/** 6483 × 0.1 is 648.3 and not 648.3000000000001: nine figures after the point are more than any instrument has. */
function tidy(figure: number): number {
  return Number(figure.toFixed(9));
}
