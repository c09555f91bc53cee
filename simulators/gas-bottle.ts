/**
 * A propane bottle that empties and frosts. Gas leaves by boiling off, which cools the liquid; the room warms it
 * through as much of the steel as is wet. The less is left, the less is wet, the colder the liquid and the lower its
 * pressure, until the regulator gets less than it is set to: the flame sinks over half an hour before it is out.
 * Figures from memory.
 */
export interface BottleSpec {
  readonly gasKg: number;
  /** Heat from the room through the steel while the bottle is full, W/K. */
  readonly wetWPerK: number;
  /** What the regulator lets out, bar above the air's. */
  readonly regulatorBar: number;
}

/** The bottle of 11 kg that a studio has. */
export const elevenKgBottle: BottleSpec = { gasKg: 11, wetWPerK: 4, regulatorBar: 1.5 };

export interface GasBottle {
  /** Gas it still delivers, as a share of a full one's. */
  ratio(): number;
  /** @param drawnKgPerS what the burner takes */
  step(drawnKgPerS: number, roomC: number, durationS: number): void;
  leftKg(): number;
  liquidC(): number;
}

const BOILS_OFF_J_PER_KG = 370e3;
const LIQUID_J_PER_KG_K = 2500;
const STEEL_J_PER_K = 5000;
/** Ice outside keeps heat away, below 0 °C. */
const FROST_RATIO = 0.6;
/** Share of the steel that stays wet to the last. */
const LAST_WET_RATIO = 0.06;

/** Propane's vapour pressure above the air's, bar: 1.4 at -20, 3.7 at 0, 7.4 at 20 °C, a parabola through them. */
export function vapourBar(celsius: number): number {
  const t = Math.max(-42, celsius);
  return 3.7 + t * (0.15 + t * 0.00175);
}

export function gasBottle(spec: BottleSpec, startC: number): GasBottle {
  let leftKg = spec.gasKg;
  let liquidC = startC;
  return {
    ratio() {
      if (leftKg <= 0) return 0;
      const bar = vapourBar(liquidC);
      // The jet takes gas as the square root of its pressure.
      return bar >= spec.regulatorBar ? 1 : Math.sqrt(Math.max(0, bar) / spec.regulatorBar);
    },
    step(drawnKgPerS, roomC, durationS) {
      const drawnKg = Math.min(leftKg, drawnKgPerS * durationS);
      leftKg -= drawnKg;
      const wetRatio = LAST_WET_RATIO + (1 - LAST_WET_RATIO) * (leftKg / spec.gasKg);
      const warmsWPerK = spec.wetWPerK * wetRatio * (liquidC < 0 ? FROST_RATIO : 1);
      const holdsJPerK = leftKg * LIQUID_J_PER_KG_K + STEEL_J_PER_K * wetRatio;
      const takenJ = drawnKg * BOILS_OFF_J_PER_KG;
      liquidC =
        (holdsJPerK * liquidC + warmsWPerK * durationS * roomC - takenJ) / (holdsJPerK + warmsWPerK * durationS);
    },
    leftKg: () => leftKg,
    liquidC: () => liquidC,
  };
}
