/**
 * How the glass comes after the couple. What harms it and its medium is its own pace: air, flame and couple leap up with a
 * step of the valve or a round of the relay, and the glass follows in its own time, the later the thicker and the colder.
 *
 * A plate at G among walls at T takes heat by radiation and air: C dG/dt = h (T - G), h = e s (T² + G²)(T + G) + a, in kelvin.
 * Source: exchange of radiation between two bodies, Stefan-Boltzmann (any text on heat transfer; from memory).
 */
import type { TimedC } from '../numbers/line-fit.ts';
import { secondsBetween } from '../numbers/units.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import type { Schedule } from '../plan/schedule.ts';
import { binAgo, extendTrace, NO_TRACE, type Trace } from './trace.ts';

const KELVIN_C = 273.15;
const STEFAN_BOLTZMANN = 5.67e-8;
/** Of glass among the walls of a kiln. From memory. */
const EMISSIVITY = 0.9;
/** Air that hardly moves, W/(m² K). From memory. */
const AIR_W = 8;
/** Soda-lime glass: 2500 kg/m³ of 900 J/(kg K). From memory. */
const J_PER_M3_K = 2500 * 900;
/** Where nobody says how thick it is: the thinnest that is painted, which follows soonest. Common practice, no source. */
const USUAL_MM = 3;

/** The thickest piece of this firing, mm: what its schedule says comes before what the kiln's file says. */
export function plateMmOf(kiln: KilnSetup, schedule: Schedule | null): number | undefined {
  return schedule?.plateMm ?? kiln.plateMm;
}

/**
 * In how many seconds a plate makes up all but 1/e of its distance. It lies on a shelf that comes as late as itself: one
 * face takes heat.
 */
export function glassLagS(coupleC: number, glassC: number, plateMm = USUAL_MM): number {
  const t = coupleC + KELVIN_C;
  const g = glassC + KELVIN_C;
  const wPerM2K = EMISSIVITY * STEFAN_BOLTZMANN * (t * t + g * g) * (t + g) + AIR_W;
  return (J_PER_M3_K * (plateMm / 1000)) / wPerM2K;
}

/** Carries the glass on to the moment of the couple's reading. */
export function followGlass(glass: Trace, couple: TimedC, plateMm?: number): Trace {
  const last = glass.bins[glass.bins.length - 1];
  if (last === undefined) return extendTrace(NO_TRACE, couple);
  const passedS = Math.max((couple.atMs - last.atMs) / 1000, 0);
  const shareLeft = Math.exp(-passedS / glassLagS(couple.celsius, last.celsius, plateMm));
  const celsius = couple.celsius + (last.celsius - couple.celsius) * shareLeft;
  return extendTrace(glass, { atMs: couple.atMs, celsius });
}

/** Where the glass is by now, as it is reckoned; null before the first reading. */
export function glassNowC({ bins }: Trace): number | null {
  return bins[bins.length - 1]?.celsius ?? null;
}

/** The couple as it is by now, and the pace at which it is taken to go on. */
export interface CoupleCourse extends TimedC {
  readonly perS: number;
}

/**
 * Where a plate that is at `glassC` now will be in `inS`, if the couple goes on at its pace from `coupleC`: what follows a
 * steady climb in its own time comes to lag behind it by pace times lag. Source: first-order lag behind a ramp (any text on
 * control engineering).
 */
function glassAheadC(glassC: number, coupleC: number, perS: number, inS: number, plateMm?: number): number {
  const lagS = glassLagS(coupleC, glassC, plateMm);
  const comesToC = perS * lagS;
  const behindC = comesToC + (coupleC - glassC - comesToC) * Math.exp(-inS / lagS);
  return coupleC + perS * inS - behindC;
}

/**
 * The mean pace of the glass over `overS` as it will be in `inS`, at most as long, if the couple goes on at its pace,
 * °C/s; null where it has not been followed for so long.
 */
export function glassPaceAhead(
  glass: Trace,
  couple: CoupleCourse,
  { overS, inS, plateMm }: { readonly overS: number; readonly inS: number; readonly plateMm?: number | undefined },
): number | null {
  const last = glass.bins[glass.bins.length - 1];
  const first = binAgo(glass, overS - inS);
  if (last === undefined || first === null) return null;
  // The glass is followed by whole bins, so it is a little behind the couple's last reading.
  const sinceS = secondsBetween(last.atMs, couple.atMs);
  const aheadC = glassAheadC(last.celsius, couple.celsius - couple.perS * sinceS, couple.perS, sinceS + inS, plateMm);
  return (aheadC - first.celsius) / (secondsBetween(first.atMs, couple.atMs) + inS);
}
