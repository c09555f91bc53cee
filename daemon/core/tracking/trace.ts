/**
 * The ruling sensor's way of the last minutes, in bins of a few seconds: dense readings become quiet, sparse ones stay as
 * they are, and jitter, doubled and lost readings weigh no more than they should.
 */
import type { TimedC } from '../numbers/line-fit.ts';

export interface TraceBin {
  /** Mean instant and mean temperature of the readings in it. */
  readonly atMs: number;
  readonly celsius: number;
  readonly count: number;
  readonly beganAtMs: number;
}

export interface Trace {
  /** Oldest first; the last one may still be filling. */
  readonly bins: readonly TraceBin[];
  /** Scatter of one bin about its neighbours, °C: standard deviation. */
  readonly noiseC: number;
}

/** No whole number of the usual intervals, so that a little jitter does not decide what falls into which bin. */
const BIN_MS = 3500;
/** A little more than the longest stretch that a rule looks at. */
const KEPT_MS = 16 * 60_000;
/** The front is cut in strides, so that a bin does not cost a copy of a shifted list each time. */
const STRIDE_MS = 5 * 60_000;
/** A readout's last digit is rarely finer; from memory. */
const LEAST_NOISE_C = 0.08;
/** The scatter is learned over about thirty bins. */
const LEARN_RATIO = 1 / 30;
/** So far from the bins before and behind it one is wild: no kiln goes there and back within two readings. Ours. */
const WILD_C = 10;
const WILD_SIGMAS = 8;
/** What is assumed before anything is known. */
const FIRST_NOISE_C = 0.4;

export const NO_TRACE: Trace = { bins: [], noiseC: FIRST_NOISE_C };

export function extendTrace(trace: Trace, reading: TimedC): Trace {
  const { bins } = trace;
  const last = bins[bins.length - 1];
  if (last !== undefined && reading.atMs - last.beganAtMs < BIN_MS) {
    const count = last.count + 1;
    const filled: TraceBin = {
      atMs: last.atMs + (reading.atMs - last.atMs) / count,
      celsius: last.celsius + (reading.celsius - last.celsius) / count,
      count,
      beganAtMs: last.beganAtMs,
    };
    const next = bins.slice();
    next[next.length - 1] = filled;
    return { bins: next, noiseC: trace.noiseC };
  }
  // The same fields in the same order as above: engines read a list of things of one shape twice as fast.
  const next: TraceBin = { atMs: reading.atMs, celsius: reading.celsius, count: 1, beganAtMs: reading.atMs };
  const first = bins[0];
  const isLong = first !== undefined && first.atMs < reading.atMs - KEPT_MS - STRIDE_MS;
  const long = isLong ? bins.filter((b) => b.atMs >= reading.atMs - KEPT_MS) : bins;
  const kept = isWild(trace, next) ? long.slice(0, -1) : long;
  return { bins: [...kept, next], noiseC: learnNoise(trace) };
}

const wildC = (noiseC: number): number => Math.max(WILD_C, WILD_SIGMAS * noiseC);

/** The last bin leapt away from the one before, and the next is back: a wild value, a look through the door. */
function isWild({ bins, noiseC }: Trace, next: TraceBin): boolean {
  const before = bins[bins.length - 2];
  const last = bins[bins.length - 1];
  if (before === undefined || last === undefined) return false;
  const leapC = wildC(noiseC);
  const wentC = last.celsius - before.celsius;
  const cameC = last.celsius - next.celsius;
  return Math.abs(wentC) > leapC && Math.abs(cameC) > leapC && wentC * cameC > 0;
}

/** The last reading has leapt off its way, and where readings are sparse nothing agrees with it yet. */
export function isLoneLeap({ bins, noiseC }: Trace): boolean {
  const before = bins[bins.length - 3];
  const second = bins[bins.length - 2];
  const last = bins[bins.length - 1];
  if (before === undefined || second === undefined || last === undefined) return false;
  const bentC = last.celsius - second.celsius - (second.celsius - before.celsius);
  return last.atMs - second.atMs > 2 * BIN_MS && Math.abs(bentC) > wildC(noiseC);
}

/** From how far each bin lies off the line between its neighbours, which no pace and hardly a bend touches. */
function learnNoise({ bins, noiseC }: Trace): number {
  const a = bins[bins.length - 3];
  const b = bins[bins.length - 2];
  const c = bins[bins.length - 1];
  if (a === undefined || b === undefined || c === undefined || c.atMs <= a.atMs) return noiseC;
  const share = (b.atMs - a.atMs) / (c.atMs - a.atMs);
  const offC = b.celsius - a.celsius - share * (c.celsius - a.celsius);
  // Variance of b and of the two that it is held against.
  const spread = 1 + share * share + (1 - share) * (1 - share);
  // A glitch or a corner teaches little.
  const square = Math.min((offC * offC) / spread, 9 * noiseC * noiseC + LEAST_NOISE_C ** 2);
  return Math.max(Math.sqrt(noiseC * noiseC + LEARN_RATIO * (square - noiseC * noiseC)), LEAST_NOISE_C);
}

