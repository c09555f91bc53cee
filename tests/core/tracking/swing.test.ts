import { describe, expect, it } from 'vitest';
import { swingBefore } from '../../../daemon/core/tracking/swing.ts';
import { extendTrace, NO_TRACE, type Trace } from '../../../daemon/core/tracking/trace.ts';

/** The way of `celsius` over 15 minutes, a reading each 5 s. */
function traced(celsius: (s: number) => number): Trace {
  let trace = NO_TRACE;
  for (let s = 0; s <= 900; s += 5) trace = extendTrace(trace, { atMs: s * 1000, celsius: celsius(s) });
  return trace;
}

const climb = (s: number): number => 480 + 0.04 * s;
/** A relay's rounds of three minutes, five degrees up and down, about the climb. */
const rounds = (s: number): number => climb(s) + 5 * Math.sin((2 * Math.PI * s) / 180);

describe('the rhythm of a kiln', () => {
  it('is as deep and as high as its rounds were', () => {
    const swing = swingBefore(traced(rounds), 60, Number.POSITIVE_INFINITY);
    expect(swing?.lowestC).toBeGreaterThan(-6);
    expect(swing?.lowestC).toBeLessThan(-4);
    expect(swing?.highestC).toBeGreaterThan(4);
    expect(swing?.highestC).toBeLessThan(6);
  });

  it('shows how far what came since is off the way that led there', () => {
    const swing = swingBefore(
      traced((s) => climb(s) - Math.max(s - 840, 0) / 5),
      60,
      Number.POSITIVE_INFINITY,
    );
    expect(swing?.nowC).toBeCloseTo(-12, 0);
    expect(swing?.lowestC).toBeGreaterThan(-0.5);
  });

  it('is not known so soon after a corner of the plan', () => {
    expect(swingBefore(traced(rounds), 60, 300)).toBeNull();
    expect(swingBefore(traced(rounds), 60, 400)).not.toBeNull();
  });

  it('counts a swing of long ago less than one of the last minutes', () => {
    const once = (fromS: number) => traced((s) => climb(s) + (s >= fromS && s < fromS + 60 ? 8 : 0));
    const old = swingBefore(once(60), 60, Number.POSITIVE_INFINITY);
    const fresh = swingBefore(once(700), 60, Number.POSITIVE_INFINITY);
    expect(old?.highestC).toBeLessThan(0.6 * (fresh?.highestC ?? 0));
  });
});
