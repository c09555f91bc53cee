import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitLine, fitLineOf, type TimedC } from '../../../daemon/core/numbers/line-fit.ts';
import {
  countOf,
  countUntil,
  NO_READINGS,
  readingAt,
  type TimedList,
  withReading,
} from '../../../daemon/core/numbers/timed-list.ts';

const SEED = 20;
const plainOf = (list: TimedList): TimedC[] => [...list.older, ...list.young];

describe('readings kept in pieces', () => {
  it('are those of a plain list, and none that was made before ever changes', () => {
    const steps = fc.array(fc.record({ afterMs: fc.integer({ min: 0, max: 60_000 }), celsius: fc.integer() }), {
      maxLength: 300,
    });
    fc.assert(
      fc.property(steps, (readings) => {
        let list = NO_READINGS;
        let plain: TimedC[] = [];
        let atMs = 0;
        const made: [TimedList, TimedC[]][] = [];
        for (const { afterMs, celsius } of readings) {
          atMs += afterMs;
          const cutBeforeMs = atMs - 1_200_000;
          list = withReading(list, { atMs, celsius }, cutBeforeMs, atMs - 1_500_000);
          plain = [...plain, { atMs, celsius }];
          const kept = plainOf(list);
          expect(plain.slice(-kept.length)).toEqual(kept);
          // Only what is old may be left out.
          expect(plain[plain.length - kept.length - 1]?.atMs ?? Number.NEGATIVE_INFINITY).toBeLessThan(cutBeforeMs);
          expect(countOf(list)).toBe(kept.length);
          made.push([list, kept]);
        }
        for (const [before, kept] of made) expect(plainOf(before)).toEqual(kept);
      }),
      { seed: SEED, numRuns: 30 },
    );
  });

  it('are counted through, and nothing lies outside them', () => {
    let list = NO_READINGS;
    for (let i = 0; i < 200; i++) list = withReading(list, { atMs: i, celsius: i }, -1, -1);
    expect(Array.from({ length: 200 }, (_, i) => readingAt(list, i)?.celsius)).toEqual(
      Array.from({ length: 200 }, (_, i) => i),
    );
    expect(readingAt(list, -1)).toBeUndefined();
    expect(readingAt(list, 200)).toBeUndefined();
  });

  it('tell how many of them are not younger than an instant', () => {
    let list = NO_READINGS;
    for (const atMs of [10, 20, 20, 30]) list = withReading(list, { atMs, celsius: 0 }, -1, -1);
    expect([9, 10, 19, 20, 29, 30, 99].map((atMs) => countUntil(list, atMs))).toEqual([0, 1, 1, 3, 3, 4, 4]);
  });

  it('give to the last digit the line of a plain list', () => {
    let list = NO_READINGS;
    for (let i = 0; i < 400; i++) list = withReading(list, { atMs: i * 997, celsius: 600 + Math.sin(i) }, -1, -1);
    for (const [windowS, end] of [
      [30, 400],
      [120, 400],
      [300, 210],
      [1e6, 400],
    ] as const)
      expect(fitLineOf(list, windowS, end)).toEqual(fitLine(plainOf(list), windowS, end));
  });
});
