import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Trace } from '../../../daemon/core/report/chronicle.ts';
import { thinCurve } from '../../../daemon/core/report/thin-curve.ts';

/** Readings with breaks: [ms since the one before, °C or null for a break]. */
const traces = fc
  .array(fc.tuple(fc.integer({ min: 1, max: 90_000 }), fc.option(fc.integer({ min: -200, max: 9000 }), { freq: 12 })), {
    minLength: 1,
    maxLength: 400,
  })
  .map((rows): Trace => {
    let atMs = 1000;
    const trace: Trace = { atMs: [], celsius: [] };
    for (const [stepMs, tenth] of rows) {
      atMs += stepMs;
      trace.atMs.push(atMs);
      trace.celsius.push(tenth === null ? null : tenth / 10);
    }
    return trace;
  });

describe('a curve thinned for the screen (requirement D14, seed 41)', () => {
  it('keeps of each column the lowest, highest, first and last reading, every break, and invents nothing', () => {
    fc.assert(
      fc.property(traces, fc.integer({ min: 1, max: 300 }), (trace, columns) => {
        const fromMs = trace.atMs[0] ?? 0;
        const toMs = trace.atMs[trace.atMs.length - 1] ?? 0;
        const widthMs = Math.max((toMs - fromMs) / columns, 1);
        const stretches: [number, number][][] = [[]];
        for (const [i, celsius] of trace.celsius.entries()) {
          if (celsius === null) stretches.push([]);
          else stretches[stretches.length - 1]?.push([trace.atMs[i] ?? 0, celsius]);
        }
        const whole = stretches.filter((s) => s.length > 0);
        const thin = thinCurve(trace, fromMs, toMs, columns);
        expect(thin).toHaveLength(whole.length);
        for (const [n, stretch] of whole.entries()) {
          const kept = thin[n] ?? [];
          const columnOf = (p: readonly [number, number]): number => Math.floor((p[0] - fromMs) / widthMs);
          for (const column of new Set(stretch.map(columnOf))) {
            const all = stretch.filter((p) => columnOf(p) === column);
            const few = kept.filter((p) => columnOf(p) === column);
            expect(few.length).toBeLessThanOrEqual(4);
            expect(few[0]).toEqual(all[0]);
            expect(few[few.length - 1]).toEqual(all[all.length - 1]);
            expect(Math.min(...few.map((p) => p[1]))).toBe(Math.min(...all.map((p) => p[1])));
            expect(Math.max(...few.map((p) => p[1]))).toBe(Math.max(...all.map((p) => p[1])));
          }
          for (const point of kept) expect(stretch).toContainEqual([...point]);
          for (const [i, point] of kept.entries())
            if (i > 0) expect(point[0]).toBeGreaterThanOrEqual(kept[i - 1]?.[0] ?? 0);
        }
      }),
      { seed: 41, numRuns: 500 },
    );
  });

  it('keeps a spike of one reading among eight hours of them', () => {
    const trace: Trace = { atMs: [], celsius: [] };
    for (let s = 0; s < 28_800; s++) {
      trace.atMs.push(s * 1000);
      trace.celsius.push(s === 14_400 ? 712 : s === 14_405 ? 600 : 660);
    }
    const points = thinCurve(trace, 0, 28_800_000, 600).flat();
    expect(points.length).toBeLessThanOrEqual(2400);
    expect(points).toContainEqual([14_400_000, 712]);
    expect(points).toContainEqual([14_405_000, 600]);
  });
});
