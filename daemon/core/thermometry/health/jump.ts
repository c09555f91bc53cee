/** Another figure within seconds, which then stays: the wires touch elsewhere, or a plug has been moved. */
import { clamp, secondsBetween } from '../../numbers/units.ts';
import {
  type Detector,
  type DetectorContext,
  degrees,
  isShown,
  type Judged,
  medianOf,
  type OtherSensor,
  type SensorFault,
  type Shown,
} from './detector.ts';

export interface JumpState {
  readonly last: Shown | null;
  /** The first reading, or the first after a pause. */
  readonly heardSinceMs: number;
  readonly others: readonly OtherSensor[];
  /** °C/s, smoothed, as it was before any leap. */
  readonly ratePerS: number;
  /** How far a reading strays from that pace, on average. */
  readonly noiseC: number;
  /** Readings from which its noise has been learned, as far as that matters. */
  readonly learnedCount: number;
  readonly leap: Leap | null;
  /** Where it was before a leap that went on elsewhere: what comes back there within seconds was a spark of several readings. */
  readonly beforeSpark: Shown | null;
  readonly fault: SensorFault | null;
  /** How far the standing fault leapt, to know its way back. */
  readonly leaptByC: number;
  /** The calm figures of the last seconds, oldest first: a rise may take several readings. */
  readonly calms: readonly Calm[];
  /** The highest calm figure before any leap. */
  readonly peakC: number;
}

/** Where it was, how fast it went, and the others then. */
interface Calm extends Shown {
  readonly ratePerS: number;
  readonly others: readonly OtherSensor[];
}

interface Leap {
  readonly from: Shown;
  readonly to: Shown;
  /** How fast it went before, and the others as it had leapt. */
  readonly ratePerS: number;
  readonly others: readonly OtherSensor[];
  readonly standsCount: number;
}

/**
 * A step that no couple in a kiln makes of itself: from here on, so many times its noise and its own pace. What follows
 * tells it from an opened door and a flame gone out: they bend the way, and go on bending it. Ours, from simulated firings.
 */
const LEAST_C = 12;
const NOISE_RATIO = 8;
const PACE_RATIO = 4;
const NOISE_SHARE = 0.05;
/** Others beside it stand still: they moved by less than this share. */
const BESIDE_RATIO = 0.2;
/** Instruments that smooth their figures take a few seconds over a leap; it grows meanwhile. */
const RISES_S = 8;
const GROWS_S = 10;
/**
 * Elements never heat a kiln that fast, °C/s, nor stop at once; and above all that it ever showed no door that was shut and
 * no power that came back brings it. There a rise needs to stand only so long, or to be taken back by the controller. Ours.
 */
const NEVER_PER_S = 1;
const RISE_STANDS = { forS: 10, count: 2 };
/** Before that a kiln is uneven, and a bead beside an element leaps with each of its strokes. */
const RISE_FROM_C = 150;
/** It goes on from there as it went before, for so long and so many readings. */
const STANDS = { forS: 40, count: 4 };
/**
 * While heat goes in, a fall that stands at once is no door's and no flame's: they go on falling. Of 520 simulated firings
 * none with a door opened or a flame gone out had even one reading that went on from such a fall as before. Ours.
 */
const FALL_STANDS = { forS: 10, count: 2 };
/** By then its noise is known, and two readings that agree are no chance. */
const KNOWN_COUNT = 20;
const STRAYS_RATIO = 0.08;
const STRAYS_NOISE_RATIO = 4;
const STRAYS_C = 1.5;
/** After a pause nothing can be said of a leap, nor while readings may come that were kept back on their way. */
const PAUSE_S = 120;
const AFTER_PAUSE_S = 30;
const BACK_RATIO = 0.35;
/** Others that follow by this share of it have felt the same; and so far from their way it may stray. Ours. */
const FOLLOWS_RATIO = 0.1;
const BESIDE_STRAYS_RATIO = 0.25;
/** Others that have gone on since by this share of it have leapt as well. Ours. */
const LEAPT_TOO_RATIO = 0.5;

