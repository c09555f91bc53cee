/** Repeatable randomness, for simulators and tests: the same seed gives the same numbers on every engine. */

export interface SeededRandom {
  /** Evenly spread over [0, 1). */
  next(): number;
  /** Mean 0, standard deviation 1, never beyond ±6. */
  gaussian(): number;
}

/**
 * A 32-bit generator: a counter stepped by an odd constant, its bits mixed by multiplying and shifting
 * (constants from memory; the spread is checked in the test). Good for noise, not for secrets.
 *
 * @param seed any whole number; only its lowest 32 bits count
 */
export function seededRandom(seed: number): SeededRandom {
  let counter = seed >>> 0;
  const next = (): number => {
    counter = (counter + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(counter ^ (counter >>> 15), counter | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
  return {
    next,
    // Twelve even numbers added have variance 1. Additions only: logarithms may differ in the last digit between engines.
    gaussian() {
      let sum = -6;
      for (let i = 0; i < 12; i++) sum += next();
      return sum;
    },
  };
}
