import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { radiationWPerK } from '../../simulators/heat-balance.ts';
import { type Couple, type CoupleSpec, type Measured, thermocouple } from '../../simulators/thermocouple.ts';
import { drawWireError } from '../../simulators/wire-classes.ts';
import { evenChamber } from './even-chamber.ts';

const plain: CoupleSpec = {
  sensor: 'shelf',
  looksAt: { wall: 1, shelf: 1, glass: 2 },
  lagS: 60,
  noiseC: 0,
  stepC: 0,
  missedRatio: 0,
};

function run(couple: Couple, forS: number, stepS = 1): void {
  for (let n = Math.round(forS / stepS); n > 0; n--) couple.step(stepS);
}

function shown(couple: Couple): number {
  return couple.read() ?? Number.NaN;
}

/** How far a couple is behind a climb of 120 °C/h, once it has settled. */
function behindClimbC(spec: CoupleSpec, fromC = 100): number {
  const chamber = evenChamber(fromC);
  const couple = thermocouple(spec, chamber, seededRandom(1));
  let c = fromC;
  for (let s = 0; s < 1800; s++) {
    c += 120 / 3600;
    chamber.setC(c);
    couple.step(1);
  }
  return c - shown(couple);
}

/** Seconds until a small rise of everything is shown by this share. */
function secondsTo(share: number, spec: CoupleSpec, atC: number, stirringWPerM2K = 5): number {
  const chamber = evenChamber(atC);
  chamber.setStirring(stirringWPerM2K);
  const couple = thermocouple(spec, chamber, seededRandom(1));
  chamber.setC(atC + 1);
  for (let s = 0; s < 7200; s += 0.02) {
    if (couple.tipC() - atC >= share) return s;
    couple.step(0.02);
  }
  return Number.NaN;
}

const STEFAN_BOLTZMANN = 5.670374419e-8;

