import { describe, expect, it } from 'vitest';
import {
  celsiusFromF,
  celsiusFromK,
  clamp,
  deltaCFromF,
  perHour,
  perMinute,
  perSecond,
  secondsBetween,
} from '../../../daemon/core/numbers/units.ts';

describe('the units of core', () => {
  it('go there and back', () => {
    expect(perHour(perSecond(120))).toBeCloseTo(120, 12);
    expect(perMinute(120)).toBe(2);
    expect(secondsBetween(1_000, 2_500)).toBe(1.5);
  });

  it.each([
    [32, 0],
    [212, 100],
    [-40, -40],
    [1202, 650],
  ])('take %d °F for %d °C', (temperatureF, temperatureC) => {
    expect(celsiusFromF(temperatureF)).toBeCloseTo(temperatureC, 10);
  });

  it('take a step of 1 °F for five ninths of a degree, and 923.15 K for 650 °C', () => {
    expect(deltaCFromF(1)).toBeCloseTo(0.5556, 4);
    expect(celsiusFromK(923.15)).toBeCloseTo(650, 10);
    expect(celsiusFromK(0)).toBe(-273.15);
  });

  it('keep a figure between its limits', () => {
    expect([clamp(-1, 0, 5), clamp(3, 0, 5), clamp(9, 0, 5)]).toEqual([0, 3, 5]);
  });
});
