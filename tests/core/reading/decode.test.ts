import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { RawMessage } from '../../../daemon/core/inputs.ts';
import type { Decoding } from '../../../daemon/core/plan/kiln.ts';
import { decodeRaw } from '../../../daemon/core/reading/decode.ts';
import type { Decoded, Rejected } from '../../../daemon/core/reading/reading.ts';

const raw = (text: string, channel?: string): RawMessage => ({
  kind: 'raw',
  atMs: 0,
  input: 'serial-1',
  text,
  ...(channel !== undefined && { channel }),
});
const columns = (...names: string[]): Decoding => ({ kind: 'columns', columns: names });
const one: Decoding = { kind: 'channels', channels: { 'kiln/shelf': 'shelf', 'kiln/lid': 'lid' } };
const heard = (text: string, decoding: Decoding, channel?: string): Decoded | Rejected =>
  decodeRaw(raw(text, channel), decoding);
const shelf = (temperatureC: number): object => ({
  ok: true,
  readings: [{ kind: 'temperature', sensor: 'shelf', temperatureC }],
});
const noValue = { ok: true, readings: [{ kind: 'fault', sensor: 'shelf', fault: 'the instrument gives no value' }] };

describe('what an instrument says', () => {
  it.each([
    ['648.5', 648.5],
    ['648,5', 648.5],
    ['  648.5  ', 648.5],
    ['+648.', 648],
    ['-3', -3],
    ['.5', 0.5],
    ['6.485e2', 648.5],
    ['648.5 C', 648.5],
    ['648.5°C', 648.5],
    ['648.5 °c', 648.5],
  ])('reads "%s" as a temperature', (text, celsius) => {
    expect(heard(text, one, 'kiln/shelf')).toEqual(shelf(celsius));
    expect(heard(text, columns('shelf'))).toEqual(shelf(celsius));
  });

  it.each(['NaN', 'nan', '', ' ', '---', 'null', 'OPEN', 'Err', 'n/a'])(
    'takes "%s" for no value, and not for a nought',
    (text) => {
      expect(heard(text, one, 'kiln/shelf')).toEqual(noValue);
    },
  );

  it.each(['648.5.2', '6 48', '648 F', '0x1f4', 'Infinity', '1e999', '64-8', '--', '648V', '½', '٦٤٨', '1_000'])(
    'finds no temperature in "%s"',
    (text) => {
      expect(heard(text, one, 'kiln/shelf')).toMatchObject({ ok: false });
    },
  );

  it('takes no comma for a decimal one that may part thousands', () => {
    for (const text of ['1,074', '-1,074 C', '12,345']) {
      const said = heard(text, one, 'kiln/shelf');
      expect(said).toMatchObject({ ok: false });
      expect(said.ok ? '' : said.sentence).toContain('may mean a whole number or one with a decimal comma');
    }
  });

  it('says in one sentence what it heard, and not more of it than fits a line', () => {
    const long = heard(`x\u0007${'y'.repeat(500)}`, one, 'kiln/shelf');
    expect(long).toEqual({ ok: false, sentence: `kiln/shelf said "x·${'y'.repeat(38)}…", which is no temperature.` });
  });

  it('takes columns in their order, parted by comma, semicolon, tab or space, and leaves out what is to be left out', () => {
    for (const text of ['648.5,651,open', '648.5;651;open', '648.5 651 open', '648.5\t651\topen', '648,5;651;open']) {
      expect(heard(text, columns('shelf', 'top', 'lid'))).toEqual({
        ok: true,
        readings: [
          { kind: 'temperature', sensor: 'shelf', temperatureC: 648.5 },
          { kind: 'temperature', sensor: 'top', temperatureC: 651 },
          { kind: 'lid', open: true },
        ],
      });
    }
    expect(heard('12,648.5', columns('-', 'shelf'))).toEqual(shelf(648.5));
  });

  it('refuses a line with a field too few or too many, since nobody knows which is missing', () => {
    expect(heard('648.5', columns('shelf', 'top'))).toMatchObject({ ok: false });
    expect(heard('648.5,651,12', columns('shelf', 'top'))).toMatchObject({ ok: false });
    expect(heard('', columns('shelf', 'top'))).toMatchObject({ ok: false, sentence: 'An empty line.' });
  });

  it('takes name=value in any order, with a decimal comma too, and passes over names that are not asked for', () => {
    for (const text of [
      'top=651 shelf=648,5',
      'shelf=648.5;top=651',
      'shelf=648,5, top=651',
      'fan=3 shelf=648.5 top=651',
    ]) {
      const said = heard(text, columns('shelf', 'top'));
      expect(said.ok && [...said.readings].sort((a, b) => JSON.stringify(a).localeCompare(JSON.stringify(b)))).toEqual([
        { kind: 'temperature', sensor: 'shelf', temperatureC: 648.5 },
        { kind: 'temperature', sensor: 'top', temperatureC: 651 },
      ]);
    }
    expect(heard('fan=3', columns('shelf'))).toMatchObject({
      ok: false,
      sentence: 'The line "fan=3" names none of shelf.',
    });
    expect(heard('shelf=6x8', columns('shelf'))).toMatchObject({ ok: false });
  });

  it('reads a switch at the lid, and nothing else as a switch', () => {
    for (const text of ['open', 'Open', '1', 'true', 'ON']) {
      expect(heard(text, one, 'kiln/lid')).toEqual({ ok: true, readings: [{ kind: 'lid', open: true }] });
    }
    for (const text of ['closed', '0', 'false', 'off']) {
      expect(heard(text, one, 'kiln/lid')).toEqual({ ok: true, readings: [{ kind: 'lid', open: false }] });
    }
    expect(heard('ajar', one, 'kiln/lid')).toMatchObject({ ok: false });
  });

  it('names a topic and an input that are not this kiln’s', () => {
    expect(heard('648', one, 'garden/shed')).toMatchObject({
      ok: false,
      sentence: 'Nothing here belongs to "garden/shed".',
    });
    expect(decodeRaw(raw('648'), undefined)).toMatchObject({ ok: false });
  });

  describe('whatever comes (seed 17)', () => {
    const anyText = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 60 }),
      fc.string({ unit: 'grapheme', maxLength: 60 }),
      fc.stringMatching(/^[-+0-9.,;= \teEcC°shelftop]{0,30}$/),
      fc.string({ maxLength: 5000 }),
    );
    const anyDecoding = fc.constantFrom(one, columns('shelf'), columns('shelf', 'top'), columns('-', 'shelf', 'lid'));

    it('never throws, and says either readings or one sentence', () => {
      fc.assert(
        fc.property(anyText, anyDecoding, (text, decoding) => {
          const said = heard(text, decoding, 'kiln/shelf');
          if (said.ok) expect(said.readings.length).toBeGreaterThan(0);
          else expect(said.sentence).toMatch(/^[^\n]{1,200}\.$/);
        }),
        { seed: 17, numRuns: 20_000 },
      );
    });

    it('invents no value: the digits of each temperature stand in the text, one after the other', () => {
      fc.assert(
        fc.property(anyText, anyDecoding, (text, decoding) => {
          const said = heard(text, decoding, 'kiln/shelf');
          if (!said.ok) return;
          for (const reading of said.readings) {
            if (reading.kind !== 'temperature') continue;
            const figures = text.match(/[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?/g) ?? [];
            const parts = figures.flatMap((f) => [f, ...f.split(',')]);
            const values = [...parts, ...figures.map((f) => f.replace(',', '.'))].map(Number);
            expect(values).toContain(reading.temperatureC);
            expect(Number.isFinite(reading.temperatureC)).toBe(true);
          }
        }),
        { seed: 17, numRuns: 20_000 },
      );
    });

    it('gives back every temperature that an instrument prints, with point or comma', () => {
      const tenths = fc.integer({ min: -2700, max: 13_720 });
      fc.assert(
        fc.property(tenths, fc.boolean(), (tenth, comma) => {
          const printed = (tenth / 10).toFixed(1);
          expect(heard(comma ? printed.replace('.', ',') : printed, columns('shelf'))).toEqual(shelf(Number(printed)));
        }),
        { seed: 17, numRuns: 2000 },
      );
    });
  });
});

