import { describe, expect, it } from 'vitest';
import { type SeededRandom, seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import {
  bigElectricKiln,
  electricKiln,
  fibreElectricKiln,
  studioElectricKiln,
  testElectricKiln,
} from '../../simulators/electric-kiln.ts';
import { elevenKgBottle } from '../../simulators/gas-bottle.ts';
import { gasKiln, heavyGasKiln, littleGasKiln, studioGasKiln } from '../../simulators/gas-kiln.ts';
import type { KilnPlant, Mishap, Place, Turn } from '../../simulators/kiln-plant.ts';

const plan: Schedule = {
  name: 'Anything',
  segments: [
    { kind: 'ramp', toC: 650, rateCPerH: 'flat-out' },
    { kind: 'hold', minutes: 20 },
    { kind: 'ramp', toC: 400, rateCPerH: 150 },
    { kind: 'ramp', toC: 700, rateCPerH: 300 },
    { kind: 'ramp', toC: 60, rateCPerH: 'let-fall' },
  ],
};

function anyOf<T>(random: SeededRandom, all: readonly T[]): T {
  return all[Math.floor(random.next() * all.length)] as T;
}

function anyCommon(random: SeededRandom): Turn | Mishap {
  const share = random.next() * random.next();
  return anyOf<Turn | Mishap>(random, [
    { control: 'door', openRatio: share },
    { control: 'door', openRatio: 0 },
    { control: 'bung', openRatio: share },
    { kind: 'leak', kgPerS: 0.002 * share },
    { kind: 'room', celsius: -10 + 50 * random.next() },
  ]);
}

function anyAtGas(random: SeededRandom): Turn | Mishap {
  const share = random.next();
  return anyOf<Turn | Mishap>(random, [
    anyCommon(random),
    { control: 'light' },
    { control: 'light' },
    { control: 'valve', mark: 10 * share },
    { control: 'valve', mark: 10 },
    { control: 'damper', openRatio: share },
    { control: 'gas-off' },
    { control: 'new-bottle' },
    { kind: 'bottle', ratio: share },
    { kind: 'burner', ratio: share },
    { kind: 'flame-out' },
    { kind: 'valve-stuck', stuck: share > 0.7 },
    { kind: 'damper-slips', openRatio: share },
  ]);
}

function anyAtElectric(random: SeededRandom): Turn | Mishap {
  const share = random.next();
  return anyOf<Turn | Mishap>(random, [
    anyCommon(random),
    { control: 'switch', on: share > 0.2 },
    { control: 'programme', segment: Math.floor(share * 6) },
    { kind: 'mains', voltageRatio: share > 0.3 ? 0.7 + 0.4 * share : 0 },
    { kind: 'element', where: 'above', ratio: share },
    { kind: 'element', where: 'below', ratio: share },
    { kind: 'relay', state: anyOf(random, ['works', 'works', 'welded', 'open'] as const) },
    {
      kind: 'controller-couple',
      state: anyOf(random, [
        { is: 'good' },
        { is: 'off', byC: 60 * share - 30 },
        { is: 'slipped', outRatio: share },
        { is: 'broken' },
      ] as const),
    },
  ]);
}

const places: readonly Place[] = ['gas', 'wall', 'shelf', 'glass', 'glass-face', 'glass-back'];

/** Six hours of whatever comes; every temperature looked at each minute. */
function anything(plant: KilnPlant, any: (random: SeededRandom) => Turn | Mishap, seed: number): void {
  const random = seededRandom(seed);
  for (let minute = 0; minute < 360; minute++) {
    if (random.next() < 0.1) {
      const next = any(random);
      if ('control' in next) plant.turn(next);
      else plant.suffer(next);
    }
    const stepS = anyOf(random, [1, 1, 1, 10, 0.5]);
    for (let s = 0; s < 60; s += stepS) plant.step(stepS);
    for (const place of places) {
      for (const height of [0, 0.5, 1]) {
        const celsius = plant.celsius(place, height);
        if (!(celsius > -15 && celsius < 1500)) throw new Error(`seed ${seed}: ${place} at ${celsius} °C`);
      }
    }
    expect(plant.heatW()).toBeGreaterThanOrEqual(0);
  }
  const { inJ, storedJ, lostJ } = plant.ledger();
  const turnedOver = Math.max(inJ, Math.abs(storedJ) + Math.abs(lostJ), 1e5);
  expect(Math.abs(inJ - storedJ - lostJ), `seed ${seed}`).toBeLessThan(0.001 * turnedOver);
}

describe('whatever hand and chance do to a kiln', () => {
  it.each([
    ['studio gas', studioGasKiln],
    ['heavy gas', heavyGasKiln],
    ['little gas, from a bottle', { ...littleGasKiln, bottle: elevenKgBottle }],
  ] as const)('leaves the %s kiln with honest books and temperatures of this world (seeds 1 to 12)', (_, spec) => {
    for (let seed = 1; seed <= 12; seed++) anything(gasKiln(spec), anyAtGas, seed);
  });

  it.each([
    ['studio', studioElectricKiln],
    ['test', testElectricKiln],
    ['big', bigElectricKiln],
    ['fibre', fibreElectricKiln],
  ] as const)(
    'leaves the %s electric kiln with honest books and temperatures of this world (seeds 1 to 12)',
    (_, spec) => {
      for (let seed = 1; seed <= 12; seed++) anything(electricKiln(spec, plan, seed), anyAtElectric, seed);
    },
  );
});
