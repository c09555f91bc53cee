import { describe, expect, it } from 'vitest';
import { extendTrace, isLoneLeap, NO_TRACE, type Trace } from '../../../daemon/core/tracking/trace.ts';

const traceOf = (celsius: readonly number[], everyS = 30): Trace =>
  celsius.reduce((trace, c, i) => extendTrace(trace, { atMs: i * everyS * 1000, celsius: c }), NO_TRACE);

describe('a single reading that leaps', () => {
  it('waits for the next one to agree, where readings are sparse', () => {
    expect(isLoneLeap(traceOf([200, 201, 202, 203, 204]))).toBe(false);
    expect(isLoneLeap(traceOf([200, 201, 202, 203, 280]))).toBe(true);
    // The next one goes on, as a kiln does whose relay sticks.
    expect(isLoneLeap(traceOf([200, 201, 202, 240, 278]))).toBe(false);
    expect(isLoneLeap(traceOf([200, 201, 202, 203, 280], 4))).toBe(false);
  });

  it('is left out once the next is back on the way', () => {
    expect(traceOf([200, 201, 202, 280, 204]).bins.map((b) => b.celsius)).toEqual([200, 201, 202, 204]);
    expect(traceOf([200, 201, 202, 120, 204]).bins.map((b) => b.celsius)).toEqual([200, 201, 202, 204]);
    expect(traceOf([200, 201, 240, 280, 290]).bins).toHaveLength(5);
  });
});
