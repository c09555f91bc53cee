/** What a person is shown of registers that nobody has described. */
import { describe, expect, it } from 'vitest';
import { registerWays } from '../../../daemon/core/reading/guess-registers.ts';

const said = (...words: number[]): string[] =>
  registerWays(words, 0).map(({ type, order, scale, figure }) => `${figure} as ${type} ${order} × ${scale}`);

describe('the figures that registers may hold', () => {
  it('of 6483 is 648.3 in tenths, 64.83 in hundredths, and what its bytes give when swapped', () => {
    expect(said(6483)).toEqual([
      '648.3 as int16 ABCD × 0.1',
      '2127.3 as int16 BADC × 0.1',
      '64.83 as int16 ABCD × 0.01',
      '212.73 as int16 BADC × 0.01',
    ]);
  });

  it('of two registers with a float is that float in its own order of bytes', () => {
    expect(said(0x4422, 0x1000)).toContain('648.25 as float32 ABCD × 1');
    expect(said(0x1000, 0x4422)).toContain('648.25 as float32 CDAB × 1');
    expect(said(0x2244, 0x0010)).toContain('648.25 as float32 BADC × 1');
    expect(said(0x0010, 0x2244)).toContain('648.25 as float32 DCBA × 1');
  });

  it('of what says that there is no value is none', () => {
    expect(said(0x7fff).filter((way) => way.includes('3276.7'))).toEqual([]);
    expect(said(0x7fc0, 0).filter((way) => way.includes('float32 ABCD'))).toEqual([]);
  });

  it('names no figure twice, and none that no kiln shows', () => {
    for (let word = 0; word <= 0xffff; word += 257) {
      const ways = registerWays([word, word ^ 0x1234], 0);
      for (const { figure } of ways) {
        expect(figure).toBeGreaterThanOrEqual(-60);
        expect(figure).toBeLessThanOrEqual(3300);
      }
      const keys = ways.map(({ type, figure }) => `${type.endsWith('16')} ${figure}`);
      expect(new Set(keys).size).toBe(keys.length);
    }
  });
});
