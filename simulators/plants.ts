/** The simulated kilns by name, as scenario files call them, and how their figures are changed. */
import {
  bigElectricKiln,
  type ElectricKilnSpec,
  fibreElectricKiln,
  studioElectricKiln,
  testElectricKiln,
} from './electric-kiln.ts';
import { type GasKilnSpec, heavyGasKiln, littleGasKiln, studioGasKiln } from './gas-kiln.ts';

export type PlantSpec =
  | { readonly heat: 'gas'; readonly spec: GasKilnSpec }
  | { readonly heat: 'electric'; readonly spec: ElectricKilnSpec };

export const plants: Readonly<Record<string, PlantSpec>> = {
  'studio gas': { heat: 'gas', spec: studioGasKiln },
  'heavy gas': { heat: 'gas', spec: heavyGasKiln },
  'little gas': { heat: 'gas', spec: littleGasKiln },
  'studio electric': { heat: 'electric', spec: studioElectricKiln },
  'test electric': { heat: 'electric', spec: testElectricKiln },
  'big electric': { heat: 'electric', spec: bigElectricKiln },
  'fibre electric': { heat: 'electric', spec: fibreElectricKiln },
};

/** What is wrong with a change of figures: where, and what would be right. */
export interface ChangeFault {
  readonly path: readonly (string | number)[];
  readonly right: string;
}

/**
 * The figures of `base` with some of them changed. Groups are changed key by key, lists as a whole.
 * Keys that `base` does not have, and values of another type, are told in `faults` and left out.
 */
export function changed<Base>(
  base: Base,
  change: unknown,
  faults: ChangeFault[],
  path: readonly (string | number)[] = [],
): Base {
  if (change === undefined) return base;
  if (Array.isArray(base) && Array.isArray(change)) return change as Base;
  if (!isGroup(base) || !isGroup(change)) {
    if (typeof base === typeof change && !isGroup(change) && !Array.isArray(change)) return change as Base;
    faults.push({ path, right: `write ${kindOf(base)}` });
    return base;
  }
  const result: Record<string, unknown> = { ...base };
  for (const [key, value] of Object.entries(change)) {
    if (!Object.hasOwn(base, key)) {
      faults.push({ path: [...path, key], right: `known here are ${Object.keys(base).join(', ')}` });
      continue;
    }
    result[key] = changed(base[key], value, faults, [...path, key]);
  }
  return result as Base;
}

function isGroup(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function kindOf(value: unknown): string {
  if (Array.isArray(value)) return 'a list';
  if (isGroup(value)) return `a group of ${Object.keys(value).join(', ')}`;
  return typeof value === 'number' ? 'a number' : typeof value === 'boolean' ? 'true or false' : 'a word';
}
