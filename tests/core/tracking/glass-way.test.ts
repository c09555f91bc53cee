import { describe, expect, it } from 'vitest';
import { followGlass, glassLagS, glassPaceAhead } from '../../../daemon/core/tracking/glass-way.ts';
import { NO_TRACE, type Trace } from '../../../daemon/core/tracking/trace.ts';

const STEP_S = 4;
const glassC = (way: Trace): number => way.bins[way.bins.length - 1]?.celsius ?? Number.NaN;

/** Seconds until a plate reaches `untilC` where the couple goes this way. */
function reachedS(coupleC: (s: number) => number, fromC: number, untilC: number, plateMm: number): number {
  let way = followGlass(NO_TRACE, { atMs: 0, celsius: fromC }, plateMm);
  for (let s = STEP_S; s < 20_000; s += STEP_S) {
    way = followGlass(way, { atMs: s * 1000, celsius: coupleC(s) }, plateMm);
    if (glassC(way) >= untilC) return s;
  }
  return Number.POSITIVE_INFINITY;
}

describe('the glass behind the couple', () => {
  it('is foreseen three minutes ahead as it then comes, where the couple goes on as it does', () => {
    const couple = (s: number): number => 300 + s / 30 + Math.max(s - 3000, 0) / 5;
    const overS = 300;
    const inS = 180;
    const then = { atS: 3060 + inS, fromS: 3060 + inS - overS };
    let way = followGlass(NO_TRACE, { atMs: 0, celsius: 300 }, 6);
    let foreseenPerS: number | null = null;
    let beganC = Number.NaN;
    for (let s = STEP_S; s <= then.atS; s += STEP_S) {
      way = followGlass(way, { atMs: s * 1000, celsius: couple(s) }, 6);
      if (s === then.fromS) beganC = glassC(way);
      if (s !== 3060) continue;
      const now = { atMs: s * 1000, celsius: couple(s), perS: couple(s + 1) - couple(s) };
      foreseenPerS = glassPaceAhead(way, now, { overS, inS, plateMm: 6 });
    }
    const camePerS = (glassC(way) - beganC) / overS;
    expect(Math.abs((foreseenPerS ?? 0) / camePerS - 1)).toBeLessThan(0.1);
    const short = { atMs: 60_000, celsius: 302, perS: 1 / 30 };
    expect(glassPaceAhead(followGlass(NO_TRACE, short), short, { overS, inS })).toBeNull();
  });

  // A radiant furnace for tempering, at about 700 °C, is given some 40 s for each millimetre; common practice, no source.
  it.each([4, 6, 10])('of %d mm takes about 40 s a millimetre to 620 °C in a furnace at 700 °C', (plateMm) => {
    const perMm = reachedS(() => 700, 20, 620, plateMm) / plateMm;
    expect(perMm).toBeGreaterThan(30);
    expect(perMm).toBeLessThan(50);
  });

  it('follows a steady climb at its pace, by its lag behind', () => {
    let way = followGlass(NO_TRACE, { atMs: 0, celsius: 300 }, 6);
    const couple = (s: number): number => 300 + s / 30;
    for (let s = STEP_S; s <= 3600; s += STEP_S) way = followGlass(way, { atMs: s * 1000, celsius: couple(s) }, 6);
    const behindC = couple(3600) - glassC(way);
    expect(behindC).toBeCloseTo(glassLagS(couple(3600), glassC(way), 6) / 30, 0);
  });

  it('is later where it is thicker, and where it is colder', () => {
    expect(glassLagS(600, 600, 6)).toBeCloseTo(2 * glassLagS(600, 600, 3));
    expect(glassLagS(150, 150)).toBeGreaterThan(3 * glassLagS(600, 600));
  });

  it('hardly feels what goes up and down again within a minute', () => {
    let way = followGlass(NO_TRACE, { atMs: 0, celsius: 200 });
    let mostC = 0;
    for (let s = STEP_S; s <= 600; s += STEP_S) {
      way = followGlass(way, { atMs: s * 1000, celsius: 200 + (s < 60 ? 20 : 0) });
      mostC = Math.max(mostC, glassC(way));
    }
    expect(mostC - 200).toBeGreaterThan(1);
    expect(mostC - 200).toBeLessThan(8);
  });
});
