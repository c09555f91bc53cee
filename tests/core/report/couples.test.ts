import { describe, expect, it } from 'vitest';
import { couplesWord } from '../../../daemon/core/report/couples.ts';

const of = (shelf: number | null, top?: number | null) => [
  { name: 'shelf', celsius: shelf },
  ...(top === undefined ? [] : [{ name: 'top', celsius: top }]),
];

describe('the couples of a cold kiln', () => {
  it('agree within 3 °C of each other and of the room', () => {
    expect(couplesWord(of(18.2, 20.9), undefined).agree).toBe(true);
    expect(couplesWord(of(18.2, 21.3), undefined)).toMatchObject({
      agree: false,
      sentence: expect.stringContaining('top 21.3'),
    });
    expect(couplesWord(of(18.2, 19), 20.5).agree).toBe(true);
    expect(couplesWord(of(18.2, 19), 21.5)).toMatchObject({
      agree: false,
      sentence: expect.stringContaining('the room 21.5'),
    });
    expect(couplesWord(of(18.2), 15)).toMatchObject({ agree: false });
  });

  it('say nothing where nothing can be compared: one couple and no room, a warm kiln, none heard', () => {
    expect(couplesWord(of(18.2), undefined).agree).toBeNull();
    expect(couplesWord(of(120, 95), 20)).toMatchObject({
      agree: null,
      sentence: expect.stringContaining('still at 120'),
    });
    expect(couplesWord(of(null), 20).agree).toBeNull();
  });

  it('do not agree while one of them is silent', () => {
    expect(couplesWord(of(18.2, null), 18)).toEqual({ agree: false, sentence: 'No reading from top.' });
  });
});
