import { describe, expect, it } from 'vitest';
import { apartAtRest, NO_REST, type PairRest, watchRest } from '../../../daemon/core/tracking/pair-rest.ts';
import { firstFound, type Of } from '../pair-minutes.ts';

/** Half an hour at 680 °C, a fall of an hour, and half an hour at 500 °C. */
const rulingC = (m: number): number => 680 - 3 * Math.min(Math.max(m - 30, 0), 60);

function firstOf(apartC: Of, isShut = true) {
  let rest: PairRest = NO_REST;
  return firstFound({ rulingC, apartC, untilMin: 130, isHeated: false }, (minutes) => {
    rest = watchRest(rest, minutes, isShut);
    return apartAtRest(rest);
  });
}

describe('two couples at rest in a second hold', () => {
  const later = (inFirst: number, onTheWay: number, inSecond: number) => (m: number) =>
    m < 31 ? inFirst : m < 90 ? onTheWay : inSecond;

  it.each([
    [2, -20],
    [-6, 18],
    [4, 16],
  ])('that were %d °C apart in the first and are %d now are told once they have rested', (inFirst, inSecond) => {
    const told = firstOf(later(inFirst, 60, inSecond));
    expect(told?.found).toMatchObject({ beforeC: inFirst, byC: inSecond - inFirst });
    expect(told?.minute).toBeLessThan(98);
  });

  it('are well a little wider or nearer, whatever they did on the way, and with the door ajar', () => {
    for (const [inFirst, inSecond] of [
      [2, 9],
      [-13, -2],
      [12, 0],
    ] as const) {
      expect(firstOf(later(inFirst, 80, inSecond))).toBeNull();
    }
    expect(firstOf(later(2, 60, -20), false)).toBeNull();
  });
});
