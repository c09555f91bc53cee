import { describe, expect, it } from 'vitest';
import { drawOn, firstWindow, lineOf, NO_LINES, WINDOWS_S } from '../../../daemon/core/forecast/lines.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { atS } from '../feeding.ts';

describe('lines through the latest readings', () => {
  it('are the line that the readings lie on, however unevenly they come (seed 5)', () => {
    const random = seededRandom(5);
    let lines = NO_LINES;
    let s = 0;
    for (let i = 0; i < 400; i++) {
      s += 2 + 8 * random.next();
      const atMs = Math.round(atS(s));
      lines = drawOn(lines, { atMs, celsius: 300 + (atMs - atS(0)) / 20_000 }, false);
    }
    for (let window = firstWindow(6, 5); window < firstWindow(6, 5) + 5; window++) {
      const line = lineOf(lines, window, 6);
      expect(line.slopePerS, `${WINDOWS_S[window]} s`).toBeGreaterThan(0.05 * 0.8);
      expect(line.slopePerS).toBeLessThan(0.05 * 1.0001);
      expect(line.levelC).toBeCloseTo(lines.last?.celsius ?? 0, 0);
    }
  });

  it('keep their slope over a leap that was confirmed', () => {
    let lines = NO_LINES;
    for (let s = 0; s <= 600; s += 5) lines = drawOn(lines, { atMs: atS(s), celsius: 200 + s / 10 }, false);
    const before = lineOf(lines, 4, 5);
    lines = drawOn(lines, { atMs: atS(605), celsius: 200 }, true);
    const after = lineOf(lines, 4, 5);
    // The reading that leapt says nothing of the pace: its step counts as no step.
    expect(Math.abs(after.slopePerS - before.slopePerS)).toBeLessThan(0.03);
    expect(after.slopePerS).toBeGreaterThan(0);
  });
});
