/** What a painter knows of the own kiln after years: the mark that keeps a temperature, and what one mark more does. */
import { type GasKilnSpec, gasKiln } from './gas-kiln.ts';

export interface Feel {
  /** The mark that keeps 660 °C. */
  readonly holdMark: number;
  /** What one mark more does to the climb in the end, °C/h. */
  readonly climbPerMarkCPerH: number;
}

const AT_C = 660;
const LOOK_S = 600;
const LONGEST_S = 12 * 3600;
const HIGHEST_MARK = 10;

/**
 * Found as a painter finds it, by firing: full heat to 660 °C, then the mark at which it neither climbs nor falls.
 * A kiln that does not get there keeps its highest mark.
 */
export function feelOf(spec: GasKilnSpec): Feel {
  const kiln = gasKiln(spec);
  kiln.turn({ control: 'light' });
  kiln.turn({ control: 'damper', openRatio: 0.2 });
  kiln.turn({ control: 'valve', mark: HIGHEST_MARK });
  for (let s = 0; s < LONGEST_S && kiln.celsius('glass') < AT_C; s += 2) kiln.step(2);
  if (kiln.celsius('glass') < AT_C) return { holdMark: HIGHEST_MARK, climbPerMarkCPerH: 40 };
  let mark = HIGHEST_MARK;
  let climbPerMarkCPerH = 60;
  // Each look gives one more pair of mark and climb; a straight line through two of them finds the next.
  let before: { mark: number; climbCPerH: number } | null = null;
  for (let look = 0; look < 8; look++) {
    const fromC = kiln.celsius('glass');
    for (let s = 0; s < LOOK_S; s += 2) kiln.step(2);
    const climbCPerH = ((kiln.celsius('glass') - fromC) / LOOK_S) * 3600;
    if (before !== null && Math.abs(before.mark - mark) > 0.05) {
      const perMark = (climbCPerH - before.climbCPerH) / (mark - before.mark);
      climbPerMarkCPerH = Math.min(200, Math.max(15, perMark));
    }
    before = { mark, climbCPerH };
    // The kiln itself goes on soaking up heat, so he also aims back at the temperature.
    const wantedCPerH = (AT_C - kiln.celsius('glass')) * 3;
    mark = Math.min(HIGHEST_MARK, Math.max(1, mark + (wantedCPerH - climbCPerH) / climbPerMarkCPerH));
    kiln.turn({ control: 'valve', mark });
  }
  return { holdMark: mark, climbPerMarkCPerH };
}
