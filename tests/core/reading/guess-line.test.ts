/** What a person is shown of a line that nobody has described, and what becomes of the pick. */
import { describe, expect, it } from 'vitest';
import { decodeRaw } from '../../../daemon/core/reading/decode.ts';
import { decodingFor, type FieldPlace, fieldsFound } from '../../../daemon/core/reading/guess-line.ts';
import { type LineShapeName, lineShapes, printLine } from '../../../simulators/line-shapes.ts';

const shown = (line: string): [string, ...number[]][] =>
  fieldsFound(line).map(({ text, figures }) => [text, ...figures.map((one) => one.figure)]);

describe('the figures in a line', () => {
  it.each([
    ['648.5', [['648.5', 648.5]]],
    ['648,5 °C', [['648,5 °C', 648.5]]],
    ['1,074', [['1,074', 1.074, 1074]]],
    ['1,074.5', [['1,074.5', 1074.5]]],
    [
      '12;648.5;closed;-3',
      [
        ['12', 12],
        ['648.5', 648.5],
        ['-3', -3],
      ],
    ],
    [
      '648.5, 651',
      [
        ['648.5', 648.5],
        ['651', 651],
      ],
    ],
    [
      '21.12,22.50',
      [
        ['21.12', 21.12],
        ['22.50', 22.5],
      ],
    ],
    [
      'T 21.12,22.50',
      [
        ['21.12', 21.12],
        ['22.50', 22.5],
      ],
    ],
    // One with a decimal comma, or two whole ones: the person knows.
    [
      '648,651',
      [
        ['648,651', 648.651, 648_651],
        ['648', 648],
        ['651', 651],
      ],
    ],
    ['648,5', [['648,5', 648.5]]],
    [
      't1=648.5 fan=3',
      [
        ['648.5', 648.5],
        ['3', 3],
      ],
    ],
    [
      '{"a":{"t":648.5},"l":["x",7]}',
      [
        ['648.5', 648.5],
        ['7', 7],
      ],
    ],
    [
      'T1: 648.5 C, T2: 651 C',
      [
        ['1', 1],
        ['648.5', 648.5],
        ['2', 2],
        ['651', 651],
      ],
    ],
    ['2026-11-18 06:00 T=648.5', [['648.5', 648.5]]],
    ['no figure', []],
    ['', []],
  ])('%j shows %j', (line, expected) => {
    expect(shown(line)).toEqual(expected);
  });
});

describe('what a person picks', () => {
  /** Picks the field that shows this text. */
  function pick(line: string, texts: Readonly<Record<string, string>>, decimal?: 'point' | 'comma') {
    const places = Object.entries(texts).map(([sensor, text]): [string, FieldPlace] => {
      const found = fieldsFound(line).find((field) => field.text === text);
      if (found === undefined) throw new Error(`${text} is not found in ${line}`);
      return [sensor, found.place];
    });
    return decodingFor(line, Object.fromEntries(places), decimal);
  }

  it.each([
    ['12;648.5;651', { shelf: '648.5' }, { kind: 'columns', columns: ['-', 'shelf', '-'] }],
    ['21.12,22.50', { top: '22.50' }, { kind: 'columns', columns: ['-', 'top'] }],
    ['648,651', { top: '651' }, { kind: 'columns', columns: ['-', 'top'], separator: 'comma' }],
    ['t1=648.5 t2=651', { top: '651', shelf: '648.5' }, { kind: 'names', names: { top: 't2', shelf: 't1' } }],
    ['{"a":{"t":648.5}}', { shelf: '648.5' }, { kind: 'names', names: { shelf: 'a.t' } }],
    ['T1: 648.5 C, 651 C', { shelf: '648.5' }, { kind: 'pattern', pattern: 'T{-}: {shelf} C, {-} C' }],
  ])('of %j is written down', (line, texts, expected) => {
    expect(pick(line, texts as unknown as Record<string, string>)).toEqual(expected);
  });

  const measured = {
    readings: [
      { sensor: 'a', celsius: 648.25 },
      { sensor: 'b', celsius: 651.5 },
    ],
    lid: 'closed',
  } as const;
  const shapes = Object.keys(lineShapes).filter((name) => !name.startsWith('fahrenheit')) as LineShapeName[];

  it.each(shapes)('of the shape "%s" reads the next lines too', (name) => {
    const line = printLine(lineShapes[name], ['a', 'b', 'lid'], measured);
    const fields = fieldsFound(line);
    const place = fields.find(({ figures }) => figures.some((one) => one.figure === 651.5))?.place;
    expect(place).toBeDefined();
    const decoding = place === undefined ? undefined : decodingFor(line, { shelf: place });
    const next = printLine(lineShapes[name], ['a', 'b', 'lid'], {
      ...measured,
      readings: [{ sensor: 'b', celsius: 655.75 }],
    });
    expect(decodeRaw({ kind: 'raw', atMs: 0, input: 'one', text: next.replace(/[\r\n]+$/, '') }, decoding)).toEqual({
      ok: true,
      readings: [{ kind: 'temperature', sensor: 'shelf', temperatureC: 655.75 }],
    });
  });

  it('from two kinds of place is nothing', () => {
    expect(decodingFor('x', { a: { kind: 'name', name: 't' }, b: { kind: 'number', index: 0 } })).toBeUndefined();
    expect(decodingFor('x', {})).toBeUndefined();
  });
});
