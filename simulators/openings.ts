/** Air that moves through a kiln's openings because hot air is lighter. */

const GRAVITY = 9.81;
/** Air at ordinary pressure: so many kg K a cubic metre. */
const AIR_KG_K_PER_M3 = 353;
const ZERO_C_IN_K = 273.15;

/**
 * Air that changes places through an upright opening, kg/s: a third of the orifice flow on each half of its height,
 * hot out above, cold in below. Form and the coefficient 0.6 from memory (natural exchange through a doorway).
 */
export function doorwayKgPerS(openM2: number, heightM: number, insideC: number, roomC: number): number {
  if (openM2 <= 0 || insideC <= roomC) return 0;
  const insideK = insideC + ZERO_C_IN_K;
  const meanK = (insideK + roomC + ZERO_C_IN_K) / 2;
  const airKgPerM3 = AIR_KG_K_PER_M3 / meanK;
  return (0.6 / 3) * openM2 * airKgPerM3 * Math.sqrt((GRAVITY * heightM * (insideC - roomC)) / meanK);
}

/**
 * Air that changes places through a level opening in the roof, kg/s: hot and cold must pass each other in the same
 * hole, so much less than through a door. 0.055 A^(5/4) √(g Δρ/ρ): form and coefficient from memory (Epstein 1988).
 */
export function hatchKgPerS(openM2: number, insideC: number, roomC: number): number {
  if (openM2 <= 0 || insideC <= roomC) return 0;
  const meanK = (insideC + roomC) / 2 + ZERO_C_IN_K;
  const airKgPerM3 = AIR_KG_K_PER_M3 / meanK;
  const acrossM2 = openM2 * Math.sqrt(Math.sqrt(openM2));
  return 0.055 * acrossM2 * airKgPerM3 * Math.sqrt((GRAVITY * (insideC - roomC)) / meanK);
}

/** Gaps and ports leak with the draught; figures for them are given at this temperature in a room at 20 °C. */
const LEAKS_ARE_GIVEN_AT_C = 600;

/** Share of the leak at 600 °C that passes at another temperature. */
export function draughtRatio(insideC: number, roomC: number): number {
  if (insideC <= roomC) return 0;
  const given = (LEAKS_ARE_GIVEN_AT_C - 20) / (LEAKS_ARE_GIVEN_AT_C + ZERO_C_IN_K);
  return Math.sqrt((insideC - roomC) / (insideC + ZERO_C_IN_K) / given);
}

/** Through a small hole with gaps elsewhere to let the air in, kg/s. Orifice coefficient 0.6 from memory. */
export function spyholeKgPerS(openM2: number, heightM: number, insideC: number, roomC: number): number {
  if (openM2 <= 0 || insideC <= roomC) return 0;
  const insideK = insideC + ZERO_C_IN_K;
  const airKgPerM3 = AIR_KG_K_PER_M3 / insideK;
  const lift = (insideC - roomC) / (roomC + ZERO_C_IN_K);
  // The hole takes the pressure of half the chamber's height, the gaps the other half.
  return 0.6 * openM2 * airKgPerM3 * Math.sqrt(GRAVITY * heightM * lift);
}