export interface TraceLine {
  /** °C/s, and its standard error. */
  readonly perS: number;
  readonly sigmaPerS: number;
  /** The line's value at the later end of its stretch. */
  readonly atEndC: number;
  readonly count: number;
}

/**
 * Several rules ask one trace for the same lines, and again at each tick: a trace never changes, so each is worked out
 * once, for the trace that was asked last.
 */
let askedLast: Trace | null = null;
const linesOfAsked = new Map<number, TraceLine | null>();
/** More seconds than any stretch has. */
const KEY_SPREAD = 100_000;

/**
 * The straight line through the bins from `fromS` to `toS` ago, both counted back from the last bin; null where fewer
 * than three lie there.
 */
export function traceLine(trace: Trace, fromS: number, toS = 0): TraceLine | null {
  if (trace !== askedLast) {
    askedLast = trace;
    linesOfAsked.clear();
  }
  const key = fromS * KEY_SPREAD + toS;
  let line = linesOfAsked.get(key);
  if (line === undefined) {
    line = fitTraceLine(trace, fromS, toS);
    linesOfAsked.set(key, line);
  }
  return line;
}

function fitTraceLine(trace: Trace, fromS: number, toS: number): TraceLine | null {
  const { bins } = trace;
  const last = bins[bins.length - 1];
  if (last === undefined) return null;
  let binCount = 0;
  // Each bin weighs as many readings as it holds: where its borders happen to lie makes no difference.
  let n = 0;
  let sumT = 0;
  let sumC = 0;
  let sumTT = 0;
  let sumTC = 0;
  for (let i = bins.length - 1; i >= 0; i--) {
    const bin = bins[i];
    if (bin === undefined) break;
    const t = (bin.atMs - last.atMs) / 1000;
    if (t < -fromS) break;
    if (t > -toS) continue;
    const c = bin.celsius - last.celsius;
    const w = bin.count;
    binCount++;
    n += w;
    sumT += w * t;
    sumC += w * c;
    sumTT += w * t * t;
    sumTC += w * t * c;
  }
  const spread = sumTT - (sumT * sumT) / n;
  if (binCount < 3 || spread <= 0) return null;
  const perS = (sumTC - (sumT * sumC) / n) / spread;
  return {
    perS,
    sigmaPerS: trace.noiseC / Math.sqrt((spread * binCount) / n),
    atEndC: last.celsius + sumC / n + perS * (-toS - sumT / n),
    count: binCount,
  };
}

/** The line of the last minute, longer where readings are sparse. */
export function latelyLine(trace: Trace): TraceLine | null {
  return traceLine(trace, 60) ?? traceLine(trace, 150);
}

/** As `latelyLine`, of the last moments only. */
export function momentLine(trace: Trace): TraceLine | null {
  return traceLine(trace, 42) ?? traceLine(trace, 100);
}

/** A stretch that is not filled to this share says nothing of its whole length. */
export const FILLED_RATIO = 0.9;

/** As `traceLine` over the last `overS`; null while the trace does not go back so far. */
export function filledLine(trace: Trace, overS: number): TraceLine | null {
  return traceSpanS(trace) >= overS * FILLED_RATIO ? traceLine(trace, overS) : null;
}

/** How long the trace goes back from its last bin, in seconds. */
export function traceSpanS({ bins }: Trace): number {
  const first = bins[0];
  const last = bins[bins.length - 1];
  return first === undefined || last === undefined ? 0 : (last.atMs - first.atMs) / 1000;
}

/** The temperature about `agoS` before the last bin; null where the trace does not go back so far. */
export function celsiusAgo(trace: Trace, agoS: number): number | null {
  return binAgo(trace, agoS)?.celsius ?? null;
}

/** The youngest bin that is at least `agoS` older than the last one; null where the trace does not go back so far. */
export function binAgo({ bins }: Trace, agoS: number): TraceBin | null {
  const last = bins[bins.length - 1];
  if (last === undefined) return null;
  for (let i = bins.length - 1; i >= 0; i--) {
    const bin = bins[i];
    if (bin !== undefined && bin.atMs <= last.atMs - agoS * 1000) return bin;
  }
  return null;
}
