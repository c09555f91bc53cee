/**
 * What kilns and their load are made of. All figures are from memory, of the order that makers' sheets and textbooks
 * give for such stuff; none belongs to a named product.
 */
export interface Material {
  readonly densityKgPerM3: number;
  /** J/(kg K) at 0 °C, and its growth per °C. */
  readonly heatAtZeroJPerKgK: number;
  readonly heatGrowthJPerKgK2: number;
  /** W/(m K) at 0 °C, and its growth per °C. */
  readonly conductivityAtZeroWPerMK: number;
  readonly conductivityGrowthWPerMK2: number;
}

function material(
  densityKgPerM3: number,
  heat: readonly [number, number],
  conductivity: readonly [number, number],
): Material {
  return {
    densityKgPerM3,
    heatAtZeroJPerKgK: heat[0],
    heatGrowthJPerKgK2: heat[1],
    conductivityAtZeroWPerMK: conductivity[0],
    conductivityGrowthWPerMK2: conductivity[1],
  };
}

/** Insulating brick for 1260 °C. From memory. */
export const softBrick = material(500, [850, 0.35], [0.11, 0.0001]);
/** Blanket of alumina-silica fibre, 128 kg/m³: its conductivity grows steeply. From memory. */
export const fibre = material(128, [800, 0.45], [0.035, 0.00018]);
/** Board behind the bricks. From memory. */
export const backingBoard = material(260, [850, 0.2], [0.06, 0.00008]);
/** Hard firebrick: flame baffle, burner block. From memory. */
export const denseBrick = material(2100, [800, 0.35], [1.2, 0.0002]);
/** Kiln shelf and props of cordierite. From memory. */
export const cordierite = material(1900, [780, 0.5], [1.6, 0]);
/** Window glass below its softening. From memory. */
export const sodaLimeGlass = material(2500, [790, 0.55], [0.9, 0.0006]);

export function conductivityWPerMK(of: Material, celsius: number): number {
  return of.conductivityAtZeroWPerMK + of.conductivityGrowthWPerMK2 * celsius;
}

/** Capacity of a mass of it, as the heat balance takes it. */
export function capacityOf(of: Material, massKg: number): { atZeroJPerK: number; growthJPerK2: number } {
  return { atZeroJPerK: of.heatAtZeroJPerKgK * massKg, growthJPerK2: of.heatGrowthJPerKgK2 * massKg };
}
