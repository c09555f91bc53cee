/**
 * Where the way of the temperature has lately bent: a valve turned, a flame out, a relay stuck, a lid opened. Found as the
 * hinge that explains the last readings best: a straight way up to an instant, and another pace since.
 */
import type { Trace } from './trace.ts';

export interface Turn {
  /** How long before the last bin the hinge is, in seconds. */
  readonly agoS: number;
  readonly atMs: number;
  /** The pace before, the pace since, and the bend between them with its standard error, °C/s. */
  readonly beforePerS: number;
  readonly sincePerS: number;
  readonly bendPerS: number;
  readonly bendSigmaPerS: number;
  /** Where the kiln was at the hinge, and how far the last bins are off the way continued, °C. */
  readonly fromC: number;
  readonly offC: number;
}

/** Hinges that are tried, in seconds before the last bin. */
const TRIED_S = [8, 12, 16, 22, 30, 40, 52, 66, 82, 100, 125, 155];
/** The way before is taken over this, longer where readings are sparse. */
const BASE_S = 120;
const BASE_BINS = 5;
/** Wobble of the way that noise does not explain: currents, a relay's ripple, the hand's waves. °C over half a minute; from memory. */
const WOBBLE_C = 0.12;

/**
 * The bends of the last minutes that stand out most: of all, upwards, and downwards; null where there is none. A corner of
 * the plan, two minutes old, bends the way more than a relay does that has stuck a moment ago, and must not hide it.
 */
export interface Turns {
  readonly most: Turn | null;
  readonly up: Turn | null;
  readonly down: Turn | null;
}

/** How far it has gone up (`way` 1) or down (-1) since it bent, °C: as its pace says, and no more than it shows. */
export function wentC({ agoS, fromC, sincePerS }: Turn, way: 1 | -1, noiseC: number, nowC: number): number {
  return Math.min(way * sincePerS * agoS, way * (nowC - fromC) + 2 * noiseC);
}

export const NO_TURNS: Turns = { most: null, up: null, down: null };

export function findTurns(trace: Trace): Turns {
  if (trace.bins.length < BASE_BINS + 2) return NO_TURNS;
  let up: Turn | null = null;
  let down: Turn | null = null;
  let upZ = 0;
  let downZ = 0;
  for (const triedS of TRIED_S) {
    const turn = hingeAt(trace, triedS);
    if (turn === null) continue;
    const z = turn.bendPerS / turn.bendSigmaPerS;
    if (z > upZ) {
      upZ = z;
      up = turn;
    } else if (z < downZ) {
      downZ = z;
      down = turn;
    }
  }
  return { most: upZ > -downZ ? up : down, up, down };
}

function hingeAt(trace: Trace, agoS: number): Turn | null {
  const { bins, noiseC } = trace;
  const last = bins[bins.length - 1];
  if (last === undefined) return null;
  const hingeMs = last.atMs - agoS * 1000;
  let i = bins.length - 1;
  // What came since, from the end back to the hinge.
  let sinceCount = 0;
  let sinceWeight = 0;
  let sumUU = 0;
  let sumUC = 0;
  let sumU = 0;
  for (; i >= 0; i--) {
    const bin = bins[i];
    if (bin === undefined || bin.atMs <= hingeMs) break;
    const u = (bin.atMs - hingeMs) / 1000;
    const w = bin.count;
    sinceCount++;
    sinceWeight += w;
    sumU += w * u;
    sumUU += w * u * u;
    sumUC += w * u * (bin.celsius - last.celsius);
  }
  if (sinceCount < 2) return null;
  // The way before, by least squares with the hinge as its origin.
  let baseCount = 0;
  let n = 0;
  let sumT = 0;
  let sumC = 0;
  let sumTT = 0;
  let sumTC = 0;
  for (; i >= 0; i--) {
    const bin = bins[i];
    if (bin === undefined) break;
    const t = (bin.atMs - hingeMs) / 1000;
    if (t < -BASE_S && baseCount >= BASE_BINS) break;
    if (t < -4 * BASE_S) break;
    const c = bin.celsius - last.celsius;
    const w = bin.count;
    baseCount++;
    n += w;
    sumT += w * t;
    sumC += w * c;
    sumTT += w * t * t;
    sumTC += w * t * c;
  }
  if (baseCount < BASE_BINS) return null;
  const spread = sumTT - (sumT * sumT) / n;
  if (spread <= 0) return null;
  const beforePerS = (sumTC - (sumT * sumC) / n) / spread;
  const atHingeC = sumC / n - (beforePerS * sumT) / n;
  // The bend that fits what came since: deviations from the way continued, through the hinge.
  const bendPerS = (sumUC - atHingeC * sumU - beforePerS * sumUU) / sumUU;
  // What scatters is a bin: readings in it do not make it surer by themselves.
  const perBin = n / baseCount;
  const slopeSigma = noiseC * Math.sqrt(perBin / spread);
  const hingeSigmaC = noiseC * Math.sqrt(1 / baseCount + ((sumT / n) ** 2 * perBin) / spread);
  const wobblePerS = WOBBLE_C / Math.max(agoS, 8);
  const bendSigmaPerS = Math.sqrt(
    (noiseC ** 2 * (sinceWeight / sinceCount)) / sumUU +
      ((hingeSigmaC * sumU) / sumUU) ** 2 +
      slopeSigma ** 2 +
      wobblePerS ** 2,
  );
  return {
    agoS,
    atMs: hingeMs,
    beforePerS,
    sincePerS: beforePerS + bendPerS,
    bendPerS,
    bendSigmaPerS,
    fromC: last.celsius + atHingeC,
    offC: bendPerS * agoS,
  };
}
