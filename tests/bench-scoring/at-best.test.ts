import { describe, expect, it } from 'vitest';
import { apartFromS, type Pair } from '../bench/alerts-at-best.ts';
import { LID_OPEN, NO_VALUE, type Rows } from '../bench/alerts-corpus.ts';

/** One couple, a reading each 10 s from zero on. */
function rowsOf(celsius: readonly (number | null)[], flags: readonly number[] = []): Rows {
  const cameMs = Int32Array.from(celsius, (_, i) => i * 10_000);
  return {
    startedAtMs: 0,
    sensors: ['shelf'],
    stampMs: cameMs,
    cameMs,
    milliC: Int32Array.from(celsius, (c) => (c === null ? NO_VALUE : c * 1000)),
    flags: Uint8Array.from(celsius, (_, i) => flags[i] ?? 0),
  };
}

const pair = (firing: Rows, sound: Rows, noiseC = 0): Pair => ({
  firing: { rows: firing },
  sound: { rows: sound },
  noiseC: [noiseC],
});

const level = rowsOf([650, 650, 650, 650]);

describe('when the readings have left those without the fault', () => {
  it('is the first one so far off, beyond twice the noise', () => {
    const rising = rowsOf([650, 652, 655, 659]);
    expect(apartFromS(pair(rising, level), 0, 1)).toBe(10);
    expect(apartFromS(pair(rising, level), 0, 3)).toBe(20);
    expect(apartFromS(pair(rising, level, 1), 0, 1)).toBe(20);
  });

  it('does not count what was before the fault', () => {
    expect(apartFromS(pair(rowsOf([690, 650, 650, 659]), level), 10, 2)).toBe(30);
  });

  it('is never where both go the same way, or where the firing was over before', () => {
    expect(apartFromS(pair(level, level), 0, 1)).toBeNull();
    expect(apartFromS(pair(rowsOf([650, 650]), level), 0, 1)).toBeNull();
  });

  it('is a figure that does not come, and another word of the lid', () => {
    expect(apartFromS(pair(rowsOf([650, null, 650, 650]), level), 0, 5)).toBe(10);
    expect(apartFromS(pair(rowsOf([650, 650, 650, 650], [0, 0, LID_OPEN, 0]), level), 0, 5)).toBe(20);
  });
});
