/** What is remembered of alerts. Plain data: written to JSON and read again at any moment, it lives on as if nothing were. */
import type { AlertEvent, AlertKind, Priority } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';

/** One alert of one kind about one thing, from its first finding until it has left the page. */
export interface Alert {
  readonly rule: AlertKind;
  /** The sensor that it is about, where its rule tells them apart; else empty. */
  readonly key: string;
  /** Kinds that its latest finding explains better. */
  readonly explains: readonly AlertKind[];
  /** The most urgent that it has been since it called; while it is forming, as urgent as its latest finding. */
  readonly priority: Priority;
  /** Since when the finding has stood, while it waits for its delay; null once it has called. */
  readonly formingSinceMs: number | null;
  /** What was last told; null while it is only forming. */
  readonly told: AlertEvent | null;
  /** When anything was last told of it, and when it last called. */
  readonly toldAtMs: number;
  readonly calledAtMs: number;
  /** Since when it has been more than foreseen; null while it is not. */
  readonly happensSinceMs: number | null;
  /** Since when the finding has been away, while it waits to be over. */
  readonly awaySinceMs: number | null;
  /** How long it must be away before it is over. */
  readonly offDelayS: number;
  readonly seenAtMs: number | null;
  /** The segment in which somebody put it aside: it comes back with the next one. */
  readonly segment: number | null;
  /** It is listed under another only because too many called at once. */
  readonly isOfFlood: boolean;
}

/** A kind that a person has switched off for this firing, and why. */
export interface SwitchedOff {
  readonly alert: AlertKind;
  readonly by: string;
  readonly why: string;
  readonly sinceMs: number;
}

export interface Alerts {
  readonly live: readonly Alert[];
  readonly nextNumber: number;
  /** What the ids begin with, so that those of two kilns or two firings never meet. */
  readonly series: string;
  readonly switchedOff: readonly SwitchedOff[];
  /** The instants of the calls with a sound of their own within the last ten minutes. */
  readonly callsAtMs: readonly number[];
  /** When an alert of a kind and a key was last over. */
  readonly overAtMs: Readonly<Record<string, number>>;
}

export const NO_ALERTS: Alerts = {
  live: [],
  nextNumber: 1,
  series: '',
  switchedOff: [],
  callsAtMs: [],
  overAtMs: {},
};

export interface Told {
  readonly alerts: Alerts;
  readonly events: readonly AlertEvent[];
}

export const RANK = { note: 0, soon: 1, now: 2 } as const;

const NONE: readonly AlertEvent[] = [];

/** The alerts that stand on the page. */
export function standing(alerts: Alerts): readonly AlertEvent[] {
  return alerts.live.length === 0 ? NONE : alerts.live.flatMap((a) => (a.told === null ? [] : [a.told]));
}

export function nothingNew(alerts: Alerts): Told {
  return { alerts, events: NONE };
}

/** Foreseen or happening, or still forming: not over. */
export function isLive(alert: Alert): boolean {
  return alert.told?.phase !== 'over';
}

/** By what an alert is known once it is over: its kind, and the sensor where it is one sensor's. */
export function overKey(rule: AlertKind, key: string): string {
  return key === '' ? rule : `${rule}/${key}`;
}

/** As `alerts`, with `next` in place of `old`; null takes it away. */
export function replaced(alerts: Alerts, old: Alert, next: Alert | null): Alerts {
  const live = next === null ? alerts.live.filter((a) => a !== old) : alerts.live.map((a) => (a === old ? next : a));
  return { ...alerts, live };
}

/**
 * Does this call out by itself? What is listed under another does not, nor what nobody can judge: that it cannot be judged
 * has an alert of its own.
 */
export function isCall(event: AlertEvent): boolean {
  return event.life === 'calling' && event.heldBackBy === undefined && event.unknown !== true && event.refresh !== true;
}

/** Calls within the time of a flood: more than three within ten minutes are grouped (requirement 2.2). */
const FLOOD_S = 600;

export function callsUntil(calls: readonly number[], nowMs: number): readonly number[] {
  return calls.every((atMs) => secondsBetween(atMs, nowMs) < FLOOD_S)
    ? calls
    : calls.filter((atMs) => secondsBetween(atMs, nowMs) < FLOOD_S);
}
