import { describe, expect, it } from 'vitest';
import { drawOn, lineOf, NO_LINES, WINDOW_COUNT, windowS } from '../../../daemon/core/forecast/lines.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { atS } from '../feeding.ts';

describe('lines through the latest readings', () => {
  it('are the line that the readings lie on, however unevenly they come (seed 5)', () => {
    const random = seededRandom(5);
    let lines = NO_LINES;
    let s = 0;
    for (let i = 0; i < 2000; i++) {
      s += 2 + 8 * random.next();
      const atMs = Math.round(atS(s));
      lines = drawOn(lines, { atMs, celsius: 300 + (atMs - atS(0)) / 20_000 }, false, 6);
    }
    for (let window = 1; window < WINDOW_COUNT; window++) {
      const line = lineOf(lines, window);
      expect(line.slopePerS, `${windowS(window, 6)} s`).toBeGreaterThan(0.05 * 0.9);
      expect(line.slopePerS).toBeLessThan(0.05 * 1.0001);
      expect(line.levelC).toBeCloseTo(lines.last?.celsius ?? 0, 0);
    }
  });

  it('leap with a reading that leapt, and keep their slope', () => {
    let lines = NO_LINES;
    for (let s = 0; s <= 600; s += 5) lines = drawOn(lines, { atMs: atS(s), celsius: 200 + s / 10 }, false, 5);
    const before = lineOf(lines, 4);
    lines = drawOn(lines, { atMs: atS(605), celsius: 200 }, true, 5);
    const after = lineOf(lines, 4);
    expect(Math.abs(after.slopePerS - before.slopePerS)).toBeLessThan(0.01);
    expect(after.levelC).toBeCloseTo(200, 0);
  });

  it('begin anew once the readings come quite otherwise', () => {
    let lines = NO_LINES;
    for (let s = 0; s <= 100; s += 1) lines = drawOn(lines, { atMs: atS(s), celsius: 200 + s }, false, 1);
    lines = drawOn(lines, { atMs: atS(110), celsius: 300 }, false, 10);
    expect(lines.intervalS).toBe(10);
    // Two readings are left to go by.
    expect(lineOf(lines, 5).slopePerS).toBeCloseTo(0, 9);
  });
});
