/** How unsure a figure is that comes out of a kiln's model: by moving the model along each way in which it is unsure. */
import type { KilnModel } from './kiln-model.ts';
import { modelOf } from './kiln-parameters.ts';
import { cholesky } from './normal-equations.ts';

export interface UnsureModel {
  readonly model: KilnModel;
  readonly logs: readonly number[];
  readonly covariance: readonly (readonly number[])[];
  readonly errorC: number;
}

/** Moved pairs of models: each pair one standard deviation to either side along one direction. */
export function movedModels(known: UnsureModel): (readonly [KilnModel, KilnModel])[] {
  const heat = Number.isFinite(known.model.flameC) ? 'gas' : 'electric';
  const lower = cholesky(
    known.covariance.map((row, i) => Float64Array.from(row, (value, j) => value + (i === j ? 1e-9 : 0))),
  );
  if (lower === null) return [];
  return known.logs.map((_, column) => {
    const moved = (sign: number): KilnModel => {
      const logs = known.logs.map((log, i) => log + sign * ((lower[i]?.[column] as number) ?? 0));
      return { ...modelOf(logs, heat), flameC: known.model.flameC };
    };
    return [moved(1), moved(-1)] as const;
  });
}

/** Standard deviation of a figure, null where it cannot be had for some of the models. */
export function sigmaOf(pairs: readonly (readonly [number | null, number | null])[]): number | null {
  let variance = 0;
  for (const [up, down] of pairs) {
    if (up === null || down === null) return null;
    variance += ((up - down) / 2) ** 2;
  }
  return Math.sqrt(variance);
}
