/** A broken wire or a loose screw: no value, the upper end of the scale, or whatever the wires catch from the air. */
import { secondsBetween } from '../../numbers/units.ts';
import { type Detector, type DetectorContext, isShown, type SensorFault, type Shown, stepOf } from './detector.ts';

export interface OpenCircuitState {
  readonly missingSinceMs: number | null;
  readonly missingCount: number;
  /** Grows with each missing figure and dies away with sound ones: a contact that comes and goes. */
  readonly looseCount: number;
  /** The scale's end, again and again. */
  readonly endSinceMs: number | null;
  readonly endCount: number;
  readonly wander: Wander;
  /** Since when figures have come without a break while a fault stands. */
  readonly soundSinceMs: number | null;
  readonly fault: SensorFault | null;
}

/** °C². */
type CelsiusSquared = number;

/**
 * How the figures scatter from one to the next. Free wires make a random walk: each step goes its own way, however the
 * last one went. Noise comes back with its next step, and heat goes on as it went.
 */
interface Wander {
  readonly last: Shown | null;
  readonly lastStepC: number;
  readonly meanC: number;
  readonly meanSquare: number;
  /** The same over eight steps; of a walk it is eight times as large, of noise just as large. */
  readonly longSquare: CelsiusSquared;
  /** Share of the steps that are large: one leap makes none. */
  readonly largeRatio: number;
  /** The last figures, oldest first. */
  readonly lastC: readonly number[];
  /** Share of the steps that go the other way than the one before. */
  readonly turnRatio: number;
  readonly count: number;
  readonly walkingSinceMs: number | null;
  readonly walkingCount: number;
}

const NO_WANDER: Wander = {
  last: null,
  lastStepC: 0,
  meanC: 0,
  meanSquare: 0,
  longSquare: 0,
  largeRatio: 0,
  lastC: [],
  turnRatio: 0,
  count: 0,
  walkingSinceMs: null,
  walkingCount: 0,
};
/** An instrument that restarts says nothing for some seconds. Sooner than silence is told (requirement A13), which it explains. */
const MISSING = 3;
const MISSING_S = 10;
/** Two in a row are enough where readings are sparse. */
const SPARSE_S = 25;
/** A contact that is open for a seventh of the time or more; a few figures missed now and then are none. Ours. */
const LOOSE = 9;
const LOOSE_RATIO = 0.15;
const AT_END = 2;
/** A loose contact is mended when sound figures have come for so long. */
const SOUND_S = 120;
/** Steps over which the scatter is learned. */
const MEMORY = 40;
const WALKING = 15;
/** A flame that is being lit, or a couple that slides, may look like a walk for a while. */
const WALKS_S = 75;
/** Smaller steps than this in a second may be flame, draught or noise; in n seconds √n as much. Ours, tried on simulated couples. */
const WALK_STEP_C = 1.5;
/** Between sparser readings the kiln itself wanders. */
const WALK_SPARSE_S = 15;
const LONG = 8;
const LEAST_LONG_RATIO = 3;
/** Noise turns 2 times of 3, a walk every other time, heat seldom. */
const LEAST_TURN_RATIO = 0.3;
/** Steps that mostly go one way are heat's: of a walk's the mean is a sixth of their size. */
const MOST_MEAN_RATIO = 0.5;
const LARGE_C = 1;
const LEAST_LARGE_RATIO = 0.3;

export const openCircuit: Detector<OpenCircuitState> = {
  begin: {
    missingSinceMs: null,
    missingCount: 0,
    looseCount: 0,
    endSinceMs: null,
    endCount: 0,
    wander: NO_WANDER,
    soundSinceMs: null,
    fault: null,
  },
  judge(state, sample, context) {
    if (!isShown(sample)) return missing(state, sample.atMs, context);
    const isEnd = isScaleEnd(sample.celsius, context);
    const wander = isEnd ? NO_WANDER : followWander(state.wander, sample, context);
    const endCount = isEnd ? state.endCount + 1 : 0;
    const endSinceMs = isEnd ? (state.endSinceMs ?? sample.atMs) : null;
    const looseCount = Math.max(state.looseCount - LOOSE_RATIO, 0);
    const next: OpenCircuitState = {
      missingSinceMs: null,
      missingCount: 0,
      looseCount,
      endSinceMs,
      endCount,
      wander,
      soundSinceMs: state.soundSinceMs,
      fault: state.fault,
    };
    if (endSinceMs !== null && endCount >= AT_END) {
      return broken(next, endSinceMs, `${context.sensor} shows the very end of its scale`);
    }
    // Once told, each sign of it counts: how a walk scatters is itself a matter of chance.
    const isStill = state.fault !== null && wander.walkingCount > 0;
    const walkedS = wander.walkingSinceMs === null ? 0 : secondsBetween(wander.walkingSinceMs, sample.atMs);
    // What elements or a flame do to several beads at once is no wire's.
    const isOwn = !context.others.some((o) => o.wanders);
    const isWalk = isOwn && wander.walkingCount >= WALKING && walkedS >= WALKS_S;
    if (wander.walkingSinceMs !== null && (isWalk || isStill)) {
      return broken(next, wander.walkingSinceMs, `${context.sensor} wanders about as no kiln does`);
    }
    return recover(next, sample.atMs);
  },
};

