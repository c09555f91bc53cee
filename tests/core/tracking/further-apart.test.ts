import { describe, expect, it } from 'vitest';
import { furtherApart, NO_RANGE, type PairRange, watchRange } from '../../../daemon/core/tracking/further-apart.ts';
import { firstFound, type Of } from '../pair-minutes.ts';

/** From 300 to 600 °C in four hours. */
const rulingC = (m: number): number => 300 + (300 * m) / 240;

function firstOf(apartC: Of, { isHeated = (_m: number): boolean => true } = {}) {
  let range: PairRange = NO_RANGE;
  return firstFound({ rulingC, apartC, untilMin: 240, isHeated: true }, (minutes) => {
    range = watchRange(range, minutes, isHeated((minutes[minutes.length - 1]?.atMs ?? 0) / 60_000));
    return furtherApart(range);
  });
}

describe('two couples on one way up', () => {
  /** A degree in five minutes, from the hundredth minute on. */
  const drifts = (fromC: number, way: number) => (m: number) => fromC + (way * Math.max(m - 100, 0)) / 5;

  it.each([
    [-5, 1],
    [5, -1],
    [8, 1],
  ])('that were %d °C apart and part ever so slowly are told once they are further apart than ever', (fromC, way) => {
    const told = firstOf(drifts(fromC, way));
    expect(told?.found.byC).toSatisfy((byC: number) => Math.sign(byC) === way && Math.abs(byC) >= 6);
    expect(told?.minute).toBeLessThan(190);
  });

  it('are well as they come together, and a little beyond', () => {
    expect(firstOf((m) => 30 * Math.exp(-m / 60) - 3)).toBeNull();
    expect(firstOf((m) => -12 + m / 15)).toBeNull();
  });

  it('are well as far apart as they have been before', () => {
    expect(firstOf((m) => 10 + 4 * Math.sin(m / 20))).toBeNull();
  });

  it('are well where a climb that grows steeper shows in the thicker sheath later', () => {
    const steeper = (m: number): number => (m < 120 ? -2 : -9);
    const way = { rulingC: (m: number) => 320 + m + Math.max(m - 120, 0) * 4, apartC: steeper, untilMin: 160 };
    let range: PairRange = NO_RANGE;
    const told = firstFound(way, (minutes) => {
      range = watchRange(range, minutes, true);
      return furtherApart(range);
    });
    expect(told).toBeNull();
  });

  it('are well where the first minutes behind a shut door are all that is known of them', () => {
    const SHUT_MIN = 20;
    const steep = (m: number): number => Math.max(m - SHUT_MIN, 0);
    const way = {
      rulingC: (m: number) => Math.min(330 + 20 * steep(m), 640),
      apartC: (m: number) => Math.max(6 - steep(m), -7),
      untilMin: 45,
    };
    let range: PairRange = NO_RANGE;
    const told = firstFound(way, (minutes) => {
      range = watchRange(range, minutes, true);
      return furtherApart(range);
    });
    expect(told).toBeNull();
  });

  it('begin anew where the plan has wanted no heat meanwhile', () => {
    const leaps = (m: number): number => (m < 120 ? 2 : 14);
    expect(firstOf(leaps)).not.toBeNull();
    expect(firstOf(leaps, { isHeated: (m) => m !== 118 })).toBeNull();
  });
});
