/** What goes over the WebSocket `/live`, version 1: first a snapshot, then each thing as it happens. */

import type { SwitchedOff } from '../core/alerts/alert.ts';
import type {
  ActEvent,
  AlertEvent,
  ControllerEvent,
  ForecastEvent,
  GapEvent,
  LidEvent,
  PlanPoint,
  PositionEvent,
  SampleEvent,
} from '../core/events.ts';
import type { CouplesWord, ListItem, Photo } from '../core/inputs.ts';
import type { Schedule } from '../core/plan/schedule.ts';
import type { AlertStatistics } from '../core/report/alert-statistics.ts';
import type { HandsEntry } from '../core/report/calendar.ts';
import type { DoorSign } from '../core/report/door-sign.ts';
import type { KeyFigures } from '../core/report/key-figures.ts';
import type { HoldFigure } from '../core/report/summary.ts';

/** Each message names its kiln and, while one is on, its firing. */
interface OfKiln {
  readonly kiln: string;
  readonly firing: string | null;
}

export type ReadingMessage = SampleEvent &
  OfKiln & {
    /** Its line in the record, once it is on the disk; null when no firing is on or the disk refuses. */
    readonly line: number | null;
    readonly arrivedAtMs: number;
  };

export type PositionMessage = PositionEvent & OfKiln;
export type ForecastMessage = ForecastEvent & OfKiln;
export type AlertMessage = AlertEvent &
  OfKiln & {
    /** In the catalogue's words: what comes of it if nothing is done, what is usually behind it, what to do and how soon. */
    readonly ifNothing: string;
    readonly usualCause: string;
    readonly whatToDo: string;
    readonly timeToAct: string;
  };
export type ActMessage = ActEvent & OfKiln;
export type LidMessage = LidEvent & OfKiln;
export type ControllerMessage = ControllerEvent & OfKiln;
export type GapMessage = GapEvent & OfKiln;

/** A firing began, got its plan, or ended: the page asks for the snapshot's part of this kiln anew. */
export interface KilnMessage {
  readonly type: 'kiln';
  readonly atMs: number;
  readonly kiln: string;
  readonly now: KilnNow;
}

/** A kiln was taken out of the watch. */
export interface KilnGoneMessage {
  readonly type: 'kiln-gone';
  readonly atMs: number;
  readonly kiln: string;
}

/** An instrument, a broker or the disk: what is wrong in plain words, or that it is well again. */
export interface TroubleMessage {
  readonly type: 'trouble';
  readonly atMs: number;
  readonly kiln: string | null;
  readonly troubles: readonly string[];
}

/** Each real second. Ages are by `kiln/sensor`, in real seconds, whatever the speed of a simulated clock. */
export interface HeartbeatMessage {
  readonly type: 'heartbeat';
  readonly atMs: number;
  readonly ages: Readonly<Record<string, number | null>>;
  /** As in the snapshot: a demonstration changes its pace as it goes. */
  readonly simulated?: SnapshotMessage['simulated'];
  /** As in the snapshot: in two nights of the year the clock on the wall is set. */
  readonly utcOffsetMinutes?: number;
  /** What the sign at each kiln's door says, by the kiln's id. */
  readonly signs: Readonly<Record<string, DoorSign>>;
}

export interface KilnNow {
  readonly id: string;
  readonly name: string;
  readonly heat: 'gas' | 'electric';
  readonly closure: 'lid' | 'door';
  readonly sensors: readonly string[];
  readonly rulingSensor: string;
  /** How far from the plan is still on the plan: what the schedule says, else the kiln. */
  readonly toleranceC: number;
  /** A reading older than this many real seconds is not live. */
  readonly staleAfterS: number;
  readonly firing: { readonly id: string; readonly startedAtMs: number; readonly schedule: Schedule | null } | null;
  /** The sentence while no firing is on. */
  readonly sentence: string;
  readonly readings: readonly ReadingMessage[];
  readonly position: PositionMessage | null;
  readonly forecast: ForecastMessage | null;
  readonly alerts: readonly AlertMessage[];
  /** Kinds that are not watched in this firing: a banner says so as long as it lasts. */
  readonly switchedOff: readonly SwitchedOff[];
  readonly lidOpen: boolean | null;
  /** What its controller said last of its setpoint and output; null where it is not asked. */
  readonly controller: ControllerMessage | null;
  readonly troubles: readonly string[];
  readonly sign: DoorSign;
}

export interface SnapshotMessage {
  readonly v: 1;
  readonly type: 'snapshot';
  readonly atMs: number;
  /** Says that every source is simulated, and how fast its clock runs. */
  readonly simulated: { readonly speed: number } | null;
  /** False on the network: then only reading, "seen" and acts of the hand are allowed. */
  readonly mayCommand: boolean;
  readonly utcOffsetMinutes: number;
  readonly kilns: readonly KilnNow[];
  /** Schedules that may be chosen, by their key. */
  readonly schedules: readonly { readonly key: string; readonly schedule: Schedule }[];
  /** Troubles of the whole daemon: a broken schedule file, a full disk. */
  readonly troubles: readonly string[];
  /** As in a heartbeat. */
  readonly ages: Readonly<Record<string, number | null>>;
}

export type LiveMessage =
  | SnapshotMessage
  | ReadingMessage
  | PositionMessage
  | ForecastMessage
  | AlertMessage
  | ActMessage
  | LidMessage
  | ControllerMessage
  | GapMessage
  | KilnMessage
  | KilnGoneMessage
  | TroubleMessage
  | HeartbeatMessage;

