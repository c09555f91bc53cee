/** All that core remembers of one firing. Plain read-only data: the same inputs always lead to the same state. */
import { type Alerts, NO_ALERTS } from './alerts/alert.ts';
import type { Call, ControllerEvent, ForecastEvent, PositionEvent } from './events.ts';
import type { Course } from './forecast/course.ts';
import { type Foresight, NO_FORESIGHT } from './forecast/foresight.ts';
import type { TimedC } from './numbers/line-fit.ts';
import { evenPlan } from './plan/even-plan.ts';
import { type KilnSetup, rulingSensor } from './plan/kiln.ts';
import type { Schedule } from './plan/schedule.ts';
import type { SensorWatch } from './thermometry/health/sensor-health.ts';
import { type CouplePairs, NO_PAIRS } from './tracking/couple-pairs.ts';
import { type HeatTrack, NO_HEAT_TRACK } from './tracking/heat-track.ts';
import type { OpeningSign } from './tracking/opening.ts';
import { NO_PACE, type Pace } from './tracking/pace.ts';
import type { PlanTrack } from './tracking/plan-track.ts';
import type { SaidClock } from './tracking/said-clock.ts';
import { newSensorTrack, type SensorTrack } from './tracking/sensor-track.ts';
import { SOUND_STAMPS, type StampWatch } from './tracking/stamp-watch.ts';

export interface LidState {
  readonly open: boolean;
  readonly sinceMs: number;
}

export interface FiringState {
  readonly kiln: KilnSetup;
  readonly schedule: Schedule | null;
  readonly startedAtMs: number;
  /** The latest instant that core has been told of. */
  readonly nowMs: number;
  readonly sensors: Readonly<Record<string, SensorTrack>>;
  /** What is known of the instruments' own clocks, by sensor or lid, where they say when they measured. */
  readonly saidClocks: Readonly<Record<string, SaidClock>>;
  /** Whether each sensor may be believed. */
  readonly watches: Readonly<Record<string, SensorWatch>>;
  /** How the couples stand to the ruling one. */
  readonly pairs: CouplePairs;
  /** What the stamps of the readings say of the instrument's clock. */
  readonly stamps: StampWatch;
  readonly rulingSensor: string;
  /** What the thermometers at the terminals said last, by the names under which they come. */
  readonly terminals: Readonly<Record<string, TimedC>>;
  /** The ruling sensor's way from the start, thinned: a plan given late is laid over it. */
  readonly way: readonly TimedC[];
  readonly pace: Pace;
  readonly heat: HeatTrack;
  readonly course: Course | null;
  readonly steady: Course | null;
  /** What is ahead, and all that the look ahead has learned of this firing. */
  readonly foresight: Foresight;
  readonly track: PlanTrack | null;
  readonly calls: readonly Call[];
  readonly alerts: Alerts;
  readonly lid: LidState | null;
  /** What the controller said last of its setpoint and output, where it is asked. */
  readonly controller: ControllerEvent | null;
  readonly sign: OpeningSign | null;
  /** When the lid last moved, by its switch or by the temperature's fall. */
  readonly lidMovedAtMs: number | null;
  readonly lastHandAtMs: number | null;
  /** When a hand last did what should cool, as far as it was told: not a valve opened further. */
  readonly lastTurnDownAtMs: number | null;
  /** The last figure told of each thing: the valve's mark, the gas pressure. */
  readonly marks: Readonly<Record<string, number>>;
  /** Since when readings have come without a pause. */
  readonly heardSinceMs: number;
  readonly lostInputs: readonly { readonly input: string; readonly sentence: string }[];
  readonly recordLost: string | null;
  readonly readingCount: number;
  readonly rejectedCount: number;
  /** How often each alert kind has called or been foreseen, for the summary. */
  readonly alertCounts: Readonly<Record<string, number>>;
  /** Since when the kiln has been as cool as a finished firing is. */
  readonly coolSinceMs: number | null;
  readonly position: PositionEvent | null;
  readonly forecast: ForecastEvent | null;
  readonly ended: boolean;
}

export function beginFiring(kiln: KilnSetup, schedule: Schedule | null, startedAtMs: number): FiringState {
  return {
    kiln,
    schedule: schedule === null ? null : evenPlan(schedule),
    startedAtMs,
    nowMs: startedAtMs,
    sensors: Object.fromEntries(kiln.sensors.map((s) => [s.name, newSensorTrack(s.name)])),
    saidClocks: {},
    watches: {},
    pairs: NO_PAIRS,
    stamps: SOUND_STAMPS,
    rulingSensor: rulingSensor(kiln),
    terminals: {},
    way: [],
    pace: NO_PACE,
    heat: NO_HEAT_TRACK,
    course: null,
    steady: null,
    foresight: NO_FORESIGHT,
    track: null,
    calls: [],
    alerts: { ...NO_ALERTS, series: `${kiln.id}-${startedAtMs.toString(36)}-` },
    lid: null,
    controller: null,
    sign: null,
    lidMovedAtMs: null,
    lastHandAtMs: null,
    lastTurnDownAtMs: null,
    marks: {},
    heardSinceMs: startedAtMs,
    lostInputs: [],
    recordLost: null,
    readingCount: 0,
    rejectedCount: 0,
    alertCounts: {},
    coolSinceMs: null,
    position: null,
    forecast: null,
    ended: false,
  };
}

/** The same state with these changes. */
export function changed(state: FiringState, changes: Partial<FiringState>): FiringState {
  return Object.assign(copyOf(state), changes);
}

/**
 * Written out field by field, as is all that is made anew with each reading: a spread of what came of a spread, as it would
 * be here from step to step, is a new shape to the engine each time, and takes it ten times as long.
 */
function copyOf(state: FiringState): FiringState {
  return {
    kiln: state.kiln,
    schedule: state.schedule,
    startedAtMs: state.startedAtMs,
    nowMs: state.nowMs,
    sensors: state.sensors,
    saidClocks: state.saidClocks,
    watches: state.watches,
    pairs: state.pairs,
    stamps: state.stamps,
    rulingSensor: state.rulingSensor,
    terminals: state.terminals,
    way: state.way,
    pace: state.pace,
    heat: state.heat,
    course: state.course,
    steady: state.steady,
    foresight: state.foresight,
    track: state.track,
    calls: state.calls,
    alerts: state.alerts,
    lid: state.lid,
    controller: state.controller,
    sign: state.sign,
    lidMovedAtMs: state.lidMovedAtMs,
    lastHandAtMs: state.lastHandAtMs,
    lastTurnDownAtMs: state.lastTurnDownAtMs,
    marks: state.marks,
    heardSinceMs: state.heardSinceMs,
    lostInputs: state.lostInputs,
    recordLost: state.recordLost,
    readingCount: state.readingCount,
    rejectedCount: state.rejectedCount,
    alertCounts: state.alertCounts,
    coolSinceMs: state.coolSinceMs,
    position: state.position,
    forecast: state.forecast,
    ended: state.ended,
  };
}
