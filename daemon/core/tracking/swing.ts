/**
 * The rhythm of a kiln: a relay that is on and off, a controller that swings about its plan, a hand's waves. What goes no
 * further than the kiln has gone by itself in the last minutes is no news.
 */
import { secondsBetween } from '../numbers/units.ts';
import { type Trace, type TraceBin, traceLine } from './trace.ts';

export interface Swing {
  /** How far the way went below and above its own straight line, °C; the first is negative. */
  readonly lowestC: number;
  readonly highestC: number;
  /** How far the last reading is off that line continued, °C. */
  readonly nowC: number;
}

/** So many minutes of it are looked at where there are as many, and fewer than the second say nothing. Ours. */
const OVER_S = 840;
const LEAST_S = 270;
/** A controller swings ever less: what is older than this counts less and less, half as much after so much more. Ours. */
const FRESH_S = 420;
const HALF_FORGOTTEN_S = 300;

/**
 * So much further than it has swung by itself in the last minutes is news: the line through a wave leans with where in its
 * round the wave is, and the more the deeper it is. From simulated firings.
 */
const BEYOND_RATIO = 1.5;
const BEYOND_C = 0.5;

/** How far it must go to be further than usual, °C. */
export function beyondC(usualC: number, { noiseC }: Trace): number {
  return BEYOND_RATIO * usualC + Math.max(BEYOND_C, 2 * noiseC);
}

/** Whether it has gone further down than it has by itself. */
export function fallsBeyond(swing: Swing, trace: Trace): boolean {
  return -swing.nowC >= beyondC(-swing.lowestC, trace);
}

/** Whether it has gone further up than it has by itself. */
export function risesBeyond(swing: Swing, trace: Trace): boolean {
  return swing.nowC > beyondC(swing.highestC, trace);
}

/**
 * @param untilS the way since then, in seconds before the last reading, is what is held against it
 * @param sinceS from where on the kiln went one way: the last corner of the plan, the lid
 * @returns null where the way before is too short or too sparse
 */
export function swingBefore(trace: Trace, untilS: number, sinceS: number): Swing | null {
  const { bins } = trace;
  const last = bins[bins.length - 1];
  const fromS = Math.min(sinceS, untilS + OVER_S);
  const line = traceLine(trace, fromS, untilS);
  if (last === undefined || line === null) return null;
  const offC = ({ atMs, celsius }: TraceBin): number =>
    celsius - line.atEndC - line.perS * (untilS - secondsBetween(atMs, last.atMs));
  let lowestC = 0;
  let highestC = 0;
  let coveredS = 0;
  for (let i = bins.length - 1; i >= 0; i--) {
    const bin = bins[i];
    if (bin === undefined) break;
    const agoS = secondsBetween(bin.atMs, last.atMs);
    if (agoS > fromS) break;
    if (agoS < untilS) continue;
    coveredS = agoS - untilS;
    const olderS = Math.max(coveredS - FRESH_S, 0);
    const off = offC(bin) * 0.5 ** (olderS / HALF_FORGOTTEN_S);
    lowestC = Math.min(lowestC, off);
    highestC = Math.max(highestC, off);
  }
  return coveredS < LEAST_S ? null : { lowestC, highestC, nowC: offC(last) };
}
