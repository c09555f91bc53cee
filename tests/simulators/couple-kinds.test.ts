import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { type CoupleKindName, coupleKinds, drawLag, type LagSpec } from '../../simulators/couple-kinds.ts';
import { type CoupleSpec, thermocouple } from '../../simulators/thermocouple.ts';
import { evenChamber } from './even-chamber.ts';

const plain: CoupleSpec = {
  sensor: 'shelf',
  looksAt: { wall: 0.4, shelf: 0.3, glass: 0.3 },
  lagS: 0,
  noiseC: 0,
  stepC: 0,
  missedRatio: 0,
};

function middle(name: CoupleKindName): LagSpec {
  return drawLag(name, { next: () => 0.5, gaussian: () => 0 });
}

function secondsTo(share: number, lag: LagSpec, atC: number, stirringWPerM2K: number): number {
  const chamber = evenChamber(atC);
  chamber.setStirring(stirringWPerM2K);
  const couple = thermocouple({ ...plain, ...lag }, chamber, seededRandom(1));
  chamber.setC(atC + 1);
  for (let s = 0; s < 7200; s += 0.05) {
    if (couple.tipC() - atC >= share) return s;
    couple.step(0.05);
  }
  return Number.NaN;
}

/** The gas that makes a couple at 20 °C exchange what its published lag was measured with. */
function windFor(lag: LagSpec): number {
  const kelvin = 293.15;
  return ((lag.lagAtWPerM2K ?? 0) - 4 * 0.8 * 5.670374419e-8 * kelvin * kelvin * kelvin) / (lag.gasRatio ?? 1);
}

const names = Object.keys(coupleKinds) as CoupleKindName[];

describe('a kind of couple', () => {
  // A maker's guide values in air, junction insulated.
  it.each([
    ['mineral-insulated 1.5 mm', 8, 25],
    ['mineral-insulated 3 mm', 23, 80],
    ['mineral-insulated 6 mm', 60, 200],
  ] as const)('of %s shows half of a step in air after about %i s and nine tenths after about %i', (name, t50, t90) => {
    const lag = middle(name);
    expect(Math.abs(secondsTo(0.5, lag, 20, windFor(lag)) / t50 - 1)).toBeLessThan(0.06);
    expect(Math.abs(secondsTo(0.9, lag, 20, windFor(lag)) / t90 - 1)).toBeLessThan(0.06);
  });

  it.each(['mineral-insulated 1.5 mm', 'mineral-insulated 3 mm', 'mineral-insulated 6 mm'] as const)(
    'of %s holds the heat of 3 MJ a cubic metre and kelvin',
    (name) => {
      const { lagAtWPerM2K, diameterMm } = coupleKinds[name];
      const heldJPerM2K = (3e6 * diameterMm) / 1000 / 4;
      expect(Math.abs((middle(name).lagS * lagAtWPerM2K) / heldJPerM2K - 1)).toBeLessThan(0.03);
    },
  );

  it('with a bare bead shows 63 % within 10 s in still air at room temperature, within 4 s at 650 °C', () => {
    const lag = middle('bare bead 0.8 mm');
    expect(secondsTo(0.632, lag, 20, 5)).toBeCloseTo(10, 0);
    expect(secondsTo(0.632, lag, 650, 5)).toBeLessThan(4);
  });

  it('in a thick sheath is one to three minutes late at 500 to 660 °C, whichever is drawn (seed 8)', () => {
    const random = seededRandom(8);
    for (let n = 0; n < 5; n++) {
      const lag = drawLag('thick ceramic sheath', random);
      for (const atC of [500, 660]) {
        const lateS = secondsTo(0.632, lag, atC, 5);
        expect(lateS).toBeGreaterThan(60);
        expect(lateS).toBeLessThan(230);
      }
    }
  });

  it('is the slower the thicker, cold and hot', () => {
    for (const atC of [100, 650]) {
      const times = names.map((name) => secondsTo(0.632, middle(name), atC, 5));
      expect(times).toEqual([...times].sort((a, b) => a - b));
    }
  });

  it.each(names)('of %s is slower in a cold kiln than in a hot one', (name) => {
    expect(secondsTo(0.632, middle(name), 100, 5)).toBeGreaterThan(1.5 * secondsTo(0.632, middle(name), 650, 5));
  });

  it.each(names)('of %s is drawn within its range, and takes two random numbers (seed 9)', (name) => {
    const random = seededRandom(9);
    const { least, most } = coupleKinds[name].lagS;
    for (let n = 0; n < 100; n++) {
      const { lagS } = drawLag(name, random);
      expect(lagS).toBeGreaterThanOrEqual(least);
      expect(lagS).toBeLessThanOrEqual(most);
    }
    const other = seededRandom(9);
    for (let n = 0; n < 200; n++) other.next();
    expect(random.next()).toBe(other.next());
  });
});
