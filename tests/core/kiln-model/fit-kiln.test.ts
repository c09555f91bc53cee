/** Fits are judged where the truth is known: kilns made by the model itself, read with noise. */
import { expect, test } from 'vitest';
import { ESTIMATED, type EstimatedName, fitKiln } from '../../../daemon/core/kiln-model/fit-kiln.ts';
import type { KilnModel } from '../../../daemon/core/kiln-model/kiln-model.ts';
import type { RecordedFiring } from '../../../daemon/core/kiln-model/recorded-firing.ts';
import { madeFiring, madeKiln } from './made-firing.ts';

const SETTING = { heat: 'electric', setting: 'proportional' } as const;

function truth(model: KilnModel, name: EstimatedName): number {
  return name === 'bothLagsS' ? model.heatLagS + model.sensorLagS : model[name];
}

test('the bounds of each number hold the truth about nine times in ten', { timeout: 120_000 }, () => {
  const trials = 40;
  const held = new Map<EstimatedName, number>(ESTIMATED.map((name) => [name, 0]));
  for (let seed = 1; seed <= trials; seed++) {
    const fit = fitKiln([madeFiring(madeKiln, seed)], SETTING);
    for (const name of ESTIMATED) {
      const estimate = fit?.estimates[name];
      const value = truth(madeKiln, name);
      if (estimate !== undefined && estimate.low <= value && value <= estimate.high)
        held.set(name, (held.get(name) ?? 0) + 1);
    }
  }
  console.log(`held in ${trials} trials, seeds 1 to ${trials}:`, Object.fromEntries(held));
  for (const [name, count] of held) expect(count, name).toBeGreaterThanOrEqual(0.75 * trials);
});

test('the bounds are narrow enough to go by: power and the lags together within 5 % from one firing', () => {
  const fit = fitKiln([madeFiring(madeKiln, 7)], SETTING);
  for (const name of ['powerCPerH', 'bothLagsS'] as const) {
    const estimate = fit?.estimates[name];
    expect(estimate?.told).toBe('told');
    expect(Math.log((estimate?.high ?? 9) / (estimate?.low ?? 1)), name).toBeLessThan(0.1);
  }
});

test('a second firing of the same kiln makes the numbers surer', { timeout: 60_000 }, () => {
  const width = (seeds: readonly number[]): number => {
    const { low = 1, high = 9 } =
      fitKiln(
        seeds.map((seed) => madeFiring(madeKiln, seed)),
        SETTING,
      )?.estimates.lossHotPerH ?? {};
    return Math.log(high / low);
  };
  expect(width([3, 4])).toBeLessThan(width([3]));
});

test('where nobody logged the heat, the fall still tells the losses, and power is only said to be at least so much', {
  timeout: 60_000,
}, () => {
  const fit = fitKiln([madeFiring(madeKiln, 5, false)], SETTING);
  expect(fit?.estimates.powerCPerH.told).toBe('at-least');
  expect(fit?.estimates.powerCPerH.value).toBeLessThan(madeKiln.powerCPerH);
  for (const name of ['lossHotPerH', 'exchangePerH', 'wallRatio'] as const) {
    const ratio = (fit?.estimates[name].value ?? 0) / madeKiln[name];
    expect(Math.abs(Math.log(ratio)), name).toBeLessThan(0.2);
  }
});

test('what a short climb cannot tell is said to be unknown', () => {
  const fit = fitKiln([madeFiring(madeKiln, 9, true, 2400)], SETTING);
  expect(fit?.estimates.lossHotPerH.told).toBe('unknown');
  expect(fit?.estimates.wallRatio.told).toBe('unknown');
});

test('glitches in the readings and a door left open do not move the numbers', { timeout: 60_000 }, () => {
  const clean = madeFiring(madeKiln, 11);
  const spoilt: RecordedFiring = {
    ...clean,
    readings: clean.readings.map((r, i) => (i % 97 === 0 ? { ...r, celsius: 1024 } : r)),
    leftOut: [{ fromMs: 20_000_000, toMs: 20_900_000 }],
  };
  const fit = fitKiln([spoilt], SETTING);
  expect(Math.abs(Math.log((fit?.model.powerCPerH ?? 1) / madeKiln.powerCPerH))).toBeLessThan(0.02);
});

test('nothing is fitted to a handful of readings', () => {
  expect(fitKiln([{ ...madeFiring(madeKiln, 1), readings: [] }], SETTING)).toBeNull();
});
