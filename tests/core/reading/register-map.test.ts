import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ByteOrder, RegisterPoint, RegisterType } from '../../../daemon/core/plan/kiln.ts';
import { decodeRaw } from '../../../daemon/core/reading/decode.ts';
import type { Decoded, Rejected } from '../../../daemon/core/reading/reading.ts';
import { rawNumberAt, registerCountOf } from '../../../daemon/core/reading/register-map.ts';

const CHANNEL = 'unit 1 holding 0';
const plain: RegisterPoint = {
  gives: { kind: 'sensor', sensor: 'shelf' },
  channel: CHANNEL,
  place: 0,
  type: 'int16',
  order: 'ABCD',
  scale: 1,
  offset: 0,
  degrees: 'C',
  noValue: [],
};

function heard(text: string, more: Partial<RegisterPoint> = {}, ...others: RegisterPoint[]): Decoded | Rejected {
  const raw = { kind: 'raw', atMs: 0, input: 'modbus-rtu-1', channel: CHANNEL, text } as const;
  return decodeRaw(raw, { kind: 'registers', points: [{ ...plain, ...more }, ...others] });
}

const shelf = (temperatureC: number): object => ({
  ok: true,
  readings: [{ kind: 'temperature', sensor: 'shelf', temperatureC }],
});
const noValue = { ok: true, readings: [{ kind: 'fault', sensor: 'shelf', fault: 'the instrument gives no value' }] };

/** The bytes of a number from high to low, in the order in which the letters say they come. */
const PLACES: Readonly<Record<ByteOrder, readonly number[]>> = {
  ABCD: [0, 1, 2, 3],
  CDAB: [2, 3, 0, 1],
  BADC: [1, 0, 3, 2],
  DCBA: [3, 2, 1, 0],
};

function wordsOf(number: number, type: RegisterType, order: ByteOrder): number[] {
  const view = new DataView(new ArrayBuffer(4));
  if (type === 'float32') view.setFloat32(0, number);
  else if (type === 'int32' || type === 'uint32') view.setUint32(0, number >>> 0);
  else view.setUint16(0, number & 0xffff);
  const count = registerCountOf(type);
  const places = count === 2 ? PLACES[order] : order === 'BADC' || order === 'DCBA' ? [1, 0] : [0, 1];
  const bytes = places.map((at) => view.getUint8(at));
  return Array.from({ length: count }, (_, i) => ((bytes[2 * i] ?? 0) << 8) | (bytes[2 * i + 1] ?? 0));
}

const hexOf = (words: readonly number[]): string => words.map((w) => w.toString(16).padStart(4, '0')).join(' ');

const numbers: Readonly<Record<RegisterType, fc.Arbitrary<number>>> = {
  int16: fc.integer({ min: -0x8000, max: 0x7fff }),
  uint16: fc.integer({ min: 0, max: 0xffff }),
  int32: fc.integer({ min: -0x8000_0000, max: 0x7fff_ffff }),
  uint32: fc.integer({ min: 0, max: 0xffff_ffff }),
  float32: fc.float({ noNaN: true, noDefaultInfinity: true }),
};
const types = Object.keys(numbers) as RegisterType[];
const orders = Object.keys(PLACES) as ByteOrder[];

describe.each(types)('registers that hold %s', (type) => {
  it.each(orders)('in the order %s give back the number that was put into them (seed 23)', (order) => {
    fc.assert(
      fc.property(numbers[type], fc.nat(3), (number, before) => {
        const words = [...Array.from({ length: before }, () => 0x1234), ...wordsOf(number, type, order)];
        expect(rawNumberAt(words, before, type, order)).toBe(number);
        expect(rawNumberAt(words, before + 1, type, order)).toBeUndefined();
      }),
      { seed: 23, numRuns: 1000 },
    );
  });
});

