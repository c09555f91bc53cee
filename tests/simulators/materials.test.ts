import { describe, expect, it } from 'vitest';
import { curve } from '../../simulators/curve.ts';
import {
  backingBoard,
  cordierite,
  denseBrick,
  fibre,
  firmBrick,
  heavySoftBrick,
  sodaLimeGlass,
  softBrick,
} from '../../simulators/materials.ts';

describe('a curve', () => {
  const bent = curve([
    [100, 10],
    [200, 30],
    [400, 20],
  ]);

  it('is straight between its points and flat beyond them', () => {
    expect([0, 100, 150, 200, 300, 399, 400, 1599, 2000, -30].map((c) => bent.at(c))).toEqual([
      10,
      10,
      20,
      30,
      25,
      expect.closeTo(20.05, 9),
      20,
      20,
      20,
      10,
    ]);
  });

  it('has the integral of its straight pieces', () => {
    expect(bent.integralTo(100)).toBeCloseTo(1000, 9);
    expect(bent.integralTo(150)).toBeCloseTo(1000 + 750, 9);
    expect(bent.integralTo(400)).toBeCloseTo(1000 + 2000 + 5000, 9);
    expect(bent.integralTo(2000)).toBeCloseTo(8000 + 1600 * 20, 9);
    expect(bent.integralTo(-10)).toBeCloseTo(-100, 9);
  });

  it.each([
    [[[30, 1]]],
    [
      [
        [200, 1],
        [100, 2],
      ],
    ],
    [[]],
    [[[1620, 1]]],
  ] as const)('refuses points %j', (points) => {
    expect(() => curve(points as readonly (readonly [number, number])[])).toThrow(RangeError);
  });
});

describe('the stuff of kilns', () => {
  it('has the figures of the VDI Heat Atlas at 400 to 1200 °C', () => {
    const at = [400, 600, 800, 1000, 1200];
    expect(at.map((c) => softBrick.conductivityWPerMK.at(c))).toEqual([0.14, 0.16, 0.18, 0.2, 0.22]);
    expect(at.map((c) => softBrick.heatJPerKgK.at(c))).toEqual([942, 979, 1002, 1017, 1033]);
    expect(at.map((c) => firmBrick.conductivityWPerMK.at(c))).toEqual([0.27, 0.3, 0.32, 0.34, 0.36]);
    expect(at.map((c) => heavySoftBrick.conductivityWPerMK.at(c))).toEqual([0.32, 0.35, 0.38, 0.41, 0.43]);
    expect(at.map((c) => denseBrick.conductivityWPerMK.at(c))).toEqual([1.05, 1.1, 1.15, 1.18, 1.22]);
  });

  it('holds a soft brick of 1260 °C near the line 0.12 + 0.0001 T of another source, within 20 %', () => {
    // A class-23 insulating firebrick in the sizing note of a heat store (2026), read in a public repository.
    for (const c of [100, 300, 500]) {
      expect(Math.abs(softBrick.conductivityWPerMK.at(c) / (0.12 + 1e-4 * c) - 1)).toBeLessThan(0.2);
    }
  });

  it('lets fibre insulate better than brick when cool and no longer when hot', () => {
    expect(fibre.conductivityWPerMK.at(200)).toBeLessThan(softBrick.conductivityWPerMK.at(200) / 1.7);
    expect(fibre.conductivityWPerMK.at(1000)).toBeGreaterThan(softBrick.conductivityWPerMK.at(1000));
    // It bends upwards: the step from 800 to 1000 °C is more than twice that from 200 to 400 °C.
    const step = (c: number): number => fibre.conductivityWPerMK.at(c + 200) - fibre.conductivityWPerMK.at(c);
    expect(step(800)).toBeGreaterThan(1.9 * step(200));
  });

  it('gives glass the figures of EN 572 in a room, and more heat when hot', () => {
    expect(sodaLimeGlass.densityKgPerM3).toBe(2500);
    expect(sodaLimeGlass.heatJPerKgK.at(20)).toBe(720);
    expect(sodaLimeGlass.conductivityWPerMK.at(20)).toBe(1);
    expect(sodaLimeGlass.heatJPerKgK.at(550)).toBeGreaterThan(1100);
    expect(sodaLimeGlass.heatJPerKgK.at(600)).toBeLessThan(1250);
  });

  it.each([softBrick, firmBrick, heavySoftBrick, denseBrick, fibre, backingBoard, cordierite, sodaLimeGlass])(
    'takes more heat the hotter it is',
    ({ heatJPerKgK }) => {
      for (let c = 20; c < 1000; c += 20) {
        expect(heatJPerKgK.at(c + 20)).toBeGreaterThanOrEqual(heatJPerKgK.at(c));
      }
    },
  );
});
