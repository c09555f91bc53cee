import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { canonicalLine } from '../../daemon/recorder/canonical.ts';
import { fromRecordable, toRecordable } from '../../daemon/recorder/decimals.ts';
import type { Recordable } from '../../daemon/recorder/recorder.ts';

const seed = 4660;

describe('decimal numbers in a record', () => {
  it('writes half a degree as text, so that every language reads the same', () => {
    expect(canonicalLine(toRecordable({ toleranceC: 6.5, peakC: 660, glass: undefined }))).toBe(
      '{"peakC":660,"toleranceC":{"decimal":"6.5"}}',
    );
  });

  it('refuses what is no number at all', () => {
    expect(() => toRecordable({ a: Number.NaN })).toThrow('NaN is no number that can be recorded');
    expect(() => toRecordable({ a: () => 1 })).toThrow('A value of type function has no place');
  });

  it(`comes back as the number it was, through the written line (seed ${seed})`, () => {
    const number = fc.double({ noDefaultInfinity: true, noNaN: true }).map((value) => (value === 0 ? 0 : value));
    fc.assert(
      fc.property(fc.dictionary(fc.string(), fc.array(number)), (value) => {
        const line = canonicalLine(toRecordable(value));
        expect(fromRecordable(JSON.parse(line) as Recordable)).toEqual({ ...value });
      }),
      { seed, numRuns: 300 },
    );
  });
});