describe('a register of an instrument', () => {
  it.each([
    ['1953', { scale: 0.1 }, 648.3],
    ['ff85', { scale: 0.1 }, -12.3],
    ['ff85', { type: 'uint16' as const, scale: 0.01 }, 654.13],
    ['0288', { offset: -0.5 }, 647.5],
    ['04cf', { degrees: 'F' as const }, 666.111111],
    ['0399', { degrees: 'K' as const }, 647.85],
    ['4422 1000', { type: 'float32' as const }, 648.25],
    ['1000 4422', { type: 'float32' as const, order: 'CDAB' as const }, 648.25],
    ['2244 0010', { type: 'float32' as const, order: 'BADC' as const }, 648.25],
    ['0010 2244', { type: 'float32' as const, order: 'DCBA' as const }, 648.25],
    ['0000 fd39', { type: 'int32' as const, scale: 0.01 }, 648.25],
    ['5319', { order: 'BADC' as const, scale: 0.1 }, 648.3],
  ])('%s is read by what is declared: %o', (text, more, celsius) => {
    expect(heard(text, more)).toEqual(shelf(celsius));
  });

  it.each([
    ['7fff', {}],
    ['8000', { scale: 0.1 }],
    ['ffff', { type: 'uint16' as const }],
    ['8000', { type: 'uint16' as const }],
    ['7fc0 0000', { type: 'float32' as const }],
    ['7f80 0000', { type: 'float32' as const }],
    ['7f7f ffff', { type: 'float32' as const }],
    ['7fff ffff', { type: 'int32' as const }],
    ['8000 0000', { type: 'int32' as const }],
    ['ffff ffff', { type: 'uint32' as const }],
    ['270f', { noValue: [9999] }],
    ['d8f0', { noValue: [-10_000], scale: 0.1 }],
  ])('%s says that there is no value, and is never a temperature: %o', (text, more) => {
    expect(heard(text, more)).toEqual(noValue);
  });

  it('read in a wrong order shows at once: no kiln is there', () => {
    for (const order of ['CDAB', 'BADC', 'DCBA'] as const) {
      const number = rawNumberAt([0x4422, 0x1000], 0, 'float32', order) ?? Number.NaN;
      expect(Math.abs(number) > 1e4 || Math.abs(number) < 1e-3).toBe(true);
    }
  });

  it('that is refused is a fault of its sensor, with the code', () => {
    expect(heard('exception 2')).toEqual({
      ok: true,
      readings: [{ kind: 'fault', sensor: 'shelf', fault: 'the instrument refuses to give this register (code 2)' }],
    });
  });

  it('may say that the lid is open, by one of its bits or by not being nought', () => {
    const lid = (open: boolean): object => ({ ok: true, readings: [{ kind: 'lid', open }] });
    expect(heard('0002', { gives: { kind: 'lid' }, bit: 1 })).toEqual(lid(true));
    expect(heard('fffd', { gives: { kind: 'lid' }, bit: 1 })).toEqual(lid(false));
    expect(heard('7fff', { gives: { kind: 'lid' } })).toEqual(lid(true));
    expect(heard('0000', { gives: { kind: 'lid' } })).toEqual(lid(false));
  });
});

describe('what a controller tells of itself', () => {
  const setpoint: RegisterPoint = { ...plain, gives: { kind: 'setpoint' }, place: 1, scale: 0.1 };
  const output: RegisterPoint = { ...plain, gives: { kind: 'output' }, place: 2, scale: 0.1 };

  const said = (text: string): Decoded | Rejected => heard(text, { scale: 0.1 }, setpoint, output);

  it('stands beside the reading of the sensor', () => {
    expect(said('1953 19c8 00fa')).toEqual({
      ok: true,
      readings: [
        { kind: 'temperature', sensor: 'shelf', temperatureC: 648.3 },
        { kind: 'setpoint', setpointC: 660 },
        { kind: 'output', outputRatio: 0.25 },
      ],
    });
  });

  it('is nothing where it gives no value, refuses, or says what no controller says', () => {
    const nothing = [
      { kind: 'setpoint', setpointC: null },
      { kind: 'output', outputRatio: null },
    ];
    for (const text of ['1953 7fff 7fff', 'exception 2', '1953 7ffe 7ffe']) {
      const answer = said(text);
      expect(answer.ok && answer.readings.slice(1)).toEqual(nothing);
    }
  });
});

describe('whatever a block of registers is said to be (seed 29)', () => {
  const anyText = fc.oneof(
    fc.array(fc.nat(0xffff), { maxLength: 6 }).map(hexOf),
    fc.string({ maxLength: 60 }),
    fc.stringMatching(/^[0-9a-f ]{0,40}$/),
    fc.constantFrom('exception 0', 'exception 999', 'exception 1000', 'exception'),
  );
  const anyPoint: fc.Arbitrary<Partial<RegisterPoint>> = fc.record({
    place: fc.nat(5),
    type: fc.constantFrom(...types),
    order: fc.constantFrom(...orders),
    scale: fc.double({ noNaN: true, noDefaultInfinity: true }),
    offset: fc.double({ noNaN: true, noDefaultInfinity: true }),
    degrees: fc.constantFrom('C' as const, 'F' as const, 'K' as const),
  });

  it('gives finite temperatures, a fault, or one sentence, and never throws', () => {
    fc.assert(
      fc.property(anyText, anyPoint, (text, point) => {
        const said = heard(text, point);
        if (!said.ok) expect(said.sentence).toMatch(/^[^\n]{1,200}\.$/);
        else
          for (const r of said.readings)
            if (r.kind === 'temperature') expect(Number.isFinite(r.temperatureC)).toBe(true);
      }),
      { seed: 29, numRuns: 10_000 },
    );
  });
});
