import { describe, expect, it } from 'vitest';
import { clamp, perHour, perMinute, perSecond, secondsBetween } from '../../../daemon/core/numbers/units.ts';

describe('the units of core', () => {
  it('go there and back', () => {
    expect(perHour(perSecond(120))).toBeCloseTo(120, 12);
    expect(perMinute(120)).toBe(2);
    expect(secondsBetween(1_000, 2_500)).toBe(1.5);
  });

  it('keep a figure between its limits', () => {
    expect([clamp(-1, 0, 5), clamp(3, 0, 5), clamp(9, 0, 5)]).toEqual([0, 3, 5]);
  });
});