export const jump: Detector<JumpState> = {
  begin: {
    last: null,
    heardSinceMs: 0,
    others: [],
    ratePerS: 0,
    noiseC: 0,
    learnedCount: 0,
    leap: null,
    beforeSpark: null,
    fault: null,
    leaptByC: 0,
    calms: [],
    peakC: Number.NEGATIVE_INFINITY,
  },
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    const { last } = state;
    if (last === null || secondsBetween(last.atMs, sample.atMs) > PAUSE_S) {
      return settle({ ...state, heardSinceMs: sample.atMs, leap: null, ratePerS: 0, calms: [] }, sample, context);
    }
    if (sample.atMs <= last.atMs) return { state, fault: state.fault };
    if (state.leap !== null) return followLeap(state, state.leap, sample, context);
    if (comesBack(state, last, sample)) return settle({ ...state, beforeSpark: null, calms: [] }, sample, context);
    const from = leapFrom(state, last, sample, context);
    if (from !== null) {
      const leap = { from, to: sample, ratePerS: from.ratePerS, others: context.others, standsCount: 0 };
      return settle({ ...state, leap }, sample, context);
    }
    const stepS = secondsBetween(last.atMs, sample.atMs);
    const share = clamp(stepS / 60, 0, 1);
    const ratePerS = state.ratePerS + share * ((sample.celsius - last.celsius) / stepS - state.ratePerS);
    const strayC = Math.abs(sample.celsius - last.celsius - state.ratePerS * stepS);
    const noiseC = state.noiseC + NOISE_SHARE * (strayC - state.noiseC);
    const learnedCount = Math.min(state.learnedCount + 1, KNOWN_COUNT);
    const calm = { atMs: sample.atMs, celsius: context.calmC, ratePerS, others: context.others };
    const calms = withCalm(state.calms, calm);
    const peakC = Math.max(state.peakC, context.calmC);
    return settle({ ...state, ratePerS, noiseC, learnedCount, calms, peakC }, sample, context);
  },
};

function settle(state: JumpState, sample: Shown, { others }: DetectorContext): Judged<JumpState> {
  const { heardSinceMs, ratePerS, noiseC, learnedCount, leap, beforeSpark, fault, leaptByC, calms, peakC } = state;
  const known = { ratePerS, noiseC, learnedCount, leap, beforeSpark, fault, leaptByC, calms, peakC };
  return { state: { last: sample, heardSinceMs, others, ...known }, fault };
}

function withCalm(calms: readonly Calm[], now: Calm): readonly Calm[] {
  const kept = calms.filter((c) => secondsBetween(c.atMs, now.atMs) <= RISES_S);
  kept.push(now);
  return kept;
}

function comesBack({ beforeSpark }: JumpState, last: Shown, sample: Shown): boolean {
  if (beforeSpark === null || secondsBetween(beforeSpark.atMs, sample.atMs) > GROWS_S) return false;
  const byC = sample.celsius - last.celsius;
  return Math.abs(byC) > LEAST_C && Math.abs(sample.celsius - beforeSpark.celsius) < BACK_RATIO * Math.abs(byC);
}

/** From where it leapt: the reading before, or, upwards, where it was some seconds ago; null where it did not. */
function leapFrom(state: JumpState, last: Shown, sample: Shown, context: DetectorContext): Calm | null {
  // A door that has just been moved explains any step; one that has stood open for long explains none.
  if (context.hasMovedLid || secondsBetween(state.heardSinceMs, sample.atMs) < AFTER_PAUSE_S) return null;
  const now: Calm = { atMs: last.atMs, celsius: last.celsius, ratePerS: state.ratePerS, others: state.others };
  if (isLeap(state, now, sample, context)) return now;
  const early = state.calms.find((c) => secondsBetween(c.atMs, sample.atMs) <= RISES_S);
  if (early === undefined || early.celsius > sample.celsius) return null;
  return isLeap(state, early, sample, context) ? early : null;
}

function isLeap(state: JumpState, from: Calm, sample: Shown, context: DetectorContext): boolean {
  const stepS = secondsBetween(from.atMs, sample.atMs);
  const byC = sample.celsius - from.celsius;
  const wentC = from.ratePerS * stepS;
  const limitC = Math.max(LEAST_C, NOISE_RATIO * state.noiseC, PACE_RATIO * Math.abs(wentC));
  if (Math.abs(byC - wentC) <= limitC) return false;
  const othersC = othersMoved(from.others, context.others);
  return othersC === null || Math.abs(othersC) < BESIDE_RATIO * Math.abs(byC);
}

