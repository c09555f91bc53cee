import { describe, expect, it } from 'vitest';
import { learnError, NO_ERRORS, sigmasC } from '../../../daemon/core/forecast/own-errors.ts';
import { BAND_SIGMAS } from '../../../daemon/core/numbers/band.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';

describe('the forecast’s own errors', () => {
  it('bring nine of ten into the band, also where errors come in heavy tails (seed 11)', () => {
    const random = seededRandom(11);
    let errors = NO_ERRORS;
    let within = 0;
    for (let i = 0; i < 4000; i++) {
      const [sigmaC = 1] = sigmasC([errors], [0], [60], 0.1);
      const offC = random.gaussian() * (random.next() < 0.1 ? 8 : 1);
      if (i >= 200 && Math.abs(offC) <= BAND_SIGMAS * sigmaC) within++;
      errors = learnError(errors, offC, sigmaC, 0.98);
    }
    expect(within / 3800).toBeGreaterThan(0.87);
    expect(within / 3800).toBeLessThan(0.93);
  });

  it('are taken from the nearer look before its own first promise has fallen due, and less than in proportion to the way', () => {
    const known = { sumC: 2, heardRatio: 1, bandRatio: 1 };
    const [near = 0, far = 0] = sigmasC([known, NO_ERRORS], [0, 0], [60, 240], 0);
    expect(near).toBeCloseTo(2, 9);
    expect(far).toBeGreaterThan(4);
    expect(far).toBeLessThan(8);
  });

  it('of a look that has heard little yet count by what it has heard: the nearer one’s good word makes up the rest', () => {
    const near = { sumC: 2, heardRatio: 1, bandRatio: 1 };
    const wild = learnError(NO_ERRORS, 40, 4, 0.9);
    const [, untold = 0] = sigmasC([near, NO_ERRORS], [0, 0], [60, 240], 0);
    const [, told = 0] = sigmasC([near, wild], [0, 0], [60, 240], 0);
    expect(told).toBeCloseTo((0.9 * untold + 0.1 * 40) * (0.9 + 0.1 * wild.bandRatio), 9);
  });

  it('widen the band where the opinions are apart', () => {
    const known = { sumC: 2, heardRatio: 1, bandRatio: 1 };
    const [agreed = 0] = sigmasC([known], [0], [60], 0);
    const [apart = 0] = sigmasC([known], [10], [60], 0);
    expect(apart).toBeGreaterThan(4 * agreed);
  });
});
