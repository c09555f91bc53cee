import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseKiln } from '../../daemon/config/kiln-file.ts';
import { idFor, kilnEntryOf, type Picked } from '../../daemon/config/new-kiln.ts';
import { decodeRaw } from '../../daemon/core/reading/decode.ts';
import type { Reading } from '../../daemon/core/reading/reading.ts';
import {
  type Offer,
  offersOfLines,
  offersOfRegisters,
  offersOfTopics,
  type Way,
} from '../../daemon/core/setup/offers.ts';
import { TERMINALS_C } from '../../daemon/core/setup/ways.ts';
import { tipC } from '../../daemon/core/thermometry/cold-junction.ts';
import { isCoupleLetter } from '../../daemon/core/thermometry/its90.ts';
import type { Place } from '../../daemon/wire/setup.ts';

const serial: Place = { kind: 'serial', port: '/dev/ttyUSB0', baud: 9600 };
const broker: Place = { kind: 'mqtt', url: 'mqtt://127.0.0.1:1883' };
const modbus: Place = { kind: 'modbus-tcp', address: '127.0.0.1:502', unit: 1, register: 0 };

function entryFor(place: Place, picks: readonly Picked[]): object {
  return kilnEntryOf({ id: 'k', name: 'K', heat: 'gas', closure: 'door', place, picks });
}

/** What the daemon makes of the very message that was picked from, °C by sensor. */
function readBack(place: Place, picks: readonly Picked[], channel: string | undefined, text: string) {
  const { kiln } = parseKiln(entryFor(place, picks), 'k', { withInput: true });
  const [input = ''] = Object.keys(kiln.decodings);
  const message = { kind: 'raw' as const, atMs: 0, input, channel, text };
  const decoded = decodeRaw(message, kiln.decodings[input], kiln.sensors);
  if (!decoded.ok) throw new Error(decoded.sentence);
  return Object.fromEntries(
    decoded.readings.flatMap((reading) => {
      const celsius = celsiusOf(
        reading,
        kiln.sensors.find((s) => 'sensor' in reading && s.name === reading.sensor)?.letter,
      );
      return 'sensor' in reading ? [[reading.sensor, celsius]] : [];
    }),
  );
}

function celsiusOf(reading: Reading, letter = 'K'): number | null {
  if (reading.kind === 'temperature') return reading.temperatureC;
  if (reading.kind !== 'emf' || !isCoupleLetter(letter)) return null;
  const tip = tipC(letter, reading.emfMv, TERMINALS_C);
  return tip.ok ? tip.temperatureC : null;
}

const picked = (sensor: string, offer: Offer, way: Way): Picked => ({ sensor, letter: 'K', spot: offer.spot, way });

describe('what is picked', () => {
  it('is what is read from then on: any figure of any line, in any way', () => {
    const figure = fc.integer({ min: -500, max: 15_000 }).map((n) => (n / 10).toFixed(1));
    const line = fc.oneof(
      fc.array(figure, { minLength: 1, maxLength: 5 }).map((row) => row.join(';')),
      fc.array(figure, { minLength: 2, maxLength: 5 }).map((row) => row.join(', ')),
      fc.array(figure, { minLength: 1, maxLength: 4 }).map((row) => row.map((f, i) => `t${i}=${f}`).join(' ')),
      fc.array(figure, { minLength: 1, maxLength: 4 }).map((row) => JSON.stringify({ a: { b: row.map(Number) } })),
      figure.map((f) => `Kiln: ${f} C, fan 3`),
      figure.map((f) => f.replace('.', ',')),
    );
    let count = 0;
    fc.assert(
      fc.property(line, (text) => {
        for (const offer of offersOfLines([text])) {
          for (const way of offer.ways) {
            count += 1;
            const celsius = readBack(serial, [picked('shelf', offer, way)], undefined, text).shelf ?? Number.NaN;
            expect(Math.abs(celsius - way.celsius)).toBeLessThan(0.006);
          }
        }
      }),
      { seed: 31, numRuns: 400 },
    );
    expect(count).toBeGreaterThan(1000);
  });

  it('may be several figures at once, the first of them ruling', () => {
    const [shelf, top] = offersOfLines(['21.5;70.7;12']);
    const [c] = shelf?.ways ?? [];
    const [f] = top?.ways ?? [];
    if (shelf === undefined || top === undefined || c === undefined || f === undefined) throw new Error('no offers');
    const picks = [picked('shelf', shelf, c), picked('top', top, f)];
    expect(entryFor(serial, picks)).toEqual({
      id: 'k',
      name: 'K',
      heat: 'gas',
      closure: 'door',
      sensors: [
        { name: 'shelf', letter: 'K', rules: true },
        { name: 'top', letter: 'K', unit: 'F' },
      ],
      input: { kind: 'serial', port: '/dev/ttyUSB0', baud: 9600, columns: ['shelf', 'top', '-'] },
    });
    expect(readBack(serial, picks, undefined, '21.5;70.7;12')).toEqual({ shelf: 21.5, top: 21.5 });
  });

  it('of a topic is its place in JSON', () => {
    const text = '{"t":{"shelf":21.5},"n":4}';
    const [offer] = offersOfTopics([{ topic: 'kiln/all', texts: [text] }]);
    const [way] = offer?.ways ?? [];
    if (offer === undefined || way === undefined) throw new Error('no offers');
    expect(entryFor(broker, [picked('shelf', offer, way)])).toMatchObject({
      input: { kind: 'mqtt', topics: { shelf: { topic: 'kiln/all', path: 't.shelf' } } },
    });
    expect(readBack(broker, [picked('shelf', offer, way)], 'kiln/all', text)).toEqual({ shelf: 21.5 });
  });

  it('of a register is its type, order and scale', () => {
    const word = fc.integer({ min: 0, max: 0xffff });
    fc.assert(
      fc.property(fc.array(word, { minLength: 1, maxLength: 4 }), (words) => {
        for (const offer of offersOfRegisters([{ unit: 1, table: 'holding', register: 5, words }])) {
          for (const way of offer.ways) {
            const pick = picked('shelf', offer, way);
            const { inputs } = parseKiln(entryFor(modbus, [pick]), 'k', { withInput: true });
            const [input] = inputs;
            const block = input !== undefined && 'blocks' in input ? input.blocks[0] : undefined;
            if (block === undefined) throw new Error('no block');
            const asked = words.slice(block.address - 5, block.address - 5 + block.registerCount);
            const hex = asked.map((one) => one.toString(16).padStart(4, '0')).join(' ');
            const celsius = readBack(modbus, [pick], block.channel, hex).shelf ?? Number.NaN;
            expect(Math.abs(celsius - way.celsius)).toBeLessThan(0.006);
          }
        }
      }),
      { seed: 32, numRuns: 300 },
    );
  });
});

describe('an id', () => {
  it.each([
    ['Gas kiln 2', [], 'gas-kiln-2'],
    ['Gas kiln', ['gas-kiln'], 'gas-kiln-2'],
    ['Ofen für Email', [], 'ofen-fur-email'],
    ['窯', [], 'kiln'],
    [`${'long '.repeat(20)}`, [], 'long-long-long-long-long-long-long-l'],
  ])('is made of the name %j', (name, taken, id) => {
    expect(idFor(name, taken)).toBe(id);
  });
});
