/** What a rule is: a pure opinion on the firing as it stands. */
import type { AlertEvent, AlertKind, Call, Priority } from '../events.ts';
import type { Course } from '../forecast/course.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import type { Schedule, Segment } from '../plan/schedule.ts';
import type { OpeningSign } from '../tracking/opening.ts';
import type { Pace } from '../tracking/pace.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';

/** The firing as a rule sees it. */
export interface View {
  readonly nowMs: number;
  readonly startedAtMs: number;
  readonly kiln: KilnSetup;
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  readonly segment: Segment | null;
  /** The present segment's target, °C. */
  readonly goalC: number | null;
  readonly toleranceC: number;
  readonly ruling: SensorTrack | null;
  readonly sensors: readonly SensorTrack[];
  readonly pace: Pace;
  readonly course: Course | null;
  readonly calls: readonly Call[];
  readonly lidOpen: boolean | null;
  readonly lidSinceMs: number | null;
  readonly sign: OpeningSign | null;
  /** When a hand last did what should cool, as far as it was told. */
  readonly lastTurnDownAtMs: number | null;
  /** Since when readings have come without a pause. */
  readonly heardSinceMs: number;
  readonly lostInputs: readonly { readonly input: string; readonly sentence: string }[];
  readonly recordLost: string | null;
}

export interface Finding {
  readonly phase: 'foreseen' | 'happening';
  readonly priority: Priority;
  readonly message: string;
  readonly because: string;
  readonly sensor?: string | undefined;
  readonly cause?: string | undefined;
  readonly leadS?: number | undefined;
  readonly forecastC?: number | undefined;
}

/**
 * `unknown`: the readings that the rule needs are missing; an alert that stood keeps standing.
 * `unsure`: it is too early to say; nothing begins and nothing ends.
 */
export type Opinion = Finding | 'unknown' | 'unsure' | undefined;

export interface Rule {
  readonly alert: AlertKind;
  /** The finding must stand this long before it calls, and be gone this long before it is over, in seconds. */
  readonly onDelayS: number;
  readonly offDelayS: number;
  /** What the alert is for: requirement A1. */
  readonly cause: string;
  readonly consequence: string;
  readonly judge: (view: View) => Opinion;
  /** What stays on the page once it is over, until somebody has seen it. */
  readonly afterwards: (told: AlertEvent, lastedS: number) => string;
}

/** The ruling sensor, unless it has been silent too long for its value to mean anything. */
export function heard(view: View): SensorTrack | null {
  const ruling = view.ruling;
  if (ruling === null || ruling.last === null) return null;
  return view.nowMs - ruling.last.atMs > silentAfterS(view, ruling) * 1000 ? null : ruling;
}

/**
 * As long as nobody can say how often a sensor speaks, it may be one that speaks every two minutes, with a little delay;
 * unless its input is known to be lost.
 */
const UNKNOWN_INTERVAL_S = 125;

/** Seconds without a good reading after which a sensor is silent: three missed readings or 15 s (requirement A13). */
export function silentAfterS(
  view: Pick<View, 'kiln'> & Partial<Pick<View, 'lostInputs'>>,
  sensor: SensorTrack,
): number {
  const isLost = view.lostInputs !== undefined && view.lostInputs.length > 0;
  if (view.kiln.sampleS === undefined && sensor.intervalS === null && !isLost) return UNKNOWN_INTERVAL_S;
  const sampleS = Math.max(view.kiln.sampleS ?? 0, sensor.intervalS ?? 0);
  return Math.max(15, 3.2 * sampleS);
}
