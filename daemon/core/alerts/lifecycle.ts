/**
 * The life of an alert in plain words (requirement 2.1): forming, calling, seen, put aside, over but unseen, gone.
 * Foreseen and happening are one alert that gets worse, with one id from first to last.
 * A pure state machine: a rule's opinion, the time and a person's deed go in, what to tell comes out.
 */
import type { AlertEvent, AlertLife, Phase } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';
import type { Doubt, Finding, Opinion, Rule, Saying } from './rule.ts';

/** An alert that nobody needs to see: a finding not yet believed. */
export interface Forming {
  readonly sinceMs: number;
}

export interface Alert {
  readonly rule: Rule['alert'];
  /** The sensor that it is about, where its rule tells them apart; else empty. */
  readonly key: string;
  /** A finding that waits for its delay; null once it has called. */
  readonly forming: Forming | null;
  /** What was last told; null while it is only forming. */
  readonly told: AlertEvent | null;
  /** Since when it has been more than foreseen; null while it is not. */
  readonly happensSinceMs: number | null;
  /** Since when the finding has been away, while it waits to be over. */
  readonly awaySinceMs: number | null;
  readonly seenAtMs: number | null;
  readonly toldAtMs: number;
}

export interface Alerts {
  readonly live: readonly Alert[];
  readonly nextNumber: number;
  /** What the ids begin with, so that those of two kilns or two firings never meet. */
  readonly series: string;
}

export const NO_ALERTS: Alerts = { live: [], nextNumber: 1, series: '' };

/** A seen alert that is still true calls again after this (requirement A5); a note never does. */
const CALL_AGAIN_S = { now: 600, soon: 1200, note: Number.POSITIVE_INFINITY } as const;
/** A worse phase needs no delay; the words are brought up to date this often while they change. */
const REFRESH_S = 60;
const RANK = { note: 0, soon: 1, now: 2 } as const;

export interface Told {
  readonly alerts: Alerts;
  readonly events: readonly AlertEvent[];
}

/** Carries on what one rule has alerted of: one alert of the kiln, or one of each sensor. */
export function carryAlert(alerts: Alerts, rule: Rule, opinion: Opinion, nowMs: number): Told {
  if (opinion === undefined && alerts.live.length === 0) return quiet(alerts);
  const isList = Array.isArray(opinion);
  const about = new Map<string, Saying>();
  for (const one of isList ? (opinion as readonly (Finding | Doubt)[]) : []) {
    if (!about.has(one.sensor ?? '')) about.set(one.sensor ?? '', 'doubt' in one ? one.doubt : one);
  }
  const ofAll = isList ? undefined : (opinion as Saying);
  if (typeof ofAll === 'object') about.set('', ofAll);
  for (const alert of alerts.live) {
    if (alert.rule === rule.alert && !about.has(alert.key)) {
      about.set(alert.key, typeof ofAll === 'object' ? undefined : ofAll);
    }
  }
  const events: AlertEvent[] = [];
  let next = alerts;
  for (const [key, said] of about) {
    const told = carryOne(next, rule, key, said, nowMs);
    next = told.alerts;
    events.push(...told.events);
  }
  return { alerts: next, events };
}

function carryOne(alerts: Alerts, rule: Rule, key: string, opinion: Saying, nowMs: number): Told {
  const alert = alerts.live.find((a) => a.rule === rule.alert && a.key === key && a.told?.phase !== 'over');
  if (opinion === 'unknown') return keepUnknown(alerts, alert, nowMs);
  if (opinion === 'unsure') return quiet(alerts);
  if (opinion === undefined) return alert === undefined ? quiet(alerts) : fade(alerts, alert, rule, nowMs);
  if (alert === undefined) return begin(alerts, rule, key, opinion, nowMs);
  return grow(alerts, alert, rule, opinion, nowMs);
}

function begin(alerts: Alerts, rule: Rule, key: string, finding: Finding, nowMs: number): Told {
  const alert: Alert = {
    rule: rule.alert,
    key,
    forming: { sinceMs: nowMs },
    told: null,
    happensSinceMs: null,
    awaySinceMs: null,
    seenAtMs: null,
    toldAtMs: nowMs,
  };
  return delayS(rule, finding) > 0
    ? { alerts: { ...alerts, live: [...alerts.live, alert] }, events: [] }
    : call({ ...alerts, live: [...alerts.live, alert] }, alert, rule, finding, nowMs);
}

function delayS(rule: Rule, finding: Finding): number {
  return finding.onDelayS ?? rule.onDelayS;
}

