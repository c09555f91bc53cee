/**
 * A burner fed from a bottle: what flows through valve and jet, what of it burns with the air it gets.
 *
 * Flow goes with the square root of the pressure, and valve and jet lie one behind the other: 1/flow² adds up from
 * both. The valve's marks are spaced evenly in flow for a full bottle and a clean jet, of which the jet takes four
 * fifths of the pressure at mark 10. A bottle that gives less shrinks every mark alike; a clogged jet takes most from
 * the high marks.
 */

/** Propane needs 15.6 kg of air a kg and gives 46.35 MJ. From memory. */
const AIR_PER_FUEL = 15.6;
export const FUEL_J_PER_KG = 46.35e6;
/** Share of the pressure that a clean jet takes at mark 10. From memory, of the order of such burners. */
const JET_PRESSURE_RATIO = 0.8;

export interface BurnerSpec {
  /** Heat of the gas burnt at mark 10 on a full bottle, lower heating value. */
  readonly fullPowerW: number;
  /** Air beyond what the flame needs that its jet draws in, as a share of it. */
  readonly excessAirRatio: number;
  /** How far the damper must be open to let out what the full flame makes; below that it gets too little air. */
  readonly fullFlameDamperRatio: number;
}

/** Share of the full flow. @param mark 0 to 10 */
export function gasFlowRatio(mark: number, bottleRatio: number, jetRatio: number): number {
  if (mark <= 0 || bottleRatio <= 0 || jetRatio <= 0) return 0;
  const open = mark / 10;
  const valve = 1 / (open * open) - JET_PRESSURE_RATIO;
  return bottleRatio / Math.sqrt(valve + JET_PRESSURE_RATIO / (jetRatio * jetRatio));
}

export interface Flame {
  readonly heatW: number;
  /** Burnt gas, air and gas that found no air, all that the burner sends through the chamber. */
  readonly throughKgPerS: number;
}

/** @param flowRatio of the full flow of gas; `lit` or not */
export function flame(spec: BurnerSpec, flowRatio: number, damperRatio: number, lit: boolean): Flame {
  const fullKgPerS = spec.fullPowerW / FUEL_J_PER_KG;
  const fuelKgPerS = fullKgPerS * flowRatio;
  const airPerFuel = AIR_PER_FUEL * (1 + spec.excessAirRatio);
  // What can leave by the flue; a shut damper still leaks a little round its edge.
  const outRatio = 0.1 + (0.9 * damperRatio) / spec.fullFlameDamperRatio;
  const outKgPerS = fullKgPerS * (1 + airPerFuel) * outRatio;
  const airKgPerS = Math.max(0, Math.min(fuelKgPerS * airPerFuel, outKgPerS - fuelKgPerS));
  const burntRatio = fuelKgPerS > 0 ? Math.min(1, airKgPerS / (fuelKgPerS * AIR_PER_FUEL)) : 0;
  return {
    heatW: lit ? fuelKgPerS * FUEL_J_PER_KG * burntRatio : 0,
    throughKgPerS: fuelKgPerS + airKgPerS,
  };
}
