import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Offer, offersOfLines, offersOfRegisters, offersOfTopics } from '../../../daemon/core/setup/offers.ts';

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