describe('a thermocouple', () => {
  it('shows 63 % of a sudden rise after its lag, and all of it in the end', () => {
    const chamber = evenChamber(100);
    const couple = thermocouple(plain, chamber, seededRandom(1));
    chamber.setC(200);
    run(couple, 60, 0.1);
    expect(couple.read()).toBeCloseTo(163.2, 0);
    run(couple, 600);
    expect(couple.read()).toBeCloseTo(200, 1);
  });

  it('follows a sudden rise as one lag does: half after 0.693 of it, nine tenths after 2.303', () => {
    expect(secondsTo(0.5, plain, 600) / 60).toBeCloseTo(Math.log(2), 2);
    expect(secondsTo(0.9, plain, 600) / 60).toBeCloseTo(Math.log(10), 2);
  });

  it('is behind a steady climb by its lag: 2 °C a minute and 60 s make 2 °C', () => {
    expect(behindClimbC(plain)).toBeCloseTo(2, 2);
  });

  it('is behind by both lags where its bead sits in a sheath: 60 and 90 s make 5 °C', () => {
    expect(behindClimbC({ ...plain, beadLagS: 90 })).toBeCloseTo(5, 2);
  });

  it.each([20, 60, 120, 240])('shows in a sheath what two lags in a row show after %i s', (afterS) => {
    const chamber = evenChamber(500);
    const couple = thermocouple({ ...plain, beadLagS: 90 }, chamber, seededRandom(1));
    chamber.setC(600);
    run(couple, afterS, 0.05);
    const expectedC = 600 - (100 * (90 * Math.exp(-afterS / 90) - 60 * Math.exp(-afterS / 60))) / (90 - 60);
    expect(shown(couple)).toBeCloseTo(expectedC, 1);
  });

  it.each([
    [20, 5],
    [300, 5],
    [650, 5],
    [650, 25],
  ])('lags in proportion to what it exchanges: at %i °C, gas stirred %i W/(m² K)', (atC, stirring) => {
    const kelvin = atC + 0.5 + 273.15;
    const exchange = 2 * stirring + 4 * 0.8 * STEFAN_BOLTZMANN * kelvin * kelvin * kelvin;
    const spec: CoupleSpec = { ...plain, lagS: 30, lagAtWPerM2K: 65, gasRatio: 2 };
    const expectedS = (30 * 65) / exchange;
    expect(secondsTo(1 - Math.exp(-1), spec, atC, stirring) / expectedS).toBeCloseTo(1, 2);
  });

  it('has a slower bead in a cold sheath than in a hot one', () => {
    const sheathed: CoupleSpec = { ...plain, lagS: 1, lagAtWPerM2K: 126, beadLagS: 60 };
    expect(secondsTo(0.632, sheathed, 600) / 61).toBeCloseTo(1, 1);
    const gap = (celsius: number): number => 25 + radiationWPerK(0.5, celsius, celsius);
    expect(secondsTo(0.632, sheathed, 100) / ((60 * gap(600)) / gap(100) + 8)).toBeCloseTo(1, 1);
  });

  it('takes more from the gas the colder the kiln, and a thin one more than a thick one', () => {
    const gasAbove = (celsius: number): Measured => ({
      celsius: (place) => (place === 'gas' ? celsius + 100 : celsius),
      stirringWPerM2K: () => 5,
    });
    const shareOfGas = (celsius: number, gasRatio: number): number =>
      (thermocouple({ ...plain, gasRatio }, gasAbove(celsius), seededRandom(1)).tipC() - celsius) / 100;
    const radiation = 4 * 0.8 * STEFAN_BOLTZMANN * 873.15 * 873.15 * 873.15;
    expect(shareOfGas(600, 1)).toBeCloseTo(5 / (5 + radiation), 6);
    expect(shareOfGas(100, 1)).toBeGreaterThan(3 * shareOfGas(600, 1));
    expect(shareOfGas(600, 9)).toBeGreaterThan(6 * shareOfGas(600, 1));
  });

  it('shows what is where it stands: the roof is hotter than the floor', () => {
    const layered: Measured = {
      celsius: (place, heightRatio = 0.5) => (place === 'gas' || place === 'wall' ? 600 + 40 * heightRatio : 620),
      stirringWPerM2K: () => 5,
    };
    const onWall = { wall: 1, shelf: 0, glass: 0 };
    const at = (heightRatio: number): number =>
      thermocouple({ ...plain, looksAt: onWall, heightRatio }, layered, seededRandom(1)).tipC();
    expect(at(0)).toBeCloseTo(600, 9);
    expect(at(1)).toBeCloseTo(640, 9);
  });

  it('shows quarters of a degree where its last digit is a quarter', () => {
    const couple = thermocouple({ ...plain, stepC: 0.25, noiseC: 0.4 }, evenChamber(648.1), seededRandom(3));
    const all = Array.from({ length: 200 }, () => shown(couple));
    for (const c of all) expect(c * 4).toBe(Math.round(c * 4));
    expect(new Set(all).size).toBeGreaterThan(4);
  });

  it('truly stands still for an hour in steps of 1 °C where the kiln holds', () => {
    const chamber = evenChamber(660.2);
    const couple = thermocouple({ ...plain, stepC: 1, noiseC: 0.04 }, chamber, seededRandom(4));
    const all = new Set<number>();
    for (let s = 0; s < 3600; s += 5) {
      chamber.setC(660.2 + (s % 600 < 300 ? 0.1 : -0.1));
      run(couple, 5);
      all.add(shown(couple));
    }
    expect([...all]).toEqual([660]);
    chamber.setC(663);
    run(couple, 300);
    expect(couple.read()).toBe(663);
  });

  it('scatters by its noise and misses its share of the readings (seed 5)', () => {
    const couple = thermocouple({ ...plain, noiseC: 0.5, missedRatio: 0.1 }, evenChamber(600), seededRandom(5));
    const all = Array.from({ length: 20_000 }, () => couple.read());
    const seen = all.filter((c) => c !== null);
    expect(1 - seen.length / all.length).toBeCloseTo(0.1, 2);
    const mean = seen.reduce((sum, c) => sum + c, 0) / seen.length;
    const deviation = Math.sqrt(seen.reduce((sum, c) => sum + (c - mean) ** 2, 0) / seen.length);
    expect(mean).toBeCloseTo(600, 1);
    expect(deviation).toBeCloseTo(0.5, 1);
  });

  it.each([1, 10, 40])('wanders slowly, as much in steps of %i s as in others, and forgets (seed 6)', (stepS) => {
    const wander = { deviationC: 1.5, overS: 120 };
    const couple = thermocouple({ ...plain, wander }, evenChamber(600), seededRandom(6), 6);
    const offC: number[] = [];
    for (let n = 0; n < 200_000 / stepS; n++) {
      couple.step(stepS);
      offC.push(shown(couple) - 600);
    }
    const product = (apartS: number): number => {
      const apart = apartS / stepS;
      const pairs = offC.slice(apart).map((c, i) => c * (offC[i] ?? 0));
      return pairs.reduce((sum, c) => sum + c, 0) / pairs.length;
    };
    expect(Math.sqrt(product(0)) / 1.5).toBeCloseTo(1, 1);
    expect(Math.abs(product(120) / product(0) - Math.exp(-1))).toBeLessThan(0.08);
    expect(Math.abs(product(600) / product(0))).toBeLessThan(0.1);
  });

  it('draws its wire from its class once, and shows that error at every temperature', () => {
    const wire = { letter: 'K', toleranceClass: 2 } as const;
    const errorC = (celsius: number, nature: number): number =>
      shown(thermocouple({ ...plain, wire }, evenChamber(celsius), seededRandom(1), nature)) - celsius;
    for (const nature of [1, 2, 3]) {
      const { atZeroC, gainRatio } = drawWireError(wire, seededRandom(nature));
      expect(errorC(1000, nature)).toBeCloseTo(atZeroC + 1000 * gainRatio, 2);
      expect(errorC(600, nature)).toBeCloseTo((errorC(200, nature) + errorC(1000, nature)) / 2, 2);
      expect(Math.abs(errorC(600, nature))).toBeLessThanOrEqual(4.501);
      expect(errorC(600, nature)).not.toBe(0);
    }
    expect(errorC(600, 1)).not.toBeCloseTo(errorC(600, 2), 2);
  });

  it('gives no temperature beyond the range of its instrument', () => {
    const chamber = evenChamber(1371);
    const couple = thermocouple({ ...plain, range: { fromC: -200, toC: 1372 } }, chamber, seededRandom(1));
    expect(couple.read()).toBe(1371);
    chamber.setC(1400);
    run(couple, 600);
    expect(couple.read()).toBeNull();
  });
});
