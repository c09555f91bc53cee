import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { extendTrace, joinTraces, MOST_POINTS, type Trace, thinTrace, traceOfPieces } from '../../web/trace.ts';

const seed = 20261118;

/** Any series: steps of a second up to minutes, temperatures, breaks. */
const anyTrace = fc
  .array(fc.tuple(fc.integer({ min: 1, max: 200_000 }), fc.option(fc.integer({ min: -20, max: 1300 }), { freq: 12 })), {
    minLength: 50,
    maxLength: 400,
  })
  .map((steps): Trace => {
    let atMs = 0;
    return steps.map(([stepMs, celsius]) => {
      atMs += stepMs;
      return { atMs, celsius };
    });
  });

describe('the line of one sensor', () => {
  test(`thinned it keeps the highest, the lowest, each break, first and last (seed ${seed})`, () => {
    fc.assert(
      fc.property(anyTrace, fc.integer({ min: 4, max: 20 }), (trace, columns) => {
        const thin = thinTrace(trace, columns);
        const values = (t: Trace): number[] => t.flatMap((p) => (p.celsius === null ? [] : [p.celsius]));
        if (values(trace).length > 0) {
          expect(Math.max(...values(thin))).toBe(Math.max(...values(trace)));
          expect(Math.min(...values(thin))).toBe(Math.min(...values(trace)));
        }
        expect(thin[0]).toEqual(trace[0]);
        expect(thin.at(-1)).toEqual(trace.at(-1));
        const pieces = (t: Trace): number =>
          t.filter((p, i) => p.celsius !== null && (t[i - 1]?.celsius ?? null) === null).length;
        expect(pieces(thin)).toBe(pieces(trace));
        expect([...thin].sort((a, b) => a.atMs - b.atMs)).toEqual(thin);
      }),
      { seed, numRuns: 300 },
    );
  });

  test('after twelve hours at one reading a second it still fits, and a spike of one second is still there', () => {
    let trace: Trace = [];
    for (let s = 0; s < 43_200; s++) trace = extendTrace(trace, s * 1000, s === 20_000 ? 801 : 600);
    expect(trace.length).toBeLessThanOrEqual(MOST_POINTS);
    expect(trace.some((point) => point.celsius === 801)).toBe(true);
  });

  test('a long silence breaks the line, so that nobody takes the join for a measurement', () => {
    let trace: Trace = [];
    for (let s = 0; s < 60; s += 5) trace = extendTrace(trace, s * 1000, 500);
    trace = extendTrace(trace, 700_000, 480);
    expect(trace.filter((point) => point.celsius === null)).toHaveLength(1);
  });

  test('a reading without a temperature breaks the line once', () => {
    let trace: Trace = extendTrace([], 0, 20);
    trace = extendTrace(trace, 1000, null);
    trace = extendTrace(trace, 2000, null);
    expect(trace).toHaveLength(2);
  });

  test('what was stored and what came live join without a double point', () => {
    const stored = traceOfPieces([
      [[0, 20]],
      [
        [5000, 30],
        [6000, 31],
      ],
    ]);
    const live: Trace = [
      { atMs: 6000, celsius: 31 },
      { atMs: 7000, celsius: 32 },
    ];
    expect(joinTraces(stored, live).map((point) => point.celsius)).toEqual([20, null, 30, 31, 32]);
  });
});
