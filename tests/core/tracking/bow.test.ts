import { describe, expect, it } from 'vitest';
import { traceBow } from '../../../daemon/core/tracking/bow.ts';
import { extendTrace, NO_TRACE, type Trace } from '../../../daemon/core/tracking/trace.ts';

/** The way of `celsius` over 15 minutes, a reading each 5 s. */
function traced(celsius: (s: number) => number): Trace {
  let trace = NO_TRACE;
  for (let s = 0; s <= 900; s += 5) trace = extendTrace(trace, { atMs: s * 1000, celsius: celsius(s) });
  return trace;
}

describe('how a pace grows or dies away', () => {
  it('is found at both ends of a parabola, exactly', () => {
    // 0.05 °C/s that loses 0.00004 °C/s each second.
    const bow = traceBow(
      traced((s) => 480 + 0.05 * s - 0.00002 * s * s),
      600,
    );
    expect(bow?.atStartPerS).toBeCloseTo(0.05 - 0.00004 * 300, 5);
    expect(bow?.atEndPerS).toBeCloseTo(0.05 - 0.00004 * 900, 5);
  });

  it('is none along a straight way', () => {
    const bow = traceBow(
      traced((s) => 480 + 0.04 * s),
      600,
    );
    expect(bow?.atStartPerS).toBeCloseTo(0.04, 6);
    expect(bow?.atEndPerS).toBeCloseTo(0.04, 6);
  });

  it('says how far a relay lets the way rise above itself', () => {
    const swing = traceBow(
      traced((s) => 480 + 0.04 * s + 2 * Math.sin(s / 20)),
      600,
    );
    expect(swing?.highestC).toBeGreaterThan(1.6);
    expect(swing?.highestC).toBeLessThan(2.2);
  });

  it('is less sure where a hand goes in waves', () => {
    const wave = (depthC: number) =>
      traceBow(
        traced((s) => 480 + 0.04 * s + depthC * Math.sin(s / 40)),
        600,
      )?.changeSigmaPerS ?? 0;
    expect(wave(2)).toBeGreaterThan(5 * wave(0.2));
  });

  it('is not told of a way that is too short', () => {
    let trace = NO_TRACE;
    for (let s = 0; s <= 200; s += 5) trace = extendTrace(trace, { atMs: s * 1000, celsius: 480 });
    expect(traceBow(trace, 600)).toBeNull();
  });
});
