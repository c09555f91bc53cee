/**
 * What kilns and their load are made of: heat capacity and conductivity with the temperature.
 *
 * The bricks are those of the VDI Heat Atlas (2nd edition 2010, refractories: L1260, L1400, L1540, fireclay), given
 * there from 400 to 1200 °C and read in a transcription in a public library of heat transfer. Their heat at 20 °C is
 * that of kaolin insulating brick and fireclay brick in a materials database (774 and 753 J/(kg K), read there).
 * Below 400 °C the conductivity goes on in the line of the first two points: from memory, for want of figures.
 */
import { type Curve, curve } from './curve.ts';

export interface Material {
  readonly densityKgPerM3: number;
  readonly heatJPerKgK: Curve;
  readonly conductivityWPerMK: Curve;
}

type Points = readonly (readonly [celsius: number, value: number])[];

export function material(densityKgPerM3: number, heat: Points, conductivity: Points): Material {
  return { densityKgPerM3, heatJPerKgK: curve(heat), conductivityWPerMK: curve(conductivity) };
}

const ATLAS_C = [400, 600, 800, 1000, 1200] as const;
type Five = readonly [number, number, number, number, number];

function atlasBrick(densityKgPerM3: number, coldHeat: number, heat: Five, conductivity: Five): Material {
  const points = (values: Five): Points => ATLAS_C.map((c, i) => [c, values[i] as number] as const);
  const coldConductivity = conductivity[0] - 2 * (conductivity[1] - conductivity[0]);
  return material(densityKgPerM3, [[20, coldHeat], ...points(heat)], [[0, coldConductivity], ...points(conductivity)]);
}

/** Insulating brick for 1260 °C. VDI Heat Atlas, L1260. */
export const softBrick = atlasBrick(490, 774, [942, 979, 1002, 1017, 1033], [0.14, 0.16, 0.18, 0.2, 0.22]);
/** Insulating brick for 1400 °C: heavier, conducts twice as well. VDI Heat Atlas, L1400. */
export const firmBrick = atlasBrick(790, 774, [954, 994, 1018, 1034, 1050], [0.27, 0.3, 0.32, 0.34, 0.36]);
/** Insulating brick for 1540 °C. VDI Heat Atlas, L1540. */
export const heavySoftBrick = atlasBrick(890, 774, [979, 1026, 1054, 1075, 1096], [0.32, 0.35, 0.38, 0.41, 0.43]);
/** Hard firebrick: flame baffle, burner block. VDI Heat Atlas, fireclay. */
export const denseBrick = atlasBrick(2150, 753, [956, 997, 1021, 1037, 1054], [1.05, 1.1, 1.15, 1.18, 1.22]);

const FIBRE_C = [0, 100, 200, 300, 400, 500, 600, 700, 800, 900, 1000, 1100, 1200] as const;

/**
 * Blanket of alkaline-earth silicate fibre, 128 kg/m³: radiation between the fibres makes it conduct ever better.
 * 0.035 + 1.0e-4 T + 1.5e-7 T² W/(m K): the sizing note of a heat store (2026), read in a public repository.
 * Heat: from memory.
 */
export const fibre = material(
  128,
  [
    [20, 800],
    [400, 980],
    [1000, 1130],
  ],
  FIBRE_C.map((c) => [c, 0.035 + 1.0e-4 * c + 1.5e-7 * c * c] as const),
);

/** Board of calcium silicate behind the bricks. From memory. */
export const backingBoard = material(
  260,
  [
    [20, 840],
    [600, 1030],
  ],
  [
    [0, 0.055],
    [200, 0.068],
    [400, 0.087],
    [600, 0.112],
    [800, 0.145],
  ],
);

/** Kiln shelf and props of cordierite and mullite. From memory. */
export const cordierite = material(
  1900,
  [
    [20, 780],
    [400, 1000],
    [1000, 1180],
  ],
  [
    [20, 1.7],
    [1000, 1.4],
  ],
);

/**
 * Window glass below its softening: 2500 kg/m³, 720 J/(kg K) and 1.0 W/(m K) at room temperature (EN 572, read on
 * secondary pages); hot: 1100 to 1250 J/(kg K) at 500 to 600 °C and 1.1 W/(m K) at 500 °C, from memory.
 */
export const sodaLimeGlass = material(
  2500,
  [
    [20, 720],
    [200, 930],
    [400, 1060],
    [560, 1180],
    [700, 1250],
  ],
  [
    [20, 1],
    [500, 1.1],
    [700, 1.2],
  ],
);
