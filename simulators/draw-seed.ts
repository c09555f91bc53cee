/** A row of random numbers of its own for each part, so that what one part draws does not change another. */
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';

/** A seed for another row; takes one number of this one. */
export function drawSeed(random: SeededRandom): number {
  return Math.floor(random.next() * 4294967296);
}
