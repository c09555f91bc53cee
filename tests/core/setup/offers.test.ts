import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Decoding } from '../../../daemon/core/plan/kiln.ts';
import { decodeRaw } from '../../../daemon/core/reading/decode.ts';
import { decodingFor } from '../../../daemon/core/reading/guess-line.ts';
import {
  type Offer,
  offersOfLines,
  offersOfRegisters,
  offersOfTopics,
  type Way,
} from '../../../daemon/core/setup/offers.ts';

const brief = (offers: readonly Offer[]) =>
  offers.map(({ where, text, isCounter, ways }) => [where, text, isCounter ? 'counts' : (ways[0]?.key ?? 'nothing')]);

describe('what is offered of lines', () => {
  it('is each figure with its place, what may be a kiln first', () => {
    const lines = Array.from({ length: 8 }, (_, i) => `${1000 + i};${(21 + ((i * 7) % 5) / 10).toFixed(1)};-127;70.7`);
    expect(brief(offersOfLines(lines))).toEqual([
      ['2nd of 4', '21.4', 'C'],
      ['4th of 4', '70.7', 'F'],
      ['1st of 4', '1007', 'counts'],
      ['3rd of 4', '-127', 'nothing'],
    ]);
  });

  it('is that of the usual line, not of a greeting or a word of trouble', () => {
    const lines = ['v 1.2, 3 couples', 't=21.5 out=0', 't=21.5 out=0', 't=21.6 out=0', 'error 7'];
    expect(brief(offersOfLines(lines))[0]).toEqual(['t', '21.6', 'C']);
  });

  it('leaves open what a comma means', () => {
    expect(offersOfLines(['1,074'])[0]?.ways.map(({ key, celsius }) => [key, celsius])).toContainEqual([
      'C point',
      1074,
    ]);
    expect(offersOfLines(['21,5'])[0]?.ways[0]).toMatchObject({ key: 'C', celsius: 21.5 });
  });
});

describe('what is offered of topics', () => {
  it('is each value of JSON and each plain one', () => {
    const topics = [
      { topic: 'house/clock', texts: ['{"s":1}', '{"s":2}'] },
      { topic: 'kiln/all', texts: ['{"data":[{"t":21.5}],"up":"x"}'] },
      { topic: 'kiln/top', texts: ['22.5'] },
      { topic: 'kiln/state', texts: ['ready'] },
    ];
    expect(brief(offersOfTopics(topics))).toEqual([
      ['s in house/clock', '2', 'C'],
      ['data.0.t in kiln/all', '21.5', 'C'],
      ['kiln/top', '22.5', 'C'],
    ]);
  });
});

describe('a way that is offered', () => {
  const figure = fc.oneof(
    fc.integer({ min: -30, max: 1400 }).map(String),
    fc.integer({ min: -300, max: 14_000 }).map((tenths) => (tenths / 10).toFixed(1)),
    fc.integer({ min: -300, max: 14_000 }).map((tenths) => (tenths / 10).toFixed(1).replace('.', ',')),
    fc.constantFrom('1,074.5', '+21.50', 'board-7', 'v1.2', 'ok', '', 'nan', '21.5x', '--', '1e3', '3 of 4'),
  );
  const field = fc
    .tuple(figure, fc.constantFrom('', '', ' C', '°C', ' F', 'K', ' mV', '%'))
    .map((parts) => parts.join(''));
  const fields = fc.array(field, { minLength: 1, maxLength: 4 });
  const line = fc.oneof(
    fc.tuple(fields, fc.constantFrom(';', ',', '\t', ' ')).map(([all, separator]) => all.join(separator)),
    fields.map((all) => all.map((one, i) => `t${i}=${one}`).join(' ')),
    fields.map((all) => JSON.stringify(Object.fromEntries(all.map((one, i) => [`t${i}`, one])))),
    fields.map((all) => JSON.stringify({ data: all.map((one) => Number(one) || one) })),
    fields.map((all) => all.map((one, i) => `T${i}: ${one}`).join(', ')),
  );
  /** What that way makes of the text from which it was offered. */
  const read = (text: string, decoding: Decoding, unit: Way['unit'], channel?: string) => {
    const raw = { kind: 'raw', atMs: 0, input: 'one', text, ...(channel !== undefined && { channel }) } as const;
    const decoded = decodeRaw(raw, decoding, [{ name: 'a', unit }]);
    return decoded.ok ? decoded.readings : decoded.sentence;
  };
  const asOffered = ({ unit, letter, celsius }: Way) =>
    unit === 'mV'
      ? [expect.objectContaining({ kind: 'emf', sensor: 'a' })]
      : [
          {
            kind: 'temperature',
            sensor: 'a',
            temperatureC: expect.closeTo(letter === undefined ? celsius : Number.NaN, 1),
          },
        ];

  it('reads the very line of which it was offered, and as that figure', () => {
    fc.assert(
      fc.property(line, (text) => {
        for (const { spot, ways } of offersOfLines([text])) {
          if (spot.kind !== 'line') throw new Error('not of a line');
          for (const way of ways) {
            const decoding = decodingFor(spot.line, { a: spot.place }, way.decimal);
            if (decoding === undefined) throw new Error(`no way to read ${text}`);
            expect(read(text, decoding, way.unit)).toEqual(asOffered(way));
          }
        }
      }),
      { seed: 3, numRuns: 3000 },
    );
  });

  it('reads the very payload of which it was offered, and as that figure', () => {
    fc.assert(
      fc.property(line, (text) => {
        for (const { spot, ways } of offersOfTopics([{ topic: 'kiln', texts: [text] }])) {
          if (spot.kind !== 'topic') throw new Error('not of a topic');
          for (const { decimal, ...way } of ways) {
            const { topic, path } = spot;
            const point = {
              gives: 'a',
              topic,
              ...(path !== undefined && { path }),
              ...(decimal !== undefined && { decimal }),
            };
            expect(read(text, { kind: 'topics', points: [point] }, way.unit, topic)).toEqual(asOffered(way));
          }
        }
      }),
      { seed: 3, numRuns: 3000 },
    );
  });

  it('is none for a name with a figure in it', () => {
    expect(offersOfTopics([{ topic: 'kiln', texts: ['{"id":"board-7","t":"21.5 °C"}'] }])).toMatchObject([
      { where: 't in kiln', ways: [{ key: 'C', celsius: 21.5 }] },
    ]);
  });
});