function missing(state: OpenCircuitState, atMs: number, context: DetectorContext) {
  const missingSinceMs = state.missingSinceMs ?? atMs;
  const missingCount = state.missingCount + 1;
  const looseCount = state.looseCount + 1;
  const next = { ...state, missingSinceMs, missingCount, looseCount, soundSinceMs: null, wander: NO_WANDER };
  const missingS = secondsBetween(missingSinceMs, atMs);
  const isLong = missingCount >= MISSING ? missingS >= MISSING_S : missingCount >= 2 && missingS >= SPARSE_S;
  if (!isLong && looseCount < LOOSE) return { state: next, fault: next.fault };
  return broken(next, missingSinceMs, `${context.sensor} gives no value`);
}

function broken(state: OpenCircuitState, sinceMs: number, seen: string) {
  const sentence = `${seen}: its wire is broken or a screw is loose.`;
  const fault: SensorFault = { cause: 'open-circuit', sinceMs: state.fault?.sinceMs ?? sinceMs, sentence };
  return { state: { ...state, soundSinceMs: null, fault }, fault };
}

function recover(state: OpenCircuitState, atMs: number) {
  if (state.fault === null) return { state, fault: null };
  const soundSinceMs = state.soundSinceMs ?? atMs;
  const fault = secondsBetween(soundSinceMs, atMs) >= SOUND_S ? null : state.fault;
  return { state: { ...state, soundSinceMs, fault }, fault };
}

/** The letter's own upper end is no kiln's temperature; the instrument's ends are taken with one digit to spare. */
function isScaleEnd(celsius: number, context: DetectorContext): boolean {
  const stepC = Math.min(stepOf(context), 1);
  if (Math.abs(celsius - context.range.toC) <= stepC) return true;
  const own = context.instrumentRange;
  return own !== undefined && (celsius >= own.toC - stepC || celsius <= own.fromC + stepC);
}

function withLast(lastC: readonly number[], celsius: number): readonly number[] {
  const kept = lastC.slice(Math.max(lastC.length + 1 - LONG, 0));
  kept.push(celsius);
  return kept;
}

function followWander(wander: Wander, sample: Shown, context: DetectorContext): Wander {
  const { last } = wander;
  if (last === null) return { ...NO_WANDER, last: sample, lastC: [sample.celsius] };
  const betweenS = secondsBetween(last.atMs, sample.atMs);
  if (betweenS > WALK_SPARSE_S) return { ...NO_WANDER, last: sample, lastC: [sample.celsius] };
  const rootS = Math.sqrt(Math.max(betweenS, 0));
  const stepC = sample.celsius - last.celsius;
  const count = Math.min(wander.count + 1, MEMORY);
  const share = 1 / count;
  const largeC = Math.max(LARGE_C * rootS, 1.5 * stepOf(context));
  const meanC = wander.meanC + share * (stepC - wander.meanC);
  const awayC = stepC - meanC;
  const meanSquare = wander.meanSquare + share * (awayC * awayC - wander.meanSquare);
  const longAgoC = wander.lastC[wander.lastC.length - LONG];
  const longC = longAgoC === undefined ? 0 : sample.celsius - longAgoC - LONG * meanC;
  const longSquare = wander.longSquare + share * (longC * longC - wander.longSquare);
  const isLarge = Math.abs(stepC) > largeC;
  const largeRatio = wander.largeRatio + share * ((isLarge ? 1 : 0) - wander.largeRatio);
  const hasTurned = stepC * wander.lastStepC < 0;
  const turnRatio = wander.turnRatio + share * ((hasTurned ? 1 : 0) - wander.turnRatio);
  const isWalking =
    count >= MEMORY / 2 &&
    Math.sqrt(meanSquare) > Math.max(WALK_STEP_C * rootS, 2 * stepOf(context)) &&
    longSquare > LEAST_LONG_RATIO * meanSquare &&
    largeRatio > LEAST_LARGE_RATIO &&
    turnRatio > LEAST_TURN_RATIO &&
    Math.abs(meanC) < MOST_MEAN_RATIO * Math.sqrt(meanSquare);
  return {
    last: sample,
    lastStepC: stepC,
    meanC,
    meanSquare,
    longSquare,
    largeRatio,
    lastC: withLast(wander.lastC, sample.celsius),
    turnRatio,
    count,
    walkingSinceMs: isWalking ? (wander.walkingSinceMs ?? last.atMs) : null,
    walkingCount: isWalking ? wander.walkingCount + 1 : 0,
  };
}
