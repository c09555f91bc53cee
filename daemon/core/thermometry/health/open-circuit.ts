/** A broken wire or a loose screw: no value, the upper end of the scale, or whatever the wires catch from the air. */
import { secondsBetween } from '../../numbers/units.ts';
import { type Detector, type HealthContext, isShown, type SensorFault, type Shown, stepOf } from './detector.ts';

export interface OpenCircuitState {
  readonly missingSinceMs: number | null;
  readonly missingCount: number;
  /** The scale's end, again and again. */
  readonly endSinceMs: number | null;
  readonly endCount: number;
  readonly wander: Wander;
  /** Since when figures have come without a break while a fault stands. */
  readonly soundSinceMs: number | null;
  readonly fault: SensorFault | null;
}

/**
 * How the figures scatter from one to the next. Free wires make a random walk: each step goes its own way, however the
 * last one went. Noise comes back with its next step, and heat goes on as it went.
 */
interface Wander {
  readonly last: Shown | null;
  readonly lastStepC: number;
  readonly meanC: number;
  readonly lastAwayC: number;
  readonly meanSquare: number;
  readonly neighbourSquare: number;
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
  lastAwayC: 0,
  meanSquare: 0,
  neighbourSquare: 0,
  turnRatio: 0,
  count: 0,
  walkingSinceMs: null,
  walkingCount: 0,
};
const MISSING = 3;
/** Two in a row are enough where readings are sparse. */
const MISSING_S = 20;
const AT_END = 3;
/** A loose contact is mended when figures have come for so long. */
const SOUND_S = 30;
/** Steps over which the scatter is learned. */
const MEMORY = 40;
const WALKING = 25;
/** Smaller steps than this may be flame, draught or noise. Ours, tried on simulated couples. */
const WALK_STEP_C = 1.5;
/** Noise has −0.5 between neighbouring steps and turns 2 times of 3; a walk 0 and 1 of 2; heat near 1 and seldom. */
const LEAST_NEIGHBOUR = -0.25;
const LEAST_TURN_RATIO = 0.3;

export const openCircuit: Detector<OpenCircuitState> = {
  begin: {
    missingSinceMs: null,
    missingCount: 0,
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
    const next = { ...state, missingSinceMs: null, missingCount: 0, endCount, endSinceMs, wander };
    if (endSinceMs !== null && endCount >= AT_END) {
      return broken(next, endSinceMs, `${context.sensor} shows the very end of its scale`);
    }
    if (wander.walkingSinceMs !== null && wander.walkingCount >= WALKING) {
      return broken(next, wander.walkingSinceMs, `${context.sensor} wanders about as no kiln does`);
    }
    return recover(next, sample.atMs);
  },
};

function missing(state: OpenCircuitState, atMs: number, context: HealthContext) {
  const missingSinceMs = state.missingSinceMs ?? atMs;
  const missingCount = state.missingCount + 1;
  const next = { ...state, missingSinceMs, missingCount, soundSinceMs: null, wander: NO_WANDER };
  const isLong = missingCount >= 2 && secondsBetween(missingSinceMs, atMs) >= MISSING_S;
  if (missingCount < MISSING && !isLong) return { state: next, fault: next.fault };
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
function isScaleEnd(celsius: number, context: HealthContext): boolean {
  const stepC = Math.min(stepOf(context), 1);
  if (Math.abs(celsius - context.range.toC) <= stepC) return true;
  const own = context.instrumentRange;
  return own !== undefined && (celsius >= own.toC - stepC || celsius <= own.fromC + stepC);
}

function followWander(wander: Wander, sample: Shown, context: HealthContext): Wander {
  const { last } = wander;
  if (last === null) return { ...NO_WANDER, last: sample };
  const stepC = sample.celsius - last.celsius;
  const count = Math.min(wander.count + 1, MEMORY);
  const share = 1 / count;
  const meanC = wander.meanC + share * (stepC - wander.meanC);
  const awayC = stepC - meanC;
  const meanSquare = wander.meanSquare + share * (awayC * awayC - wander.meanSquare);
  const neighbourSquare = wander.neighbourSquare + share * (awayC * wander.lastAwayC - wander.neighbourSquare);
  const hasTurned = stepC * wander.lastStepC < 0;
  const turnRatio = wander.turnRatio + share * ((hasTurned ? 1 : 0) - wander.turnRatio);
  const isWalking =
    count >= MEMORY / 2 &&
    Math.sqrt(meanSquare) > Math.max(WALK_STEP_C, 2 * stepOf(context)) &&
    neighbourSquare > LEAST_NEIGHBOUR * meanSquare &&
    turnRatio > LEAST_TURN_RATIO;
  return {
    last: sample,
    lastStepC: stepC,
    meanC,
    lastAwayC: awayC,
    meanSquare,
    neighbourSquare,
    turnRatio,
    count,
    walkingSinceMs: isWalking ? (wander.walkingSinceMs ?? last.atMs) : null,
    walkingCount: isWalking ? wander.walkingCount + 1 : 0,
  };
}
