/** A couple in the chamber: what its tip takes from wall, load and gas, how late it shows it, and how coarsely. */
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { STEFAN_BOLTZMANN } from './heat-balance.ts';
import type { KilnPlant } from './kiln-plant.ts';

export interface CoupleSpec {
  readonly sensor: string;
  /** How much of its surroundings is wall, shelf and glass; they are counted to 1. */
  readonly looksAt: { readonly wall: number; readonly shelf: number; readonly glass: number };
  /** First-order lag: seconds for a bare bead, one to three minutes in a sheath. */
  readonly lagS: number;
  /** Standard deviation of one reading. */
  readonly noiseC: number;
  /** The instrument's last digit; 0 for none. */
  readonly stepC: number;
  /** Share of the readings in which the instrument gives no temperature. */
  readonly missedRatio: number;
  /** What this couple shows too much. */
  readonly offsetC?: number;
}

export interface Couple {
  readonly sensor: string;
  step(durationS: number): void;
  /** What the instrument shows now; null where it gives no temperature. */
  read(): number | null;
}

/** The sheath stands near the wall, out of the flame's jet. From memory. */
const LEE_RATIO = 0.7;
/** Oxidised metal or ceramic sheath. From memory. */
const SHEATH_EMISSIVITY = 0.8;

/** The colder the kiln, the more the tip takes from the gas; above 500 °C it mostly sees wall and load. */
function tipSurroundingsC(spec: CoupleSpec, plant: KilnPlant): number {
  const { wall, shelf, glass } = spec.looksAt;
  const seenC =
    (wall * plant.celsius('wall') + shelf * plant.celsius('shelf') + glass * plant.celsius('glass')) /
    (wall + shelf + glass);
  const kelvin = seenC + 273.15;
  const radiationWPerM2K = 4 * SHEATH_EMISSIVITY * STEFAN_BOLTZMANN * kelvin * kelvin * kelvin;
  const gasWPerM2K = LEE_RATIO * plant.stirringWPerM2K();
  return (gasWPerM2K * plant.celsius('gas') + radiationWPerM2K * seenC) / (gasWPerM2K + radiationWPerM2K);
}

export function thermocouple(spec: CoupleSpec, plant: KilnPlant, random: SeededRandom): Couple {
  let tipC = tipSurroundingsC(spec, plant);
  return {
    sensor: spec.sensor,
    step(durationS) {
      tipC += ((tipSurroundingsC(spec, plant) - tipC) * durationS) / (spec.lagS + durationS);
    },
    read() {
      // Always the same count of random numbers, so that one missed reading does not change all later ones.
      const missed = random.next() < spec.missedRatio;
      const shownC = tipC + (spec.offsetC ?? 0) + spec.noiseC * random.gaussian();
      if (missed) return null;
      const step = spec.stepC > 0 ? spec.stepC : 0.001;
      return Math.round(Math.round(shownC / step) * step * 1000) / 1000;
    },
  };
}
