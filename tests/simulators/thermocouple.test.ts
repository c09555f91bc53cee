import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import type { KilnPlant } from '../../simulators/kiln-plant.ts';
import { type CoupleSpec, thermocouple } from '../../simulators/thermocouple.ts';

const plain: CoupleSpec = {
  sensor: 'shelf',
  looksAt: { wall: 1, shelf: 1, glass: 2 },
  lagS: 60,
  noiseC: 0,
  stepC: 0,
  missedRatio: 0,
};

/** A chamber with one temperature everywhere, set by hand. */
function evenChamber(startC: number): KilnPlant & { setC(celsius: number): void } {
  let everywhereC = startC;
  return {
    setC(celsius) {
      everywhereC = celsius;
    },
    step() {},
    celsius: () => everywhereC,
    stirringWPerM2K: () => 5,
    turn() {},
    doorIsOpen: () => false,
    ledger: () => ({ inJ: 0, storedJ: 0, lostJ: 0 }),
  };
}

describe('a thermocouple', () => {
  it('shows 63 % of a sudden rise after its lag, and all of it in the end', () => {
    const chamber = evenChamber(100);
    const couple = thermocouple(plain, chamber, seededRandom(1));
    chamber.setC(200);
    for (let s = 0; s < 600; s++) couple.step(0.1);
    expect(couple.read()).toBeCloseTo(163.2, 0);
    for (let s = 0; s < 600; s++) couple.step(1);
    expect(couple.read()).toBeCloseTo(200, 1);
  });

  it('is behind a steady climb by its lag: 2 °C a minute and 60 s make 2 °C', () => {
    const chamber = evenChamber(100);
    const couple = thermocouple(plain, chamber, seededRandom(1));
    let c = 100;
    for (let s = 0; s < 1200; s++) {
      c += 2 / 60;
      chamber.setC(c);
      couple.step(1);
    }
    expect(c - (couple.read() ?? 0)).toBeCloseTo(2, 1);
  });

  it('shows quarters of a degree where its last digit is a quarter', () => {
    const couple = thermocouple({ ...plain, stepC: 0.25, noiseC: 0.4 }, evenChamber(648.1), seededRandom(3));
    const shown = Array.from({ length: 200 }, () => couple.read() ?? Number.NaN);
    for (const c of shown) expect(c * 4).toBe(Math.round(c * 4));
    expect(new Set(shown).size).toBeGreaterThan(4);
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
});