describe('an instrument that gives no °C', () => {
  const said = (text: string, unit: 'F' | 'K' | 'mV') =>
    decodeRaw(raw(text), columns('shelf'), [{ name: 'shelf', unit }]);

  it.each([
    ['1220', 'F', 660],
    ['1220 °F', 'F', 660],
    ['32f', 'F', 0],
    ['933.15', 'K', 660],
    ['933,15 K', 'K', 660],
  ] as const)('says "%s" in %s', (text, unit, celsius) => {
    expect(said(text, unit)).toEqual(shelf(celsius));
  });

  it.each(['22.776', '22,7760', '22.776 mV', '22.776mv'])('says "%s" in millivolts', (text) => {
    expect(said(text, 'mV')).toEqual({ ok: true, readings: [{ kind: 'emf', sensor: 'shelf', emfMv: 22.776 }] });
  });

  it.each([
    ['660 C', 'F', 'temperature in °F'],
    ['660 °C', 'mV', 'voltage in mV'],
    ['22.7 mV', 'K', 'temperature in K'],
  ] as const)('is not believed when it prints "%s" where %s was declared', (text, unit, missing) => {
    expect(said(text, unit)).toEqual({
      ok: false,
      sentence: `The line "${text}" has no ${missing} where shelf should be.`,
    });
  });
});
