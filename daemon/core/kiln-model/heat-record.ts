/** The heat that was on between two instants, by a record of settings. */
import { heatOf, type KilnModel } from './kiln-model.ts';
import type { HeatFrom } from './recorded-firing.ts';

export class HeatRecord {
  readonly #heat: readonly HeatFrom[];
  /** °C/h at each change; null where nobody knows. */
  readonly #perH: readonly (number | null)[];

  constructor(model: KilnModel, heat: readonly HeatFrom[]) {
    this.#heat = heat;
    this.#perH = heat.map(({ ratio }) => (ratio === null ? null : heatOf(model, ratio)));
  }

  /** Mean over the stretch in °C/h; null where any of it is unknown. */
  meanCPerH(fromMs: number, toMs: number): number | null {
    let index = this.#lastAt(fromMs);
    let now = index < 0 ? null : (this.#perH[index] ?? null);
    if (toMs <= fromMs) return now;
    let sum = 0;
    let atMs = fromMs;
    for (;;) {
      if (now === null) return null;
      const nextMs = this.#heat[index + 1]?.atMs ?? Number.POSITIVE_INFINITY;
      const untilMs = Math.min(nextMs, toMs);
      sum += now * (untilMs - atMs);
      if (nextMs >= toMs) return sum / (toMs - fromMs);
      index += 1;
      atMs = untilMs;
      now = this.#perH[index] ?? null;
    }
  }

  /** Index of the change that holds at that instant, or -1. */
  #lastAt(atMs: number): number {
    let low = 0;
    let high = this.#heat.length - 1;
    let found = -1;
    while (low <= high) {
      const middle = (low + high) >> 1;
      if ((this.#heat[middle]?.atMs ?? 0) <= atMs) {
        found = middle;
        low = middle + 1;
      } else high = middle - 1;
    }
    return found;
  }
}