/** Answer of `/api/firings/:id/curve`: per sensor, broken at gaps; extremes of each column are kept. */
export interface Curve {
  readonly fromMs: number;
  readonly toMs: number;
  readonly sensors: Readonly<Record<string, readonly (readonly CurvePoint[])[]>>;
  readonly plan: readonly PlanPoint[];
  readonly toleranceC: number;
  readonly acts: readonly ActEvent[];
  readonly alerts: readonly AlertEvent[];
  readonly gaps: readonly GapEvent[];
}

/** [ms since 1970 UTC, °C] */
export type CurvePoint = readonly [number, number];

/** One row of `/api/firings`. */
export interface FiringRow {
  readonly id: string;
  readonly kiln: string;
  readonly kilnName: string;
  readonly scheduleName: string | null;
  readonly startedAtMs: number;
  readonly endedAtMs: number | null;
  readonly peakC: Readonly<Record<string, number>>;
  readonly readings: number;
  readonly alerts: Readonly<Record<string, number>>;
  /** A small curve of the ruling sensor for the list: at most 60 points. */
  readonly sketch: readonly CurvePoint[];
  /** The plan below it: corners of a broken line. */
  readonly plan?: readonly CurvePoint[];
  /** The painter's own words: the last note. */
  readonly words?: string | null;
  readonly simulated: boolean;
  /** How far the workshop's clock was ahead of UTC when it was lit: its times are told as they stood on the wall. */
  readonly utcOffsetMinutes: number;
}

/** Words about a firing, those written after its end among them. `line` is absent while the firing is on. */
export interface Note {
  readonly atMs: number;
  readonly by: string;
  readonly text: string;
  readonly photo?: Photo | undefined;
  readonly line?: number | undefined;
}

/** A line that was written by hand says something else now; both stand. */
export interface Correction {
  readonly atMs: number;
  readonly by: string;
  readonly line: number;
  readonly was: string;
  readonly is: string;
  readonly why: string;
}

/** Somebody signs for the record as it stood: so many lines, the last of them with this hash. */
export interface SignOff {
  readonly atMs: number;
  readonly by: string;
  readonly meaning: string;
  readonly lines: number;
  readonly head: string;
}

/** Answer of `/api/firings/:id/proof`. */
export interface Proof {
  readonly verdict: 'OK' | 'INCOMPLETE' | 'BAD';
  readonly sentence: string;
  readonly line: number | null;
  readonly lines: number;
  /** Hash of the last line: the seal, as the page and the report show it. */
  readonly head: string;
  /** Fingerprint of the key that signed last, in groups of four; null where nobody did. */
  readonly key: string | null;
  readonly sealedAtMs: number | null;
  readonly sealCount: number;
  /** The watch is writing it now: then INCOMPLETE is no fault, and the sentence says so. */
  readonly isOn: boolean;
  /** The last stamp of a time authority outside; null where there is none. */
  readonly stamp: {
    readonly seal: number;
    /** Lines that this seal counts. */
    readonly lines: number;
    readonly atMs: number;
    readonly authority: string;
  } | null;
  /** Why the last seal is not stamped yet, where an authority is to be asked; else null. */
  readonly stampAwaited: string | null;
}

/** Answer of `/api/proof`. */
export interface WorkshopProof {
  /** Fingerprint of the key that signs now; null where there is none. */
  readonly key: string | null;
  readonly ledger: Pick<Proof, 'verdict' | 'sentence' | 'line' | 'lines' | 'head'>;
  /** What the start of the watch found broken. */
  readonly broken: readonly { readonly id: string; readonly sentence: string }[];
  readonly firingCount: number;
}

/** Answer of `/api/firings/:id`. */
export interface FiringDetail extends FiringRow {
  readonly rulingSensor: string;
  readonly schedule: Schedule | null;
  readonly holds: readonly HoldFigure[];
  /** null while the firing is on. */
  readonly figures: KeyFigures | null;
  /** Each alert as it stands now or stood at the end. */
  readonly alertList: readonly AlertEvent[];
  readonly alertStatistics: AlertStatistics;
  readonly acts: readonly ActEvent[];
  readonly notes: readonly Note[];
  readonly corrections: readonly Correction[];
  readonly signOffs: readonly SignOff[];
  /** Line of each of `acts` in the record; empty while the firing is on. */
  readonly actLines: readonly number[];
  /** The list before lighting as it was filed; null where nobody filed one. */
  readonly list: ActEvent | null;
  readonly gaps: readonly GapEvent[];
  /** Lines in the record and the hash of the last one. */
  readonly lines: number;
  readonly head: string;
}

/** Answer of `/api/kilns/:id/before-lighting`: the painter's own list, and what is checked by itself. */
export interface BeforeLighting {
  readonly items: readonly ListItem['text'][];
  readonly couples: CouplesWord;
}

/** Answer of `/api/kilns/:id/calendar?schedule=`: the minutes in which somebody must be at the kiln if it is lit now. */
export interface Calendar {
  readonly hands: readonly HandsEntry[];
  /** Reckoned with the kiln's own ways, or from the plan alone. */
  readonly by: 'kiln' | 'plan';
}

/** Answer of `/api/firings/:id/last-time`: what the hand did in the last firing of this schedule in this kiln. */
export interface LastTime {
  readonly firing: string;
  readonly startedAtMs: number;
  readonly peakC: number | null;
  readonly acts: readonly ActEvent[];
}
