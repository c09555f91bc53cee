import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';

describe('seeded random', () => {
  it('gives the same numbers for the same seed and others for another', () => {
    const take = (seed: number): number[] => {
      const random = seededRandom(seed);
      return Array.from({ length: 5 }, () => random.next());
    };
    expect(take(7)).toEqual(take(7));
    expect(take(7)).not.toEqual(take(8));
  });

  it('spreads evenly over 0 to 1 and its bell has mean 0 and deviation 1 (seed 1234)', () => {
    const random = seededRandom(1234);
    const count = 100_000;
    const bins = new Array<number>(10).fill(0);
    for (let i = 0; i < count; i++) {
      const bin = Math.floor(random.next() * 10);
      bins[bin] = (bins[bin] ?? Number.NaN) + 1;
    }
    // Five standard deviations of a bin of 10 000.
    for (const bin of bins) expect(Math.abs(bin - count / 10)).toBeLessThan(475);
    let sum = 0;
    let squares = 0;
    for (let i = 0; i < count; i++) {
      const value = random.gaussian();
      sum += value;
      squares += value * value;
    }
    expect(Math.abs(sum / count)).toBeLessThan(0.016);
    expect(Math.abs(squares / count - 1)).toBeLessThan(0.025);
  });
});
