import { describe, expect, it } from 'vitest';
import { hasLookedIn } from '../../../daemon/core/tracking/look.ts';
import { extendTrace, NO_TRACE, type Trace } from '../../../daemon/core/tracking/trace.ts';

/** The way of `celsius` over `untilS`, a reading each 2 s. */
function traced(untilS: number, celsius: (s: number) => number): Trace {
  let trace = NO_TRACE;
  for (let s = 0; s <= untilS; s += 2) trace = extendTrace(trace, { atMs: s * 1000, celsius: celsius(s) });
  return trace;
}

/** Takes eight degrees off within fifteen seconds from 850 s on, and gives them back within twenty more. */
function dipC(s: number): number {
  if (s < 850 || s > 885) return 0;
  return s < 865 ? (8 * (s - 850)) / 15 : 8 - (8 * (s - 865)) / 20;
}
const rounds = (s: number): number => 660 + 5 * Math.sin((2 * Math.PI * s) / 180);

describe('a look through the spyhole', () => {
  it('is seen as the couple comes back from it, and for a minute after', () => {
    const hold = (s: number): number => 660 - dipC(s);
    expect(hasLookedIn(traced(864, hold))).toBe(false);
    expect(hasLookedIn(traced(876, hold))).toBe(true);
    expect(hasLookedIn(traced(930, hold))).toBe(true);
    expect(hasLookedIn(traced(1000, hold))).toBe(false);
  });

  it('is seen in a climb and in a fall as well', () => {
    expect(hasLookedIn(traced(880, (s) => 300 + s / 10 - dipC(s)))).toBe(true);
    expect(hasLookedIn(traced(880, (s) => 600 - s / 10 - dipC(s)))).toBe(true);
  });

  it('is none of a relay that sticks in a hold, a climb or a fall', () => {
    const stuck = (s: number): number => Math.max(s - 850, 0) / 5;
    for (const perS of [0, 0.08, -0.08]) expect(hasLookedIn(traced(900, (s) => 600 + perS * s + stuck(s)))).toBe(false);
  });

  it('is none of the rounds that a relay goes by itself, wherever in them it is', () => {
    for (let untilS = 720; untilS < 900; untilS += 12) expect(hasLookedIn(traced(untilS, rounds))).toBe(false);
  });

  it('is none of a fall that lasts: the heat is gone', () => {
    const gone = (s: number): number => 660 - Math.max(s - 850, 0) / 4;
    for (const untilS of [870, 890, 930]) expect(hasLookedIn(traced(untilS, gone))).toBe(false);
  });
});
