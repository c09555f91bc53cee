/** The shapes of lines that instruments print, each with what is written down of it. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Decoding, LineDecoding } from '../../../daemon/core/plan/kiln.ts';
import { decodeRaw } from '../../../daemon/core/reading/decode.ts';
import type { Decoded, Rejected } from '../../../daemon/core/reading/reading.ts';
import { lineSplitter } from '../../../daemon/inputs/line-splitter.ts';
import { type LineShapeName, lineShapes, printLine, printStart } from '../../../simulators/line-shapes.ts';

const said = (text: string, decoding: Decoding): Decoded | Rejected =>
  decodeRaw({ kind: 'raw', atMs: 0, input: 'serial-1', text }, decoding);
const columns = (...names: string[]): Extract<LineDecoding, { kind: 'columns' }> => ({
  kind: 'columns',
  columns: names,
});
const shelf = (temperatureC: number): object => ({ kind: 'temperature', sensor: 'shelf', temperatureC });
const top = (temperatureC: number): object => ({ kind: 'temperature', sensor: 'top', temperatureC });
const none = (sensor: string): object => ({ kind: 'fault', sensor, fault: 'the instrument gives no value' });
const lid = (open: boolean): object => ({ kind: 'lid', open });
const read = (...readings: object[]): object => ({ ok: true, readings });
const refused = (sentence: string): object => ({ ok: false, sentence });

describe('columns', () => {
  it.each([
    ['648.5, 651', read(shelf(648.5), top(651))],
    ['648,5, 651,25', read(shelf(648.5), top(651.25))],
    ['648,5 651,25', read(shelf(648.5), top(651.25))],
    ['648.5;651;', read(shelf(648.5), top(651))],
    ['648.5;', read(shelf(648.5), none('top'))],
    [';651', read(none('shelf'), top(651))],
    ['648.5\t', read(shelf(648.5), none('top'))],
    ['\t651', read(none('shelf'), top(651))],
    ['"648.5","651"', read(shelf(648.5), top(651))],
    ['[648.5, null]', read(shelf(648.5), none('top'))],
    ['[648.5, {"a": 1}]', refused('The line "[648.5, {"a": 1}]" has no temperature where top should be.')],
    ['[648.5', refused('The line "[648.5" begins like JSON, and is none.')],
  ])('are found in %j', (line, expected) => {
    expect(said(line, columns('shelf', 'top'))).toEqual(expected);
  });

  it('keep an empty place between tabs', () => {
    expect(said('648.5\t\t651', columns('shelf', '-', 'top'))).toEqual(read(shelf(648.5), top(651)));
    expect(said('648.5\t\t651', columns('shelf', 'top', '-'))).toEqual(read(shelf(648.5), none('top')));
  });

  it('are parted by the declared separator and by nothing else', () => {
    const byComma: LineDecoding = { ...columns('shelf', 'top'), separator: 'comma' };
    expect(said('648.5,651', byComma)).toEqual(read(shelf(648.5), top(651)));
    expect(said('648.5;651', byComma)).toMatchObject({ ok: false });
    expect(said('a=1,651', { ...columns('-', 'top'), separator: 'comma' })).toEqual(read(top(651)));
  });
});

describe('a comma', () => {
  const withDecimal = (decimal: 'point' | 'comma'): LineDecoding => ({ ...columns('shelf'), decimal });

  it('that may part thousands is not guessed at', () => {
    expect(said('1,074', columns('shelf'))).toEqual(
      refused(
        'The line "1,074" may mean a whole number or one with a decimal comma: write decimal: comma or decimal: point.',
      ),
    );
    expect(said('1,074 °C', columns('shelf'))).toMatchObject({ ok: false });
    expect(said('0,652', columns('shelf'))).toEqual(read(shelf(0.652)));
    expect(said('1,0745', columns('shelf'))).toEqual(read(shelf(1.0745)));
  });

  it('is the decimal one, or parts thousands, where that is written down', () => {
    expect(said('1,074', withDecimal('comma'))).toEqual(read(shelf(1.074)));
    expect(said('1,074', withDecimal('point'))).toEqual(read(shelf(1074)));
    expect(said('1,074.5 C', withDecimal('point'))).toEqual(read(shelf(1074.5)));
    expect(said('1.074', withDecimal('point'))).toEqual(read(shelf(1.074)));
    expect(said('1.074', withDecimal('comma'))).toEqual(
      refused('The line "1.074" has "1.074", which is no number with a decimal comma.'),
    );
    expect(said('648,5', withDecimal('point'))).toMatchObject({ ok: false });
  });
});

describe('JSON', () => {
  const json: LineDecoding = { kind: 'names', names: { shelf: 'data.t1', top: 'couples.1.celsius', lid: 'lid' } };

  it('is read at the places that are written down', () => {
    const line = '{"data":{"t1":648.5},"couples":[{"celsius":1},{"celsius":null}],"lid":"open","more":[1]}';
    expect(said(line, json)).toEqual(read(shelf(648.5), none('top'), lid(true)));
    expect(said('{"data":{"t1":"648,5"}}', json)).toEqual(read(shelf(648.5)));
    expect(said('{"lid":false}', json)).toEqual(read(lid(false)));
  });

  it('is read by the sensors’ own names where nothing is written down', () => {
    expect(said('{"top":651,"shelf":648.5,"fan":3}', columns('shelf', 'top'))).toEqual(read(shelf(648.5), top(651)));
    expect(said('{"a.b":651}', { kind: 'names', names: { top: 'a.b' } })).toEqual(read(top(651)));
  });

  it('has a point in its numbers, whatever is written down for texts', () => {
    expect(said('{"shelf":1.074}', { ...columns('shelf'), decimal: 'comma' })).toEqual(read(shelf(1.074)));
    expect(said('{"shelf":"1,074"}', { ...columns('shelf'), decimal: 'comma' })).toEqual(read(shelf(1.074)));
    expect(said('{"shelf":"1,074"}', columns('shelf'))).toMatchObject({ ok: false });
  });

  it.each([
    ['{"data":{"t1":648.5}', 'begins like JSON, and is none'],
    ['{"data":{"t1":{}}}', 'has a group or a list at "data.t1"'],
    ['{"data":{"t2":648.5}}', 'names none of data.t1, couples.1.celsius, lid'],
    ['{"data":{"t1":true}}', 'has no temperature where shelf should be'],
    ['{"data":{"t1":1e999}}', 'has no temperature where shelf should be'],
    ['{"__proto__":{"lid":1}}', 'names none of'],
    ['[]', 'names none of'],
  ])('is refused in %s', (line, why) => {
    const answer = said(line, json);
    expect(answer.ok ? '' : answer.sentence).toContain(why);
  });
});

describe('name=value', () => {
  it('is read by the names in the line, blanks and commas wherever they stand', () => {
    const pairs: LineDecoding = { kind: 'names', names: { shelf: 'T1', top: 'T2' } };
    for (const line of ['T2=651 T1=648.5', 'T1 = 648.5; T2 = 651', 'T1=648,5, T2=651,', 'x=1 T1=648.5,T2=651']) {
      const answer = said(line, pairs);
      expect(
        answer.ok ? [...answer.readings].sort((a, b) => (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1)) : answer,
      ).toEqual([shelf(648.5), top(651)]);
    }
    expect(said('t1=648', pairs)).toEqual(refused('The line "t1=648" names none of T1, T2.'));
  });
});

describe('a declared pattern', () => {
  const pattern = (text: string): LineDecoding => ({ kind: 'pattern', pattern: text });

  it.each([
    ['T1: {shelf} C, T2: {top} C', 'T1:  648.5 C, T2: --- C', read(shelf(648.5), none('top'))],
    ['{-} T={shelf}', '2026-11-18 06:00 T=648.5 °C', read(shelf(648.5))],
    ['#{-};{shelf};{lid};{-}', '#12;648,5;closed;ok', read(shelf(648.5), lid(false))],
    ['<{shelf}>', '<648.5>', read(shelf(648.5))],
    ['<{shelf}>', '<648.5> ', read(shelf(648.5))],
    ['<{shelf}>', '<648.5>>', refused('The line "<648.5>>" is not of the pattern that is written down.')],
    ['<{shelf}>', '<648.5', refused('The line "<648.5" is not of the pattern that is written down.')],
    ['<{shelf}>', '<6x>', refused('The line "<6x>" has no temperature where shelf should be.')],
    ['T {shelf}', 'U 648.5', refused('The line "U 648.5" is not of the pattern that is written down.')],
  ])('"%s" reads %j', (text, line, expected) => {
    expect(said(line, pattern(text))).toEqual(expected);
  });
});

describe('what stands for no value', () => {
  it('is what is written down, as a number or a word', () => {
    const habits = { noValue: [-127, 'OC'] };
    for (const line of ['-127', '-127.00', '-127,0', 'oc', 'OC']) {
      expect(said(line, { ...columns('shelf'), ...habits })).toEqual(read(none('shelf')));
    }
    expect(said('{"shelf":-127}', { ...columns('shelf'), ...habits })).toEqual(read(none('shelf')));
    expect(said('-127.5', { ...columns('shelf'), ...habits })).toEqual(read(shelf(-127.5)));
  });
});

it('a line with bytes that no instrument prints is garbled, wherever they stand', () => {
  expect(said('shelf=648.5 \u0000\u0013', columns('shelf'))).toEqual(
    refused('The line "shelf=648.5 ··" is garbled: check baud and parity.'),
  );
});

describe('the shapes of the simulated instruments', () => {
  const measured = {
    readings: [
      { sensor: 'shelf', celsius: 648.25 },
      { sensor: 'top', celsius: null },
    ],
    lid: 'open',
  } as const;
  const names = ['shelf', 'top', 'lid'];
  const celsius = Object.keys(lineShapes).filter((name) => !name.startsWith('fahrenheit')) as LineShapeName[];

  it.each(celsius)('"%s" is read with nothing written down, first line thrown away', (name) => {
    const shape = lineShapes[name];
    const text = printStart(shape, names, measured) + printLine(shape, names, measured).repeat(3);
    const lines = lineSplitter().push(Buffer.from(text));
    expect(lines.length).toBeGreaterThan(1);
    for (const line of lines) {
      expect(said(line, columns(...names))).toEqual(read(shelf(648.25), none('top'), lid(true)));
    }
  });

  it('"fahrenheit" says what it counts, and is not taken for °C', () => {
    const line = printLine(lineShapes.fahrenheit, ['shelf'], measured);
    expect(said(line, columns('shelf'))).toMatchObject({ ok: false });
  });
});

const SEED = 20261125;
const decodings: LineDecoding[] = [
  columns('shelf'),
  columns('shelf', 'top', 'lid'),
  { ...columns('-', 'shelf'), separator: 'comma', decimal: 'point' },
  { ...columns('shelf', 'top'), decimal: 'comma', noValue: [-127, 'x'] },
  { kind: 'names', names: { shelf: 't1', top: 'a.0.b' } },
  { kind: 'pattern', pattern: 'T {shelf} / {-} {top}' },
];
const anyLine = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 80 }),
  fc.stringMatching(/^[-+0-9.,;:={}[\]" \t/TCshelftoparb°]{0,60}$/),
  fc.json({ maxDepth: 3 }),
  fc
    .tuple(fc.double({ min: -300, max: 2000 }), fc.constantFrom('', ' C', ';', ', ', '\t'), fc.double())
    .map(([a, between, b]) => `${a.toFixed(2)}${between}${b}`),
  fc.string({ maxLength: 5000 }),
);

describe(`whatever is printed (seed ${SEED})`, () => {
  it('gives finite figures or one sentence, and never throws', () => {
    fc.assert(
      fc.property(anyLine, fc.constantFrom(...decodings), (line, decoding) => {
        const answer = said(line, decoding);
        if (answer.ok) {
          expect(answer.readings.length).toBeGreaterThan(0);
          for (const r of answer.readings)
            if (r.kind === 'temperature') expect(Number.isFinite(r.temperatureC)).toBe(true);
        } else expect(answer.sentence).toMatch(/^[^\n]{1,400}\.$/);
      }),
      { seed: SEED, numRuns: 20_000 },
    );
  });

  it('has each figure that is read among the digits of the line', () => {
    const digits = (text: string): string => text.replace(/[^0-9]/g, '');
    fc.assert(
      fc.property(anyLine, fc.constantFrom(...decodings), (line, decoding) => {
        const answer = said(line, decoding);
        if (!answer.ok) return;
        for (const r of answer.readings) {
          if (r.kind !== 'temperature' || /e/i.test(line)) continue;
          const shown = Math.abs(r.temperatureC).toString();
          if (!shown.includes('e'))
            expect(digits(line)).toContain(
              digits(shown)
                .replace(/^0+(?=\d)/, '')
                .slice(0, 12),
            );
        }
      }),
      { seed: SEED, numRuns: 20_000 },
    );
  });

  it('gives the same readings wherever its bytes are cut', () => {
    const ending = fc.constantFrom('\n', '\r', '\r\n');
    const stream = fc
      .array(fc.tuple(anyLine, ending), { maxLength: 8 })
      .map((lines) => Buffer.from(`half\n${lines.map(([line, end]) => line + end).join('')}`));
    const cuts = fc.array(fc.nat(6000), { maxLength: 10 });
    fc.assert(
      fc.property(stream, cuts, fc.constantFrom(...decodings), (bytes, at, decoding) => {
        const read = (chunks: readonly Uint8Array[]): unknown[] => {
          const splitter = lineSplitter();
          return chunks.flatMap((chunk) => splitter.push(chunk)).map((line) => said(line, decoding));
        };
        const places = [...new Set(at.map((cut) => cut % (bytes.length + 1)))].sort((a, b) => a - b);
        const chunks = [0, ...places].map((from, i) => bytes.subarray(from, places[i] ?? bytes.length));
        expect(read(chunks)).toEqual(read([bytes]));
      }),
      { seed: SEED, numRuns: 3000 },
    );
  });
});
