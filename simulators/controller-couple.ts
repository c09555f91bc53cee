/** The couple that an electric kiln's controller steers by: in its place, with its lag, and what can be wrong with it. */
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { STEFAN_BOLTZMANN, ZERO_C_IN_K } from './heat-balance.ts';
import type { ControllerCouple, Place } from './kiln-plant.ts';

export interface ControllerCoupleSpec {
  /** How much of its surroundings is wall, shelf and glass; they are counted to 1. */
  readonly looksAt: { readonly wall: number; readonly shelf: number; readonly glass: number };
  /** 0 at the floor … 1 under the roof; half way where nothing is said. */
  readonly heightRatio?: number;
  /** First-order lag: seconds for a bare bead, one to three minutes in a sheath. */
  readonly lagS: number;
  /** Standard deviation of one reading. */
  readonly noiseC: number;
  /** Its last digit. */
  readonly stepC: number;
  /** What the controller adds to its figure, as its owner has set it to agree with another couple. */
  readonly trimC: number;
}

/** Stands near the wall, out of the stirred gas. From memory. */
const LEE_RATIO = 0.7;
/** Oxidised metal or ceramic sheath. From memory. */
const SHEATH_EMISSIVITY = 0.8;

export interface CoupleSurroundings {
  celsius(place: Place, heightRatio?: number): number;
  stirringWPerM2K(): number;
  roomC(): number;
}

export interface OwnCouple {
  is(state: ControllerCouple): void;
  step(durationS: number): void;
  /** null when it is broken. */
  read(): number | null;
}

/** The colder the kiln, the more the tip takes from the gas; above 500 °C it mostly sees wall and load. */
function surroundingsC(spec: ControllerCoupleSpec, plant: CoupleSurroundings): number {
  const { wall, shelf, glass } = spec.looksAt;
  const seenC =
    (wall * plant.celsius('wall', spec.heightRatio) + shelf * plant.celsius('shelf') + glass * plant.celsius('glass')) /
    (wall + shelf + glass);
  const kelvin = seenC + ZERO_C_IN_K;
  const radiationWPerM2K = 4 * SHEATH_EMISSIVITY * STEFAN_BOLTZMANN * kelvin * kelvin * kelvin;
  const gasWPerM2K = LEE_RATIO * plant.stirringWPerM2K();
  return (
    (gasWPerM2K * plant.celsius('gas', spec.heightRatio) + radiationWPerM2K * seenC) / (gasWPerM2K + radiationWPerM2K)
  );
}

export function controllerCouple(
  spec: ControllerCoupleSpec,
  plant: CoupleSurroundings,
  random: SeededRandom,
): OwnCouple {
  let state: ControllerCouple = { is: 'good' };
  let tipC = surroundingsC(spec, plant);
  return {
    is(now) {
      state = now;
    },
    step(durationS) {
      // Slipped out, the tip sits that far towards the cold end of its hole in the wall.
      const insideC = surroundingsC(spec, plant);
      const aroundC = state.is === 'slipped' ? insideC + state.outRatio * (plant.roomC() - insideC) : insideC;
      tipC += ((aroundC - tipC) * durationS) / (spec.lagS + durationS);
    },
    read() {
      // A random number whatever the state, so that a mishap does not change all later noise.
      const noiseC = spec.noiseC * random.gaussian();
      if (state.is === 'broken') return null;
      const shownC = tipC + spec.trimC + noiseC + (state.is === 'off' ? state.byC : 0);
      return Math.round(Math.round(shownC / spec.stepC) * spec.stepC * 1000) / 1000;
    },
  };
}
