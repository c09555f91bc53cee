import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { RecordError } from '../../daemon/errors.ts';
import { canonicalLine } from '../../daemon/recorder/canonical.ts';
import type { Recordable } from '../../daemon/recorder/recorder.ts';

const seed = 20261125;

/** Anything that a line may hold, keys and strings from all of Unicode. */
const recordable = fc.letrec<{ value: Recordable }>((tie) => ({
  value: fc.oneof(
    { maxDepth: 4 },
    fc.maxSafeInteger(),
    fc.string({ unit: 'binary' }),
    fc.boolean(),
    fc.constant(null),
    fc.array(tie('value')),
    fc.dictionary(fc.string({ unit: 'binary' }), tie('value')),
  ),
})).value;

describe('one way to write a line', () => {
  it('sorts the keys as the example of RFC 8785, section 3.2.3, does', () => {
    const line = canonicalLine({
      '\u20ac': 'Euro Sign',
      '\r': 'Carriage Return',
      '\ufb33': 'Hebrew Letter Dalet With Dagesh',
      '1': 'One',
      '\ud83d\ude00': 'Emoji: Grinning Face',
      '\u0080': 'Control',
      '\u00f6': 'Latin Small Letter O With Diaeresis',
    });
    const order = [...line.matchAll(/:"([^"]*)"/g)].map((match) => match[1]);
    expect(order).toEqual([
      'Carriage Return',
      'One',
      'Control',
      'Latin Small Letter O With Diaeresis',
      'Euro Sign',
      'Emoji: Grinning Face',
      'Hebrew Letter Dalet With Dagesh',
    ]);
  });

  it('writes strings and literals byte for byte as the example of RFC 8785, section 3.2.2, does', () => {
    const line = canonicalLine({
      string: '\u20ac$\u000F\u000aA\'\u0042\u0022\u005c\\"/',
      literals: [null, true, false],
    });
    expect(line).toBe('{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}');
  });

  it('keeps the short escapes and writes other control characters in lower case', () => {
    expect(canonicalLine('\b\t\n\f\r\u0000\u001f\u007f\u2028')).toBe('"\\b\\t\\n\\f\\r\\u0000\\u001f\u007f\u2028"');
  });

  it('writes the largest whole numbers without an exponent, and minus zero as 0', () => {
    expect(canonicalLine([Number.MAX_SAFE_INTEGER, Number.MIN_SAFE_INTEGER, -0])).toBe(
      '[9007199254740991,-9007199254740991,0]',
    );
  });

  it.each([
    ['a decimal', { a: [1, { b: 6.5 }] }, '$.a[1].b: 6.5 is'],
    ['no number', { a: Number.NaN }, '$.a: NaN is'],
    ['an endless number', [Number.POSITIVE_INFINITY], '$[0]: Infinity is'],
    ['a number too large to be exact', { n: 2 ** 53 }, '$.n: 9007199254740992 is'],
    ['half a surrogate pair', { text: 'a\ud83d' }, '$.text: the text holds half'],
    ['half a surrogate pair in a key', { '\ude00': 1 }, 'half a surrogate pair'],
    ['a field without a value', { a: undefined as unknown as null }, '$.a: a value of type undefined'],
    ['a hole in a list', [undefined as unknown as null], '$[0]: a value of type undefined'],
    ['what is no plain data', { at: new Date(0) as unknown as null }, '$.at: only plain objects'],
  ])('refuses %s and names its place', (_, value, sentence) => {
    expect(() => canonicalLine(value)).toThrow(RecordError);
    expect(() => canonicalLine(value)).toThrow(sentence);
  });

  it('refuses a value that contains itself instead of running on', () => {
    const loop: { inner?: Recordable } = {};
    loop.inner = loop as Recordable;
    expect(() => canonicalLine(loop as Recordable)).toThrow('nested more than 64 deep');
  });

  it(`gives the same bytes after being read and written again (seed ${seed})`, () => {
    fc.assert(
      fc.property(recordable, (value) => {
        const line = canonicalLine(value);
        expect(line).not.toContain('\n');
        expect(canonicalLine(JSON.parse(line) as Recordable)).toBe(line);
      }),
      { seed, numRuns: 500 },
    );
  });

  it(`does not depend on the order in which fields were set (seed ${seed})`, () => {
    fc.assert(
      fc.property(fc.dictionary(fc.string({ unit: 'binary' }), recordable), (value) => {
        const turned = Object.fromEntries(Object.entries(value).reverse());
        expect(canonicalLine(turned)).toBe(canonicalLine(value));
      }),
      { seed, numRuns: 300 },
    );
  });
});
