/** Firings made by the model itself, where the truth is known: read with noise, every ten seconds. */
import { heatOf, type KilnModel, KilnRun, restingState } from '../../../daemon/core/kiln-model/kiln-model.ts';
import type { HeatFrom, RecordedFiring } from '../../../daemon/core/kiln-model/recorded-firing.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';

export const madeKiln: KilnModel = {
  powerCPerH: 1400,
  lossColdPerH: 0.5,
  lossHotPerH: 1.1,
  exchangePerH: 0.6,
  wallRatio: 3,
  heatLagS: 240,
  sensorLagS: 70,
  glowS: 15,
  settingPower: 1,
  flameC: Number.POSITIVE_INFINITY,
};

const HEATED_S = 11_520;

/** A climb by a hand that turns every four minutes, then off. */
export function madeFiring(model: KilnModel, seed: number, heatIsKnown = true, spanS = 8 * 3600): RecordedFiring {
  const random = seededRandom(seed);
  const run = new KilnRun(model, 20, restingState(20));
  const readings: { atMs: number; celsius: number }[] = [];
  const heat: HeatFrom[] = [];
  let ratio = 0;
  for (let s = 0; s < spanS; s += 10) {
    if (s % 240 === 0) {
      const climbs = 0.3 + (0.12 * s) / 3600 + (s > 7200 ? 0.1 : 0) + 0.15 * (random.next() - 0.5);
      ratio = s < HEATED_S ? Math.min(Math.max(climbs, 0), 1) : 0;
      heat.push({ atMs: s * 1000, ratio: heatIsKnown || s >= HEATED_S ? ratio : null });
    }
    run.step(10, heatOf(model, ratio));
    readings.push({ atMs: (s + 10) * 1000, celsius: run.shownC + 0.5 * random.gaussian() });
  }
  return { name: `seed ${seed}`, readings, heat, leftOut: [], roomC: 20 };
}
