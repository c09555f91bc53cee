import { describe, expect, it } from 'vitest';
import { errorWatch } from '../bench/alerts-error-watch.ts';

/** A reading each ten seconds. */
function watchOf(errorC: (s: number) => number) {
  const watch = errorWatch();
  for (let s = 0; s <= 7200; s += 10) watch.see(s, 'shelf', errorC(s));
  return watch;
}

describe('when a couple was first off', () => {
  it('is counted from what it always showed too much', () => {
    const watch = watchOf((s) => 3 + (s > 1000 ? (s - 1000) / 100 : 0));
    const reachedS = watch.reached(15, 1000) ?? 0;
    expect(Math.abs(reachedS - 2500)).toBeLessThanOrEqual(20);
  });

  it('is not a single wild value', () => {
    expect(watchOf((s) => (s === 3000 ? 80 : 0)).reached(15, 1000)).toBeNull();
  });

  it('is never, where nothing is off', () => {
    expect(errorWatch().reached(15, 1000)).toBeNull();
  });
});