function call(alerts: Alerts, alert: Alert, rule: Rule, finding: Finding, nowMs: number): Told {
  const event = tell(finding, {
    id: `${alerts.series}a${alerts.nextNumber}`,
    alert: rule.alert,
    life: 'calling',
    atMs: nowMs,
    sinceMs: nowMs,
  });
  const happensSinceMs = finding.phase === 'happening' ? nowMs : null;
  const next = { ...alert, forming: null, told: event, toldAtMs: nowMs, happensSinceMs, awaySinceMs: null };
  const live = replace(alerts.live, alert, next);
  return { alerts: { ...alerts, live, nextNumber: alerts.nextNumber + 1 }, events: [event] };
}

function grow(alerts: Alerts, alert: Alert, rule: Rule, finding: Finding, nowMs: number): Told {
  const told = alert.told;
  if (told === null) {
    const isFormed = alert.forming !== null && secondsBetween(alert.forming.sinceMs, nowMs) >= delayS(rule, finding);
    return isFormed ? call(alerts, alert, rule, finding, nowMs) : quiet(alerts);
  }
  // Once it happens it is not talked back to merely foreseen: it is happening until it is over.
  const isWorse =
    (told.phase === 'foreseen' && finding.phase === 'happening') || RANK[finding.priority] > RANK[told.priority];
  const phase: Phase = told.phase === 'happening' ? 'happening' : finding.phase;
  const back = { ...alert, awaySinceMs: null };
  if (isWorse) return update(alerts, alert, back, finding, { ...told, phase, life: 'calling', atMs: nowMs }, null);
  if (shouldCallAgain(alert, told, nowMs)) {
    return update(alerts, alert, back, finding, { ...told, phase, life: 'calling', atMs: nowMs }, null);
  }
  const hasNews = finding.message !== told.message && finding.phase === told.phase;
  if (told.unknown === true || (hasNews && secondsBetween(alert.toldAtMs, nowMs) >= REFRESH_S)) {
    const { events, alerts: next } = update(alerts, alert, back, finding, { ...told, atMs: nowMs }, alert.seenAtMs);
    return { alerts: next, events: events.map((event) => ({ ...event, refresh: true })) };
  }
  return { alerts: { ...alerts, live: replace(alerts.live, alert, back) }, events: [] };
}

function shouldCallAgain(alert: Alert, told: AlertEvent, nowMs: number): boolean {
  if (told.life === 'put-aside') return told.putAsideUntilMs !== undefined && nowMs >= told.putAsideUntilMs;
  if (told.life !== 'seen' || alert.seenAtMs === null) return false;
  return secondsBetween(alert.seenAtMs, nowMs) >= CALL_AGAIN_S[told.priority];
}

function update(
  alerts: Alerts,
  alert: Alert,
  next: Alert,
  finding: Finding,
  base: AlertEvent,
  seenAtMs: number | null,
): Told {
  // What was once urgent is not talked down again while it lasts.
  const priority = RANK[base.priority] > RANK[finding.priority] ? base.priority : finding.priority;
  const phase = base.phase === 'happening' ? 'happening' : finding.phase;
  const told = tell({ ...finding, phase, priority }, base);
  const happensSinceMs = next.happensSinceMs ?? (phase === 'happening' ? told.atMs : null);
  const kept = { ...next, told, toldAtMs: told.atMs, happensSinceMs, seenAtMs };
  return { alerts: { ...alerts, live: replace(alerts.live, alert, kept) }, events: [told] };
}

/** The finding is gone: after the delay the alert is over; unseen it stays on the page until somebody has seen it. */
function fade(alerts: Alerts, alert: Alert, rule: Rule, nowMs: number): Told {
  const told = alert.told;
  if (told === null) return { alerts: { ...alerts, live: without(alerts.live, alert) }, events: [] };
  const awaySinceMs = alert.awaySinceMs ?? nowMs;
  if (secondsBetween(awaySinceMs, nowMs) < rule.offDelayS) {
    return { alerts: { ...alerts, live: replace(alerts.live, alert, { ...alert, awaySinceMs }) }, events: [] };
  }
  return endAlert(alerts, alert, rule, told, nowMs, awaySinceMs);
}

