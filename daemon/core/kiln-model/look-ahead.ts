/** Goes through a recorded firing as a watch does, and says from place to place what the model then foresaw. */
import { S_PER_H } from '../numbers/units.ts';
import { HeatRecord } from './heat-record.ts';
import type { KilnModel } from './kiln-model.ts';
import { KilnWatch, type WatchNoise } from './kiln-watch.ts';
import type { RecordedFiring } from './recorded-firing.ts';

export interface Foreseen {
  /** Index of the reading from which it was foreseen. */
  readonly at: number;
  /** For each horizon: with the heat that was then really on, null where nobody knows it; and with the heat kept as it was. */
  readonly heatKnownC: readonly number[] | null;
  readonly heatKeptC: readonly number[];
}

/** @param places indexes of the readings to look from, rising */
export function lookAhead(
  model: KilnModel,
  noise: WatchNoise,
  firing: RecordedFiring,
  horizonsS: readonly number[],
  places: readonly number[],
): Foreseen[] {
  const { readings, roomC } = firing;
  const [first] = readings;
  if (first === undefined) return [];
  const heat = new HeatRecord(model, firing.heat);
  const heatCPerH = heat.meanCPerH(first.atMs, first.atMs);
  const watch = new KilnWatch(model, noise, { celsius: first.celsius, roomC, heatCPerH });
  const farthestS = Math.max(...horizonsS);
  const stepS = Math.min(...horizonsS) / Math.ceil(Math.min(...horizonsS) / Math.min(30, farthestS / 20));
  const steps = Array.from({ length: Math.ceil(farthestS / stepS) }, () => stepS);
  const foreseen: Foreseen[] = [];
  let next = 0;
  let before = first;
  for (const [i, reading] of readings.entries()) {
    const passedS = (reading.atMs - before.atMs) / 1000;
    if (passedS > 0) {
      watch.pass(passedS, heat.meanCPerH(before.atMs, reading.atMs));
      watch.see(reading.celsius);
      before = reading;
    }
    if (places[next] !== i) continue;
    next++;
    const known = steps.map((s, k) => heat.meanCPerH(reading.atMs + k * s * 1000, reading.atMs + (k + 1) * s * 1000));
    const kept = heat.meanCPerH(reading.atMs - stepS * 1000, reading.atMs);
    const at = (shownC: readonly number[]): number[] =>
      horizonsS.map((s) => shownC[Math.round(s / stepS) - 1] ?? Number.NaN);
    const isKnown = known.every((h) => h !== null);
    foreseen.push({
      at: i,
      heatKnownC: isKnown ? at(watch.aheadC(steps, known)) : null,
      heatKeptC: at(
        watch.aheadC(
          steps,
          steps.map(() => kept),
        ),
      ),
    });
  }
  return foreseen;
}

/** How restless the stray heat is tried to be, as shares of full heat over the length of the run. */
const RESTLESS = [0.01, 0.05, 0.2, 1, 4];
/** How long it lasts, as shares of the length of the run. */
const LASTING = [0.05, 0.3, 3];
const PLACES = 300;

/**
 * How much to trust the model against the readings: what would have looked ahead best in the firings that it was
 * fitted to. Where no heat is known all of it is stray, and stays as it is.
 */
export function tuneWatch(
  model: KilnModel,
  firings: readonly RecordedFiring[],
  horizonsS: readonly number[],
  readingC: number,
): WatchNoise {
  const lengths = firings.map(
    ({ readings }) => ((readings[readings.length - 1]?.atMs ?? 0) - (readings[0]?.atMs ?? 0)) / 1000,
  );
  const spanS = Math.max(...lengths, 1);
  const knowsHeat = firings.some((f) => f.heat.some((h) => h.ratio !== null));
  let best: WatchNoise | null = null;
  let leastLoss = Number.POSITIVE_INFINITY;
  for (const restless of RESTLESS) {
    for (const lasting of knowsHeat ? LASTING : [Number.POSITIVE_INFINITY]) {
      const noise = {
        readingC,
        strayCPerH: (restless * model.powerCPerH) / Math.sqrt(spanS / S_PER_H),
        strayLastsS: lasting * spanS,
      };
      const loss = firings.reduce((sum, firing) => sum + lossOf(model, noise, firing, horizonsS), 0);
      if (loss < leastLoss) {
        leastLoss = loss;
        best = noise;
      }
    }
  }
  return best ?? { readingC, strayCPerH: 0, strayLastsS: spanS };
}

/** Sum of the logarithms of the errors at each horizon, so that the near ones count as the far ones do. */
function lossOf(model: KilnModel, noise: WatchNoise, firing: RecordedFiring, horizonsS: readonly number[]): number {
  const { readings } = firing;
  const stride = Math.max(Math.floor(readings.length / PLACES), 1);
  const places = readings.map((_, i) => i).filter((i) => i > 10 && i % stride === 0);
  const foreseen = lookAhead(model, noise, firing, horizonsS, places);
  return horizonsS.reduce((loss, aheadS, h) => {
    let sum = 0;
    let count = 0;
    let after = 0;
    for (const { at, heatKnownC, heatKeptC } of foreseen) {
      const atMs = (readings[at]?.atMs ?? 0) + aheadS * 1000;
      while (after < readings.length && (readings[after]?.atMs ?? 0) < atMs) after++;
      const truth = readings[after];
      if (truth === undefined) break;
      const off = ((heatKnownC ?? heatKeptC)[h] ?? 0) - truth.celsius;
      sum += off * off;
      count++;
    }
    return count === 0 ? loss : loss + 0.5 * Math.log(sum / count + 1e-6);
  }, 0);
}
