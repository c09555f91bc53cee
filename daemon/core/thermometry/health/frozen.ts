/** The same figure for ever, while the kiln must have moved. */
import { S_PER_MIN, secondsBetween } from '../../numbers/units.ts';
import {
  type Detector,
  type DetectorContext,
  degrees,
  isShown,
  type OtherSensor,
  type SensorFault,
  type Shown,
  stepOf,
} from './detector.ts';

export interface FrozenState {
  /** The run of equal figures. */
  readonly run: Run | null;
  /** The sensor has moved at all: before that, a kiln that is not yet lit stands still. */
  readonly hasMoved: boolean;
  readonly firstC: number | null;
  readonly lastCalmC: number | null;
  readonly fault: SensorFault | null;
}

interface Run {
  readonly celsius: number;
  readonly sinceMs: number;
  readonly atMs: number;
  readonly count: number;
  readonly others: readonly Travel[];
  /** Since when the plan has gone up or down without a break within this run. */
  readonly movingSinceMs: number | null;
}

/** How far another sensor has gone meanwhile, by its pace: its noise and sparks are not counted. */
interface Travel {
  readonly name: string;
  readonly byC: number;
}

/** An instrument in fine steps shows a new figure each few seconds; one in whole degrees may keep it for minutes. */
const FINE_STEP_C = 0.3;
const LEAST_COUNT = 6;
const OTHERS_S = S_PER_MIN;
const OTHERS_MOVED_C = 6;
/** In a hold the ruling couple may stand still while others still follow. */
const OTHERS_MOVED_IN_HOLD_C = 20;
const MOVING_FINE_S = 3 * S_PER_MIN;
/** At the slowest usual pace, 20 °C/h, a degree takes three minutes. */
const MOVING_COARSE_S = 8 * S_PER_MIN;
/** Below this, a kiln that is let fall may stand still for long. */
const COOLING_FROM_C = 200;
const HOLD_STEP_C = 0.2;
const HOLD_S = 20 * S_PER_MIN;
const HOLD_COUNT = 60;
const MOVED_C = 5;

export const frozen: Detector<FrozenState> = {
  begin: { run: null, hasMoved: false, firstC: null, lastCalmC: null, fault: null },
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    const firstC = firstOf(state, context);
    const hasMoved = state.hasMoved || Math.abs(context.calmC - firstC) >= Math.max(MOVED_C, 5 * context.noiseC);
    const isMoving = context.heading === 'up' || context.heading === 'down';
    if (state.run === null || state.run.celsius !== sample.celsius) {
      const movingSinceMs = isMoving ? sample.atMs : null;
      const run = {
        celsius: sample.celsius,
        sinceMs: sample.atMs,
        count: 1,
        atMs: sample.atMs,
        others: travel([], context.others, 0),
        movingSinceMs,
      };
      return { state: { run, hasMoved, firstC, lastCalmC: context.calmC, fault: null }, fault: null };
    }
    const movingSinceMs = isMoving ? (state.run.movingSinceMs ?? sample.atMs) : null;
    const others = travel(state.run.others, context.others, secondsBetween(state.run.atMs, sample.atMs));
    const run = { ...state.run, count: state.run.count + 1, atMs: sample.atMs, others, movingSinceMs };
    const why = state.fault === null ? whyFrozen(run, hasMoved, sample, context) : state.fault.sentence;
    const fault: SensorFault | null = why === null ? null : { cause: 'frozen', sinceMs: run.sinceMs, sentence: why };
    return { state: { run, hasMoved, firstC, lastCalmC: context.calmC, fault }, fault };
  },
};

/** A leap is no movement of the kiln: the first figure is moved with it. */
function firstOf({ firstC, lastCalmC }: FrozenState, { calmC }: DetectorContext): number {
  if (firstC === null || lastCalmC === null) return calmC;
  return Math.abs(calmC - lastCalmC) > MOVED_C ? firstC + calmC - lastCalmC : firstC;
}

function whyFrozen(run: Run, hasMoved: boolean, sample: Shown, context: DetectorContext): string | null {
  if (run.count < LEAST_COUNT) return null;
  const stoodS = secondsBetween(run.sinceMs, sample.atMs);
  const stands = `${context.sensor} has said ${degrees(run.celsius)} for ${minutes(stoodS)}`;
  const stepC = stepOf(context);
  const movedC = stoodS >= OTHERS_S ? mostMoved(run.others) : null;
  const limitC = Math.max(context.heading === 'level' ? OTHERS_MOVED_IN_HOLD_C : OTHERS_MOVED_C, 4 * stepC);
  if (movedC !== null && movedC > limitC)
    return `${stands} while the others went on by ${degrees(movedC)}: it is frozen.`;
  if (!hasMoved) return null;
  const movingS = run.movingSinceMs === null ? 0 : secondsBetween(run.movingSinceMs, sample.atMs);
  const limitS = stepC <= FINE_STEP_C ? MOVING_FINE_S : MOVING_COARSE_S;
  const isHeated = context.heading === 'up' && context.heat === 'on';
  const isCooling = context.heading === 'down' && context.heat === 'off' && run.celsius > COOLING_FROM_C;
  if (movingS >= limitS && (isHeated || isCooling)) return `${stands} though the kiln must move: it is frozen.`;
  if (stepC <= HOLD_STEP_C && stoodS >= HOLD_S && run.count >= HOLD_COUNT) {
    return `${stands} to the last digit, and even a steady kiln flickers: it is frozen.`;
  }
  return null;
}

/** By how much most of them have moved, at least; of two, both: one may have its own trouble. */
function mostMoved(others: readonly Travel[]): number | null {
  const moves = others.map((o) => Math.abs(o.byC)).sort((a, b) => a - b);
  return moves[(moves.length - 1) >> 1] ?? null;
}

function travel(before: readonly Travel[], now: readonly OtherSensor[], durationS: number): readonly Travel[] {
  return now.map(({ name, ratePerS }) => {
    const thenC = before.find((o) => o.name === name)?.byC ?? 0;
    return { name, byC: thenC + (ratePerS ?? 0) * Math.max(durationS, 0) };
  });
}

function minutes(durationS: number): string {
  const whole = Math.round(durationS / S_PER_MIN);
  return whole <= 1 ? 'a minute' : `${whole} minutes`;
}
