/** Everything that core can say. */
import type { AlertKind } from './alert-kinds.ts';
import type { CouplesWord, Deed, ListItem, Photo } from './inputs.ts';
import type { Schedule } from './plan/schedule.ts';

export type { AlertKind };

/** `good`; `late` = older than what is known; `suspect` = shown, not judged; `bad` = no temperature. */
export type Quality = 'good' | 'late' | 'suspect' | 'bad';

export interface SampleEvent {
  readonly type: 'reading';
  /** When it was measured. */
  readonly atMs: number;
  /** When it arrived, where the instrument says that it was measured before. */
  readonly arrivedAtMs?: number | undefined;
  readonly sensor: string;
  /** null where the instrument gave no temperature. */
  readonly celsius: number | null;
  /** Expanded, k = 2; how it is reckoned stands in thermometry/uncertainty.ts. */
  readonly uncertaintyC: number | null;
  /** What the couple showed before its certificate's correction, where that changed it. */
  readonly shownC?: number | undefined;
  /** What must be known of this figure though it is good: a certificate overdue, or used beyond its points. */
  readonly remark?: string | undefined;
  readonly quality: Quality;
  /** Why it is not good, in plain words. */
  readonly reason?: string | undefined;
}

export interface LidEvent {
  readonly type: 'lid';
  readonly atMs: number;
  readonly open: boolean;
}

/** What a controller says that it wants and gives; null where it was not asked for, or tells nothing now. */
export interface ControllerEvent {
  readonly type: 'controller';
  readonly atMs: number;
  readonly setpointC: number | null;
  /** 0 to 1 of full heat. */
  readonly outputRatio: number | null;
}

/** A message of an instrument that could not be used, in one sentence. */
export interface RejectedEvent {
  readonly type: 'rejected';
  readonly atMs: number;
  readonly sentence: string;
}

export type CallState = 'coming' | 'due' | 'done' | 'passed';

/** An act of the hand that is called beforehand; no alarm. */
export interface Call {
  readonly id: string;
  readonly do: string;
  /** When the hand is needed, by the forecast; null while nobody can say. */
  readonly dueAtMs: number | null;
  /** When to call it: some minutes before. */
  readonly callAtMs: number | null;
  readonly state: CallState;
  /** The sentence to show or speak once it is due. */
  readonly sentence: string;
}

/** Where the firing is on its plan, and the sentence that says so. */
export interface PositionEvent {
  readonly type: 'position';
  readonly atMs: number;
  /** The first line of the page. */
  readonly sentence: string;
  /** Index into the schedule's segments; its length once the plan is over; null without a plan. */
  readonly segment: number | null;
  readonly segmentName: string;
  readonly plannedC: number | null;
  readonly deviationC: number | null;
  readonly rateCPerH: number | null;
  /** Of a hold: seconds done by the plan's own count, and seconds within tolerance. */
  readonly holdDoneS: number | null;
  readonly holdInBandS: number | null;
  readonly holdS: number | null;
  readonly segmentEndsAtMs: number | null;
  readonly planEndsAtMs: number | null;
  /** When the lid can be cracked, and when the pieces can come out, as far as can be said. */
  readonly crackAtMs: number | null;
  readonly unloadAtMs: number | null;
  /** What comes next, as a clause: "gas down at 14:20". */
  readonly next: string | null;
  readonly nextAtMs: number | null;
  readonly calls: readonly Call[];
  /** The plan from the firing's start to its end as it now stands: corners of a broken line. */
  readonly planLine: readonly PlanPoint[];
}

export interface PlanPoint {
  readonly atMs: number;
  readonly celsius: number;
  /** Index of the segment whose stretch ends at this corner. */
  readonly segment: number;
}

export interface ForecastPoint {
  readonly atMs: number;
  readonly celsius: number;
  readonly lowC: number;
  readonly highC: number;
}

export interface ForecastEvent {
  readonly type: 'forecast';
  readonly atMs: number;
  readonly points: readonly ForecastPoint[];
  /** The hottest it will be within the forecast if nothing is done. */
  readonly expectedPeakC: number | null;
  readonly expectedPeakAtMs: number | null;
  /** When the present ramp's target is reached at this pace. */
  readonly targetAtMs: number | null;
}

export type Phase = 'foreseen' | 'happening' | 'over';
export type Priority = 'now' | 'soon' | 'note';

/**
 * Requirement 2.1, in plain words. `over-unseen` stays on the page until somebody presses "I've seen it"; `needs-reset` is
 * over too, but calls on, unless it has `seenBy`, until somebody has looked and says that all is well again.
 */
export type AlertLife = 'calling' | 'seen' | 'put-aside' | 'over-unseen' | 'needs-reset' | 'gone';

export interface AlertEvent {
  readonly type: 'alert';
  readonly atMs: number;
  /** One id from foreseen to over. */
  readonly id: string;
  readonly alert: AlertKind;
  readonly phase: Phase;
  readonly priority: Priority;
  readonly life: AlertLife;
  readonly sinceMs: number;
  readonly sensor?: string | undefined;
  readonly cause?: string | undefined;
  /** Seconds from `atMs` to the harm as predicted. */
  readonly leadS?: number | undefined;
  /** The temperature foreseen, where the alert is about one. */
  readonly forecast?: number | undefined;
  /** When it is that hot, where the message names that time; for the page's curve, and not in the record. */
  readonly forecastAtMs?: number | undefined;
  /** What happens and what to do, as the page shows and the voice speaks it. */
  readonly message: string;
  /** Why: the figures behind it, and what happens if nothing is done. */
  readonly because: string;
  readonly seenBy?: string | undefined;
  readonly putAsideUntilMs?: number | undefined;
  /** The id of the alert under which it is listed, without a sound of its own: its first cause, or the first of a flood. */
  readonly heldBackBy?: string | undefined;
  /** True while it cannot be judged: it may still be going on. It makes no sound meanwhile. */
  readonly unknown?: boolean | undefined;
  /** Only the words or figures are new: no call, and no line in the record. */
  readonly refresh?: boolean | undefined;
}

/** Something a person did, as it stands in the record. */
export interface ActEvent {
  readonly type: 'act';
  readonly atMs: number;
  readonly by: string;
  readonly deed: Deed['deed'];
  readonly what: string;
  readonly value?: string | undefined;
  /** The ruling temperature as the act was done. */
  readonly celsius: number | null;
  /** It sets right the act that was logged at this instant. */
  readonly correctsAtMs?: number | undefined;
  /** Of the list before lighting: what was ticked, and whether the couples agreed. */
  readonly items?: readonly ListItem[] | undefined;
  readonly couples?: CouplesWord | undefined;
  /** Of a note: the photograph that was filed with it. */
  readonly photo?: Photo | undefined;
}

export interface CallEvent {
  readonly type: 'call';
  readonly atMs: number;
  readonly call: Call;
}

export interface GapEvent {
  readonly type: 'gap';
  readonly fromMs: number;
  readonly atMs: number;
  readonly why: string;
}

export interface PlanChangedEvent {
  readonly type: 'plan';
  readonly atMs: number;
  readonly schedule: Schedule;
}

export interface EndedEvent {
  readonly type: 'ended';
  readonly atMs: number;
  /** By whom: a name, or "by itself". */
  readonly by: string;
  readonly why: string;
}

export type FiringEvent =
  | SampleEvent
  | LidEvent
  | ControllerEvent
  | RejectedEvent
  | PositionEvent
  | ForecastEvent
  | AlertEvent
  | ActEvent
  | CallEvent
  | GapEvent
  | PlanChangedEvent
  | EndedEvent;