function endAlert(
  alerts: Alerts,
  alert: Alert,
  rule: Rule,
  told: AlertEvent,
  nowMs: number,
  awaySinceMs: number,
): Told {
  const life: AlertLife = told.life === 'seen' ? 'gone' : 'over-unseen';
  const { leadS: _lead, unknown: _unknown, putAsideUntilMs: _until, ...rest } = told;
  const message = rule.afterwards(told, secondsBetween(alert.happensSinceMs ?? told.sinceMs, awaySinceMs));
  const over: AlertEvent = { ...rest, phase: 'over', life, atMs: nowMs, message };
  const live = life === 'gone' ? without(alerts.live, alert) : replace(alerts.live, alert, { ...alert, told: over });
  return { alerts: { ...alerts, live }, events: [over] };
}

/** A fault of the readings never makes a worse alert look over (requirement A8). */
function keepUnknown(alerts: Alerts, alert: Alert | undefined, nowMs: number): Told {
  if (alert === undefined) return quiet(alerts);
  if (alert.told === null) return { alerts: { ...alerts, live: without(alerts.live, alert) }, events: [] };
  if (alert.told.unknown === true) {
    // What was away for a moment between two silences has not been away all the while.
    return quiet({ ...alerts, live: replace(alerts.live, alert, { ...alert, awaySinceMs: null }) });
  }
  const told: AlertEvent = { ...alert.told, atMs: nowMs, unknown: true };
  return {
    alerts: { ...alerts, live: replace(alerts.live, alert, { ...alert, told, awaySinceMs: null }) },
    events: [{ ...told, refresh: true }],
  };
}

/** "I've seen it", from whatever device. Seen twice changes nothing. */
export function seeAlert(alerts: Alerts, id: string, by: string, nowMs: number): Told {
  const alert = alerts.live.find((a) => a.told?.id === id);
  const told = alert?.told;
  if (alert === undefined || told == null || told.life === 'seen') return quiet(alerts);
  const { putAsideUntilMs: _until, ...rest } = told;
  if (told.phase === 'over') {
    const gone: AlertEvent = { ...rest, life: 'gone', atMs: nowMs, seenBy: by };
    return { alerts: { ...alerts, live: without(alerts.live, alert) }, events: [gone] };
  }
  const seen: AlertEvent = { ...rest, life: 'seen', atMs: nowMs, seenBy: by };
  return {
    alerts: { ...alerts, live: replace(alerts.live, alert, { ...alert, told: seen, seenAtMs: nowMs }) },
    events: [seen],
  };
}

/** "Remind me in 10": always timed, and a worse step calls all the same (requirement A6). */
export function putAside(alerts: Alerts, id: string, by: string, minutes: number, nowMs: number): Told {
  const alert = alerts.live.find((a) => a.told?.id === id);
  if (alert?.told == null || alert.told.phase === 'over') return quiet(alerts);
  const aside: AlertEvent = {
    ...alert.told,
    life: 'put-aside',
    atMs: nowMs,
    seenBy: by,
    putAsideUntilMs: nowMs + Math.min(minutes, 30) * 60_000,
  };
  return {
    alerts: { ...alerts, live: replace(alerts.live, alert, { ...alert, told: aside }) },
    events: [aside],
  };
}

/** The alerts that stand on the page. */
export function standing(alerts: Alerts): readonly AlertEvent[] {
  return alerts.live.flatMap((a) => (a.told === null ? [] : [a.told]));
}

type Base = Pick<AlertEvent, 'id' | 'alert' | 'life' | 'atMs' | 'sinceMs'> & Partial<AlertEvent>;

function tell(finding: Finding, base: Base): AlertEvent {
  return {
    type: 'alert',
    atMs: base.atMs,
    id: base.id,
    alert: base.alert,
    phase: finding.phase,
    priority: finding.priority,
    life: base.life,
    sinceMs: base.sinceMs,
    message: finding.message,
    because: finding.because,
    ...(finding.sensor !== undefined && { sensor: finding.sensor }),
    ...(finding.cause !== undefined && { cause: finding.cause }),
    ...(finding.leadS !== undefined && { leadS: finding.leadS }),
    ...(finding.forecastC !== undefined && { forecast: Math.round(finding.forecastC * 10) / 10 }),
    ...(base.seenBy !== undefined && base.life !== 'calling' && { seenBy: base.seenBy }),
    ...(base.putAsideUntilMs !== undefined && base.life === 'put-aside' && { putAsideUntilMs: base.putAsideUntilMs }),
  };
}

function quiet(alerts: Alerts): Told {
  return { alerts, events: [] };
}

function replace(live: readonly Alert[], old: Alert, next: Alert): readonly Alert[] {
  return live.map((a) => (a === old ? next : a));
}

function without(live: readonly Alert[], old: Alert): readonly Alert[] {
  return live.filter((a) => a !== old);
}
