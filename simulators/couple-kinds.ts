/** Couples as they are sold: how late each kind shows what is round it. */
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';
import type { CoupleSpec } from './thermocouple.ts';

interface Range {
  readonly least: number;
  readonly most: number;
}

export interface CoupleKind {
  readonly diameterMm: number;
  /** First-order lag of tip or sheath where it exchanges `lagAtWPerM2K`. */
  readonly lagS: Range;
  readonly lagAtWPerM2K: number;
  /** Of the bead behind the sheath, at 600 °C. */
  readonly beadLagS?: Range;
  /** Against a wall in the same gas. */
  readonly gasRatio: number;
}

/**
 * Lags of mineral-insulated couples: a maker's table of guide values in air, t50 and t90 by diameter (a cable maker,
 * "Ansprechzeiten", junction insulated: 1.5 mm 8 and 25 s, 3 mm 23 and 80 s, 6 mm 60 and 200 s). t90 ÷ t50 is 3.1 to
 * 3.5 there, 3.3 for one lag, so one lag it is: 0.434 × t90. The same figures stand in other makers' tables, for air at
 * 2 m/s. What they exchanged then follows from diameter and heat capacity, 3 MJ/(m³ K) through steel and oxide (from
 * memory): 3 MJ/(m³ K) × diameter ÷ 4 ÷ lag; it agrees with a cylinder across such a wind to about a third.
 *
 * Bare bead: a table by an oven profiler's maker, beads of 0.25 and 0.5 mm 1 and 4 s in still air, thus by the square.
 *
 * Ceramic sheaths: computed, from memory. Alumina of 4 MJ/(m³ K): 8 mm outside, 5 mm inside, rod of 4 mm; and 15 mm
 * outside, 10 mm inside to 24 and 18 mm, rod of 5.5 to 8.5 mm; in still gas at 600 °C. Workshop practice says one to
 * three minutes for the thick one altogether.
 *
 * Still gas round a thin cylinder: Nusselt's number about 1 to 1.4, so 17, 10 and 6 W/(m² K) for 1.5, 3 and 6 mm, 47
 * for the bead, where a wall has 5. From memory.
 */
export const coupleKinds = {
  'bare bead 0.8 mm': { diameterMm: 0.8, lagS: { least: 7, most: 13 }, lagAtWPerM2K: 52, gasRatio: 9.5 },
  'mineral-insulated 1.5 mm': { diameterMm: 1.5, lagS: { least: 9.5, most: 12.5 }, lagAtWPerM2K: 103, gasRatio: 3.5 },
  'mineral-insulated 3 mm': { diameterMm: 3, lagS: { least: 30, most: 39 }, lagAtWPerM2K: 65, gasRatio: 2 },
  'mineral-insulated 6 mm': { diameterMm: 6, lagS: { least: 76, most: 98 }, lagAtWPerM2K: 52, gasRatio: 1.2 },
  'thin ceramic sheath': {
    diameterMm: 8,
    lagS: { least: 40, most: 60 },
    lagAtWPerM2K: 126,
    beadLagS: { least: 12, most: 25 },
    gasRatio: 1,
  },
  'thick ceramic sheath': {
    diameterMm: 20,
    lagS: { least: 45, most: 80 },
    lagAtWPerM2K: 126,
    beadLagS: { least: 50, most: 100 },
    gasRatio: 1,
  },
} satisfies Readonly<Record<string, CoupleKind>>;

export type CoupleKindName = keyof typeof coupleKinds;

export type LagSpec = Pick<CoupleSpec, 'lagS' | 'lagAtWPerM2K' | 'beadLagS' | 'gasRatio'>;

/** One couple of that kind, its lags drawn evenly from the kind's range. Takes two random numbers. */
export function drawLag(name: CoupleKindName, random: SeededRandom): LagSpec {
  const kind: CoupleKind = coupleKinds[name];
  const draw = (range: Range): number => range.least + random.next() * (range.most - range.least);
  const lagS = draw(kind.lagS);
  const beadLagS = draw(kind.beadLagS ?? { least: 0, most: 0 });
  return {
    lagS,
    lagAtWPerM2K: kind.lagAtWPerM2K,
    gasRatio: kind.gasRatio,
    ...(kind.beadLagS !== undefined && { beadLagS }),
  };
}