describe('what is offered of registers', () => {
  it('is the plainest way that is like a room first, and the same table once', () => {
    const words = [215, 0, 0x41ac, 0];
    const offers = offersOfRegisters([
      { unit: 1, table: 'holding', register: 100, words },
      { unit: 1, table: 'input', register: 100, words },
    ]);
    expect(offers.map(({ id }) => id)).not.toContainEqual(expect.stringContaining('input'));
    expect(offers.find(({ id }) => id === 'unit 1 holding 100')?.ways[0]?.key).toBe('int16 ABCD 0.1 C');
    expect(offers.find(({ id }) => id === 'unit 1 holding 102')?.ways[0]).toMatchObject({
      key: 'float32 ABCD 1 C',
      celsius: 21.5,
    });
  });
});

describe('whatever comes', () => {
  it('never crashes, and each figure offered stands in what came', () => {
    const line = fc.oneof(
      fc.string({ maxLength: 80 }),
      fc.string({ unit: 'binary', maxLength: 80 }),
      fc.json({ maxDepth: 3 }),
      fc.array(fc.double({ min: -300, max: 2000, noNaN: true }), { maxLength: 6 }).map((row) => row.join(';')),
      fc.stringMatching(/^[-+0-9.,;=a-c{}" ]{0,40}$|^(a=[0-9]{1,3} ){0,4}$/),
    );
    fc.assert(
      fc.property(fc.array(line, { maxLength: 6 }), (lines) => {
        for (const offers of [offersOfLines(lines), offersOfTopics([{ topic: 'a/b', texts: lines }])]) {
          expect(offers.length).toBeLessThanOrEqual(60);
          expect(new Set(offers.map(({ id }) => id)).size).toBe(offers.length);
          for (const { text, ways } of offers) {
            // Blanks beside a sign are not kept.
            const bare = (one: string): string => one.replace(/\s/g, '');
            const asJson = JSON.stringify(text).slice(1, -1);
            expect(lines.some((one) => [text, asJson].some((shown) => bare(one).includes(bare(shown))))).toBe(true);
            expect(new Set(ways.map(({ key }) => key)).size).toBe(ways.length);
            for (const { celsius } of ways) expect(Number.isFinite(celsius)).toBe(true);
          }
        }
      }),
      { seed: 22, numRuns: 400 },
    );
    const word = fc.integer({ min: 0, max: 0xffff });
    fc.assert(
      fc.property(fc.array(word, { maxLength: 12 }), (words) => {
        const offers = offersOfRegisters([{ unit: 1, table: 'input', register: 7, words }]);
        expect(offers).toHaveLength(words.length);
        for (const { ways } of offers) expect(new Set(ways.map(({ key }) => key)).size).toBe(ways.length);
      }),
      { seed: 23, numRuns: 200 },
    );
  });
});
