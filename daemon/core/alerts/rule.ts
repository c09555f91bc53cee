/** What a rule is: a pure opinion on the firing as it stands. */
import type { AlertEvent, AlertKind, Call, Priority } from '../events.ts';
import type { Course } from '../forecast/course.ts';
import type { Prospect } from '../forecast/prospect.ts';
import { secondsBetween } from '../numbers/units.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import type { Schedule, Segment } from '../plan/schedule.ts';
import type { SensorFault } from '../thermometry/health/detector.ts';
import type { Leapt } from '../thermometry/health/sensor-health.ts';
import type { PairWatch } from '../tracking/couple-pairs.ts';
import type { HeatChange } from '../tracking/heat-change.ts';
import type { OpeningSign } from '../tracking/opening.ts';
import type { Pace } from '../tracking/pace.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import type { StampWatch } from '../tracking/stamp-watch.ts';
import type { Trace } from '../tracking/trace.ts';
import type { Turn } from '../tracking/turn.ts';

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
  /** Whether each sensor may be believed, and when it last said anything. */
  readonly watches: Readonly<Record<string, SensorSpoken>>;
  readonly stamps: StampWatch;
  /** How far the clock of a board that says when it measured is off, in seconds; 0 where that is no matter. */
  readonly clockOffS: number;
  /** Each couple that does not rule, beside the one that does. */
  readonly pairs: Readonly<Record<string, PairWatch>>;
  readonly pace: Pace;
  readonly trace: Trace;
  /** How the glass comes after the couple, as it is reckoned. */
  readonly glass: Trace;
  readonly turn: Turn | null;
  readonly change: HeatChange | null;
  /** How deep this kiln's temperature usually dips while it is heated, °C. */
  readonly rippleC: number;
  /** How many times the plan's pace a hand has climbed at most, over five minutes; null where nothing shows it. */
  readonly steepestRatio: number | null;
  readonly course: Course | null;
  /** What is ahead: the rate now, what is expected, and where it goes if nothing is done; see `forecast/prospect.ts`. */
  readonly prospect: Prospect | null;
  readonly calls: readonly Call[];
  readonly lidOpen: boolean | null;
  readonly lidSinceMs: number | null;
  readonly sign: OpeningSign | null;
  /** When the lid last moved, by its switch or by the temperature's fall. */
  readonly lidMovedAtMs: number | null;
  /** When a hand last did what should cool, as far as it was told. */
  readonly lastTurnDownAtMs: number | null;
  /** Since when readings have come without a pause. */
  readonly heardSinceMs: number;
  readonly lostInputs: readonly { readonly input: string; readonly sentence: string }[];
  readonly recordLost: string | null;
  /** The alerts that stood before this instant: for a deadband, a rule may ask whether it has called already. */
  readonly standing: readonly AlertEvent[];
  /** When an alert of a kind and a key was last over; see `lately.ts`. */
  readonly overAtMs: Readonly<Record<string, number>>;
}

export interface SensorSpoken {
  readonly health: { readonly fault: SensorFault | null; readonly doubt?: SensorFault | null };
  readonly leapt?: Leapt | null;
  readonly spokenAtMs: number;
}

/** What a rule has found. */
export interface Finding {
  readonly phase: 'foreseen' | 'happening';
  readonly priority: Priority;
  readonly message: string;
  readonly because: string;
  readonly sensor?: string | undefined;
  readonly cause?: string | undefined;
  readonly leadS?: number | undefined;
  readonly forecastC?: number | undefined;
  readonly forecastAtMs?: number | undefined;
  /** Instead of the rule's own: a delay made of the sensor's noise and sampling. At most half of `leadS` counts, or 10 s. */
  readonly onDelayS?: number | undefined;
  /**
   * What this finding explains better: while it stands, findings of these kinds are held back unless they are more urgent.
   * Only kinds that come later in the catalogue, and where both are told by sensor, only of the same sensor.
   */
  readonly explains?: readonly AlertKind[] | undefined;
  /**
   * What this finding proves to have been a mistake: an alert of these kinds that was told within the last minute is over
   * as this one calls ("It was the lid, not the flame"). Never for what only hides the truth: silence replaces nothing.
   */
  readonly replaces?: readonly AlertKind[] | undefined;
}

/** Of this sensor nothing can be said, for the reasons given with `Opinion`. */
export interface Doubt {
  readonly doubt: 'unknown' | 'unsure';
  readonly sensor: string;
}

/**
 * `unknown`: the readings that the rule needs are missing; an alert that stood keeps standing.
 * `unsure`: it is too early to say, or the value lies in the deadband, under its limit by less than four times its noise
 * (requirement A4); nothing begins and nothing ends.
 * One finding: the kiln has one such alert at most, whatever `sensor` it names.
 * A list: one alert for each sensor that is named; a sensor that is not named is well. A rule that answers with lists
 * always does, or says `unknown`, `unsure` or `undefined` of all.
 */
export type Opinion = Saying | readonly (Finding | Doubt)[];

/** What a rule says of one thing. */
export type Saying = Finding | 'unknown' | 'unsure' | undefined;

export interface Rule {
  readonly alert: AlertKind;
  /** The finding must stand this long before it calls, and be gone this long before it is over, in seconds. */
  readonly onDelayS: number;
  readonly offDelayS: number;
  /** It speaks of the way of many minutes: what comes back within half an hour has not been away. */
  readonly isSlow?: boolean;
  /** What the alert is for (requirement A1). No alert without something to do. */
  readonly cause: string;
  readonly consequence: string;
  readonly whatToDo: Readonly<Record<KilnSetup['heat'], string>>;
  /** How long a person has, from the call to the harm. */
  readonly timeToAct: string;
  /** The most urgent that it becomes. */
  readonly priority: Priority;
  /** Once it has happened a person must say that all is well again, even if it seems so. */
  readonly needsReset?: (kiln: KilnSetup) => boolean;
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

/** The other couples of this kiln that speak and may be believed. */
export function soundBeside(view: View, sensor: string): readonly SensorTrack[] {
  return view.sensors.filter((s) => {
    if (s.name === sensor || s.last === null || view.watches[s.name]?.health.fault != null) return false;
    return secondsBetween(s.last.atMs, view.nowMs) <= silentAfterS(view, s);
  });
}

/** By its switch; where there is none, by the temperature's own fall. */
export function isLidOpen(view: View): boolean {
  return view.lidOpen === true || (view.lidOpen === null && view.sign !== null);
}

/**
 * As long as nobody can say how often a sensor speaks, it may be one that speaks every two minutes, with a little delay;
 * unless its input is known to be lost.
 */
const UNKNOWN_INTERVAL_S = 125;

/** A reading may come this much later than its sensor's usual interval without having been missed. From memory. */
const JITTER = 1.2;

/**
 * Seconds without a good reading after which a sensor is silent: three missed readings or 15 s (requirement A13), counted
 * from when the next one was due: one that speaks each 5 s and says nothing for 15 s is heard again after 20 s.
 */
export function silentAfterS(
  view: Pick<View, 'kiln'> & Partial<Pick<View, 'lostInputs'>>,
  sensor: SensorTrack,
): number {
  const isLost = view.lostInputs !== undefined && view.lostInputs.length > 0;
  if (view.kiln.sampleS === undefined && sensor.intervalS === null && !isLost) return UNKNOWN_INTERVAL_S;
  const sampleS = Math.max(view.kiln.sampleS ?? 0, sensor.intervalS ?? 0);
  return Math.max(15 + JITTER * sampleS, 3.2 * sampleS);
}
