import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitLine, type TimedC } from '../../../daemon/core/numbers/line-fit.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { atS } from '../feeding.ts';

const along = (slopePerS: number, count: number, everyS = 1): TimedC[] =>
  Array.from({ length: count }, (_, i) => ({ atMs: atS(i * everyS), celsius: 500 + slopePerS * i * everyS }));

describe('a straight line through readings', () => {
  it('recovers any straight climb or fall exactly, and finds no noise in it', () => {
    const slopes = fc.double({ min: -2, max: 2, noNaN: true });
    fc.assert(
      fc.property(slopes, fc.integer({ min: 3, max: 300 }), fc.constantFrom(0.5, 1, 10, 30), (slope, count, everyS) => {
        const fit = fitLine(along(slope, count, everyS), 1e9);
        expect(fit?.slopePerS).toBeCloseTo(slope, 6);
        expect(fit?.atEndC).toBeCloseTo(500 + slope * (count - 1) * everyS, 4);
        expect(fit?.noiseC).toBeLessThan(1e-3);
      }),
      { seed: 5, numRuns: 300 },
    );
  });

  it('looks back no further than it is told', () => {
    const turned = [
      ...along(0, 100),
      ...Array.from({ length: 61 }, (_, i) => ({ atMs: atS(100 + i), celsius: 500 + i })),
    ];
    expect(fitLine(turned, 60)?.slopePerS).toBeCloseTo(1, 9);
    expect(fitLine(turned, 60)?.count).toBe(61);
  });

  it('says nothing from two readings, or from many at one instant', () => {
    expect(fitLine([], 60)).toBeUndefined();
    expect(fitLine(along(1, 2), 60)).toBeUndefined();
    expect(
      fitLine(
        Array.from({ length: 9 }, () => ({ atMs: atS(0), celsius: 500 })),
        60,
      ),
    ).toBeUndefined();
  });

  it('knows how unsure it is: its error lies within two of its own standard errors 95 times in 100 (seed 91)', () => {
    const random = seededRandom(91);
    let within = 0;
    for (let run = 0; run < 1000; run++) {
      const fit = fitLine(
        along(0.03, 60).map((r) => ({ ...r, celsius: r.celsius + random.gaussian() })),
        120,
      );
      if (fit !== undefined && Math.abs(fit.slopePerS - 0.03) < 2 * fit.slopeSigmaPerS) within++;
    }
    expect(within).toBeGreaterThan(930);
    expect(within).toBeLessThan(975);
  });
});