/** Readings that go on from where the leap led to, at the pace that was before it or as the others do, prove it. */
function followLeap(state: JumpState, leap: Leap, sample: Shown, context: DetectorContext) {
  const byC = leap.to.celsius - leap.from.celsius;
  const sinceS = secondsBetween(leap.to.atMs, sample.atMs);
  const isRise = isBeyondHeat(state, leap, context);
  const strayC = sample.celsius - leap.to.celsius - leap.ratePerS * sinceS;
  const straysC = Math.max(STRAYS_C, STRAYS_RATIO * Math.abs(byC), STRAYS_NOISE_RATIO * state.noiseC);
  if (byC > 0 && strayC > straysC && secondsBetween(leap.from.atMs, sample.atMs) <= GROWS_S) {
    return settle({ ...state, leap: { ...leap, to: sample, others: context.others, standsCount: 0 } }, sample, context);
  }
  const isBeside = staysBeside(leap, byC, sample, context);
  const isBack = Math.abs(sample.celsius - leap.from.celsius) < BACK_RATIO * Math.abs(byC);
  const isOn = Math.abs(strayC) <= straysC || (isRise && strayC < 0);
  if ((!isBeside && (isBack || !isOn)) || haveOthersLeapt(leap, byC, context)) {
    // It came back or went on, or the others did the same: that was a spark, noise, a door, a flame or an element.
    const noiseC = state.noiseC + NOISE_SHARE * (Math.abs(byC) - state.noiseC);
    const beforeSpark = isBack ? null : leap.from;
    return settle({ ...state, leap: null, beforeSpark, ratePerS: leap.ratePerS, noiseC, calms: [] }, sample, context);
  }
  const standsCount = leap.standsCount + 1;
  const isPlain = byC < 0 && context.heat === 'on' && state.learnedCount >= KNOWN_COUNT;
  const stands = !isOn || isBack ? STANDS : isRise ? RISE_STANDS : isPlain ? FALL_STANDS : STANDS;
  if (standsCount < stands.count || sinceS < stands.forS) {
    return settle({ ...state, leap: { ...leap, standsCount } }, sample, context);
  }
  const isWayBack = state.fault !== null && Math.abs(byC + state.leaptByC) < BACK_RATIO * Math.abs(state.leaptByC);
  const fault: SensorFault | null = isWayBack ? null : told(leap, byC, context);
  const leaptByC = isWayBack ? 0 : byC;
  const next = { ...state, leap: null, fault, leaptByC, ratePerS: leap.ratePerS, calms: [] };
  return settle(next, sample, context);
}

/**
 * A controller that steers by it brings it back to where it should be, and the others go as far the other way. A flame that
 * comes or goes is no proof: a bead beside it shows it at once, and a thick sheath minutes later.
 */
function staysBeside({ to, others }: Leap, byC: number, sample: Shown, context: DetectorContext): boolean {
  if (context.isElectric !== true) return false;
  const othersC = othersMoved(others, context.others);
  if (othersC === null || othersC * Math.sign(byC) > FOLLOWS_RATIO * Math.abs(byC)) return false;
  return Math.abs(sample.celsius - to.celsius - othersC) < BESIDE_STRAYS_RATIO * Math.abs(byC);
}

/** In a cold kiln each bead leaps with its elements, and is read a little later where readings are sparse. */
function haveOthersLeapt({ from, others }: Leap, byC: number, context: DetectorContext): boolean {
  const othersC = from.celsius < RISE_FROM_C ? othersMoved(others, context.others) : null;
  return othersC !== null && othersC / byC > LEAPT_TOO_RATIO;
}

/** No element heats so fast, nor does a door that is shut again bring back what was not there before. */
function isBeyondHeat({ peakC, learnedCount }: JumpState, { from, to }: Leap, context: DetectorContext): boolean {
  if (context.isElectric !== true || learnedCount < KNOWN_COUNT || from.celsius < RISE_FROM_C) return false;
  const limitC = Math.max(LEAST_C, NEVER_PER_S * secondsBetween(from.atMs, to.atMs));
  return to.celsius - peakC > limitC;
}

/** A leap that has not yet gone on as before for long enough to say so; the next reading tells most doors from it. */
export function leapInDoubt({ leap, fault }: JumpState, context: DetectorContext): SensorFault | null {
  if (leap === null || fault !== null) return null;
  return told(leap, leap.to.celsius - leap.from.celsius, context);
}

function told(leap: Leap, byC: number, context: DetectorContext): SensorFault {
  return {
    cause: 'jump',
    sinceMs: leap.to.atMs,
    byC,
    sentence: `${context.sensor} leapt from ${degrees(leap.from.celsius)} to ${degrees(leap.to.celsius)} at once and stays ${byC < 0 ? 'low' : 'high'}; no kiln does that. Its wires may touch.`,
  };
}

function othersMoved(before: readonly OtherSensor[], now: readonly OtherSensor[]): number | null {
  const moves = now.flatMap((other) => {
    const then = before.find((o) => o.name === other.name);
    return then === undefined ? [] : [other.celsius - then.celsius];
  });
  return medianOf(moves);
}
