/**
 * A gas kiln whose flame has just been shut, and whose damper, bung or vent stands open: it falls from its top as no shut
 * kiln does. A couple that saw the flame falls far at once in any kiln, so that only what goes on after that says something.
 */
import { perSecond, secondsBetween } from '../numbers/units.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import type { RateLimit } from '../plan/schedule.ts';
import { celsiusAgo, latelyLine, type Trace, type TraceLine, traceLine, traceSpanS } from './trace.ts';

/** The fall began where over so many seconds it was less than this share as steep as now; no longer ago than the last. Ours. */
const BEGAN_OVER_S = 18;
const BEGAN_RATIO = 0.5;
const BEGAN_WITHIN_S = 300;
/** A couple has lost what the flame gave it after so long, a sheathed one most of it. From simulated firings. */
const FLAME_GONE_S = 48;
/** Over so short an end of it. Ours. */
const END_S = 21;
/**
 * What still falls so fast at the end of that, °C/h, cools glass by more than 40 °C in two minutes. From simulated firings:
 * 1550 and less with all shut, 1740 and more with a damper wide open.
 */
const CHILLS_CPERH = 1640;
/**
 * The share of its °C in an hour that no shut gas kiln sheds over a minute, once the flame is forgotten. From simulated
 * firings: 1.66 and less in some two hundred shut ones, 1.74 and more in those left open.
 */
const OPEN_RATIO = 1.7;
const MINUTE_S = 60;
const SPARSE_S = 150;
/** What was told as open stays so while it sheds more than this share. Ours. */
const STILL_OPEN_RATIO = 1.2;

/**
 * What a plan writes for its fall: a shut kiln falls by it, so far as a couple can tell. Here is judged the pace over five
 * minutes, of which half may be still to come, once the couple has lost what the flame gave it; and after some minutes the
 * pace over half of that, which a look or a draught does not make. So many times what is written is beyond it.
 * From simulated firings: 1.1 and less in some hundred and fifty shut kilns, 1.2 and more with a damper left open.
 */
const BEYOND_RATIO = 1.15;
/**
 * Elements fall faster than the chamber for some minutes, and their couple with them; then walls alone are at work. From
 * simulated firings: 1.15 and less in those minutes in some hundred shut kilns, 1.02 and less, by more than chance, after them.
 */
const ELECTRIC_AT_FIRST_RATIO = 1.25;
const ELECTRIC_RATIO = 1.05;
const AHEAD_S = 150;
const SETTLED_S = 300;
/** Its beginning is looked for over so many seconds: over fewer, noise is as steep. Ours. */
const BEGINS_OVER_S = 45;

/** How fast it falls by now, where it will so fall for five minutes faster than is written for it; null where it will not. */
export function fallBeyond(
  trace: Trace,
  { fromC, toC, maxCPerH }: RateLimit,
  heat: KilnSetup['heat'],
): TraceLine | null {
  const nowC = trace.bins[trace.bins.length - 1]?.celsius;
  const over = latelyLine(trace);
  if (nowC === undefined || over === null || nowC < toC || over.perS >= 0) return null;
  const fellS = fallsForS(trace, over.perS, BEGINS_OVER_S) ?? traceSpanS(trace);
  if (fellS < AHEAD_S) return null;
  const long = traceLine(trace, AHEAD_S);
  const lately = fellS >= SETTLED_S && long !== null && long.perS > over.perS ? long : over;
  const surePerS = -lately.perS - (heat === 'electric' ? lately.sigmaPerS : 0);
  const perS = Math.min(surePerS, fiveMinutesPerS(trace, surePerS));
  if (perS <= 0) return null;
  const therePerS = nowC > fromC ? laterPerS(perS, fellS, nowC - fromC) : perS;
  return therePerS > perSecond(beyondRatio(heat, fellS) * maxCPerH) ? lately : null;
}

function beyondRatio(heat: KilnSetup['heat'], fellS: number): number {
  if (heat === 'gas') return BEYOND_RATIO;
  return fellS < SETTLED_S ? ELECTRIC_AT_FIRST_RATIO : ELECTRIC_RATIO;
}

/** What walls shed that were heated through grows less as one over the root of the time: the pace so many °C further down. */
function laterPerS(perS: number, fellS: number, belowC: number): number {
  return perS / (1 + belowC / (2 * perS * fellS));
}

/** The pace over the last half of five minutes, and over the next if it goes on as now. */
function fiveMinutesPerS(trace: Trace, perS: number): number {
  const nowC = trace.bins[trace.bins.length - 1]?.celsius ?? 0;
  const thenC = celsiusAgo(trace, AHEAD_S) ?? nowC;
  return ((thenC - nowC) / AHEAD_S + perS) / 2;
}

/** How fast it falls by now, as if it stood open; null where it does not. */
export function openFall(trace: Trace): TraceLine | null {
  const last = trace.bins[trace.bins.length - 1];
  const end = traceLine(trace, END_S);
  if (last === undefined) return null;
  if (end !== null && isFall(end, 2, CHILLS_CPERH) && hasFallenFor(trace, end.perS, FLAME_GONE_S)) return end;
  const over = latelyLine(trace);
  const overS = traceLine(trace, MINUTE_S) === null ? SPARSE_S : MINUTE_S;
  if (over === null || !isFall(over, 1, OPEN_RATIO * last.celsius)) return null;
  return hasFallenFor(trace, over.perS, FLAME_GONE_S + overS) ? over : null;
}

/** Whether what fell so goes on: ever slower, as all that cools, but faster than a shut kiln. */
export function stillFallsOpen(trace: Trace): boolean {
  const last = trace.bins[trace.bins.length - 1];
  const over = latelyLine(trace);
  return last !== undefined && over !== null && isFall(over, 0, STILL_OPEN_RATIO * last.celsius);
}

function isFall({ perS, sigmaPerS }: TraceLine, sigmas: number, cPerH: number): boolean {
  return -perS - sigmas * sigmaPerS > perSecond(cPerH);
}

/** It has fallen about so for at least so long, and hardly fell before, not long ago. */
function hasFallenFor(trace: Trace, perS: number, leastS: number): boolean {
  const fellS = fallsForS(trace, perS, BEGAN_OVER_S);
  return fellS !== null && fellS >= leastS && fellS <= BEGAN_WITHIN_S;
}

/** How long ago it was last, over so many seconds, less than half as steep; null where the trace does not go back so far. */
function fallsForS({ bins }: Trace, perS: number, overS: number): number | null {
  const lastMs = bins[bins.length - 1]?.atMs ?? 0;
  let before = bins.length - 1;
  for (let i = bins.length - 1; i >= 0; i--) {
    const bin = bins[i];
    if (bin === undefined) break;
    while (before >= 0 && secondsBetween(bins[before]?.atMs ?? 0, bin.atMs) < overS) before--;
    const then = bins[before];
    if (then === undefined) break;
    const pacePerS = (bin.celsius - then.celsius) / secondsBetween(then.atMs, bin.atMs);
    if (pacePerS > BEGAN_RATIO * perS) return secondsBetween(bin.atMs, lastMs);
  }
  return null;
}
