/**
 * A look through the spyhole: cold air is at the couple for some seconds, and what it took off comes back by itself. What
 * comes back so is no heat that anybody let in, whatever its pace; and it comes a little too far where a controller saw the
 * dip too.
 */
import { secondsBetween } from '../numbers/units.ts';
import { beyondC } from './swing.ts';
import { type Trace, traceLine } from './trace.ts';

/** The deepest of it was no longer ago; what dips relay and hand make by themselves shows in the time before. Ours. */
const LOOKED_S = 100;
const USUAL_S = 700;
/** It went down within so long. Common practice, no source. */
const WENT_DOWN_S = 45;
/** A dip is deeper than this, than noise, and than the usual ones. Ours. */
const LEAST_C = 2.5;
const NOISES = 4;
/** By now it has come back by this share. Ours. */
const BACK_RATIO = 0.4;

/** The couple has dipped as it does not by itself, and is on its way back, or just there. */
export function hasLookedIn(trace: Trace): boolean {
  const { bins, noiseC } = trace;
  const last = bins[bins.length - 1];
  const trendPerS = traceLine(trace, USUAL_S / 2, LOOKED_S)?.perS;
  if (last === undefined || trendPerS === undefined) return false;
  let dipC = 0;
  let usualC = 0;
  let backC = 0;
  // How far each bin lies below the one so long before it, had that gone on as the kiln did.
  let before = bins.length - 1;
  for (let i = bins.length - 1; i >= 0; i--) {
    const bin = bins[i];
    if (bin === undefined) break;
    const agoS = secondsBetween(bin.atMs, last.atMs);
    if (agoS > USUAL_S) break;
    while (before > 0 && secondsBetween(bins[before]?.atMs ?? 0, bin.atMs) < WENT_DOWN_S) before--;
    const then = bins[before];
    if (then === undefined) break;
    const belowC = then.celsius + trendPerS * secondsBetween(then.atMs, bin.atMs) - bin.celsius;
    if (agoS > LOOKED_S) usualC = Math.max(usualC, belowC);
    else if (belowC > dipC) {
      dipC = belowC;
      backC = last.celsius - bin.celsius - trendPerS * agoS;
    }
  }
  return dipC > Math.max(LEAST_C, NOISES * noiseC, beyondC(usualC, trace)) && backC > BACK_RATIO * dipC;
}
