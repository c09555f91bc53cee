/**
 * The life of an alert in plain words (requirement 2.1): forming, calling, seen, put aside, held back, over but unseen, in
 * need of a reset, gone. Foreseen and happening are one alert that gets worse, with one id from first to last.
 * A pure state machine: the rules' opinions and the time go in, what to tell comes out. What a person does with an alert is
 * in `answers.ts`; which alert is listed under which, and so makes no sound of its own, in `first-cause.ts`.
 *
 * What was once urgent is not talked down while it lasts, and what happens is not talked back to foreseen.
 */
import type { AlertEvent, Phase } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';
import { type Alert, type Alerts, isLive, overKey, RANK, type Told } from './alert.ts';
import { type Book, found, put, tell } from './book.ts';
import { fade, keepUnknown, replaceMistakes } from './ending.ts';
import { firstCause, firstOfFlood, formingCause, listings } from './first-cause.ts';
import type { Finding, Opinion, Rule, Saying, View } from './rule.ts';

/** A seen alert that is still true calls again after this (requirement A5); a note never does. */
const CALL_AGAIN_S = { now: 600, soon: 1200, note: Number.POSITIVE_INFINITY } as const;
/** A worse phase needs no delay; the words are brought up to date this often while they change. */
const REFRESH_S = 60;
/** Half of the time that is left may be seconds, which help nobody; one noisy reading must not call then. */
const AT_LEAST_S = 10;
/** How much longer than its own delay a finding waits for a better explanation that is still forming. */
const PATIENCE_S = 60;
/** What comes back this soon after it was over is on the edge: it is then over only after this long an absence. */
const BACK_WITHIN_S = 300;
const EDGE_OFF_DELAY_S = 60;
/** Where a kiln is slow to show, what comes back within so long is the same trouble still, and stands for so long. Ours. */
const SLOW_BACK_WITHIN_S = 1800;
const SLOW_EDGE_OFF_DELAY_S = 900;

/** Asks every rule, and carries all alerts on to this instant. `rules` are in the order in which they explain things. */
export function judgeAlerts(alerts: Alerts, rules: readonly Rule[], view: View): Told {
  const book: Book = { alerts, said: [], rules, view };
  for (const rule of rules) {
    if (!isSwitchedOff(alerts, rule)) carryRule(book, rule, rule.judge(view));
  }
  if (book.alerts.live.length > 0) {
    bringBack(book);
    arrange(book);
  }
  return { alerts: book.alerts, events: book.said };
}

function isSwitchedOff({ switchedOff }: Alerts, rule: Rule): boolean {
  return switchedOff.length > 0 && switchedOff.some((off) => off.alert === rule.alert);
}

/** Carries on what one rule has alerted of: one alert of the kiln, or one of each sensor. */
function carryRule(book: Book, rule: Rule, opinion: Opinion): void {
  const isOfAll = opinion === undefined || typeof opinion === 'string';
  if (isOfAll && book.alerts.live.length === 0) return;
  const own = book.alerts.live.filter((a) => a.rule === rule.alert && isLive(a));
  if (isOfAll) {
    for (const alert of own) carry(book, rule, alert.key, opinion);
    return;
  }
  const named = new Set<string>();
  for (const one of Array.isArray(opinion) ? (opinion as Extract<Opinion, readonly unknown[]>) : [opinion as Finding]) {
    const key = Array.isArray(opinion) ? (one.sensor ?? '') : '';
    if (named.has(key)) continue;
    named.add(key);
    carry(book, rule, key, 'doubt' in one ? one.doubt : one);
  }
  for (const alert of own) if (!named.has(alert.key)) carry(book, rule, alert.key, undefined);
}

function carry(book: Book, rule: Rule, key: string, saying: Saying): void {
  const alert = book.alerts.live.find((a) => a.rule === rule.alert && a.key === key && isLive(a));
  const told = alert?.told ?? null;
  if (typeof saying === 'object') {
    if (alert !== undefined && told !== null) grow(book, alert, told, saying);
    else form(book, alert ?? newAlert(book, rule, key, saying), rule, saying);
  } else if (alert !== undefined) {
    // What is not found at this moment has not stood.
    if (told === null) put(book, alert, null);
    else if (saying === 'unknown') keepUnknown(book, alert, told);
    else if (saying === undefined) fade(book, alert, told, rule);
  }
}

function newAlert({ view }: Book, rule: Rule, key: string, finding: Finding): Alert {
  return {
    rule: rule.alert,
    key,
    explains: [],
    priority: finding.priority,
    formingSinceMs: view.nowMs,
    told: null,
    toldAtMs: view.nowMs,
    calledAtMs: view.nowMs,
    happensSinceMs: null,
    awaySinceMs: null,
    offDelayS: rule.offDelayS,
    seenAtMs: null,
    segment: null,
    isOfFlood: false,
  };
}

/** A finding that is not yet believed: it must stand for its delay, and nothing must explain it better. */
function form(book: Book, before: Alert, rule: Rule, finding: Finding): void {
  const { nowMs } = book.view;
  const { priority } = finding;
  const isNew = !book.alerts.live.includes(before);
  // Under an explanation that stands it does not begin; afterwards it must stand anew.
  if (firstCause(book.alerts, book.rules, before, priority) !== null) {
    if (!isNew) put(book, before, null);
    return;
  }
  const alert = { ...before, ...found(finding), priority };
  if (isNew) book.alerts = { ...book.alerts, live: [...book.alerts.live, alert] };
  else put(book, before, alert);
  const stoodS = secondsBetween(alert.formingSinceMs ?? nowMs, nowMs);
  const isExplained = formingCause(book.alerts, book.rules, alert, priority) !== null;
  if (stoodS >= delayS(rule, finding, isExplained ? PATIENCE_S : 0)) call(book, alert, rule, finding);
}

/** Never longer than half of the time that is left, unless that is too little for anybody to do anything. */
function delayS(rule: Rule, finding: Finding, patienceS: number): number {
  const ownS = (finding.onDelayS ?? rule.onDelayS) + patienceS;
  if (finding.phase === 'happening' || finding.leadS === undefined) return ownS;
  return Math.min(ownS, Math.max(finding.leadS / 2, AT_LEAST_S));
}

function call(book: Book, alert: Alert, rule: Rule, finding: Finding): void {
  const { nowMs } = book.view;
  const { nextNumber, series, overAtMs } = book.alerts;
  const id = `${series}a${nextNumber}`;
  const group = firstOfFlood(book.alerts, alert, nowMs);
  const lastOverMs = overAtMs[overKey(alert.rule, alert.key)];
  const awayS = lastOverMs === undefined ? Number.POSITIVE_INFINITY : secondsBetween(lastOverMs, nowMs);
  const told = tell(finding, {
    id,
    alert: rule.alert,
    life: 'calling',
    atMs: nowMs,
    sinceMs: nowMs,
    ...(group !== null && { heldBackBy: group }),
  });
  const calls: Alert = {
    ...alert,
    formingSinceMs: null,
    happensSinceMs: finding.phase === 'happening' ? nowMs : null,
    offDelayS: Math.max(rule.offDelayS, edgeOffDelayS(rule, awayS)),
    isOfFlood: group !== null,
  };
  book.alerts = { ...book.alerts, nextNumber: nextNumber + 1 };
  put(book, alert, calls, told);
  for (const kind of finding.replaces ?? []) replaceMistakes(book, calls, id, kind);
}

/** How long what came back after so long must be away this time. */
function edgeOffDelayS(rule: Rule, awayS: number): number {
  if (rule.isSlow === true && awayS < SLOW_BACK_WITHIN_S) return SLOW_EDGE_OFF_DELAY_S;
  return awayS < BACK_WITHIN_S ? EDGE_OFF_DELAY_S : 0;
}

/** An alert that has called, found again. */
function grow(book: Book, before: Alert, told: AlertEvent, finding: Finding): void {
  const { nowMs } = book.view;
  const isWorse =
    (told.phase === 'foreseen' && finding.phase === 'happening') || RANK[finding.priority] > RANK[before.priority];
  const priority = RANK[before.priority] > RANK[finding.priority] ? before.priority : finding.priority;
  const phase: Phase = told.phase === 'happening' ? 'happening' : finding.phase;
  const happensSinceMs = before.happensSinceMs ?? (phase === 'happening' ? nowMs : null);
  const alert = { ...before, ...found(finding), priority, happensSinceMs };
  const words = { ...finding, phase, priority };
  if (isWorse || isDueAgain(before, told, nowMs)) {
    const { heldBackBy, ...rest } = told;
    const link = isWorse ? linkOf(book, alert, heldBackBy) : heldBackBy;
    const event = tell(words, {
      ...rest,
      life: 'calling',
      atMs: nowMs,
      ...(link !== undefined && { heldBackBy: link }),
    });
    put(book, before, { ...alert, seenAtMs: null, isOfFlood: alert.isOfFlood && link !== undefined }, event);
    return;
  }
  // Words that change are news once a minute; that the cause is another is news for the record too, and is said aloud
  // to whoever has not yet seen it.
  const isNewCause = finding.cause !== told.cause;
  const hasNews = (finding.message !== told.message || isNewCause) && finding.phase === told.phase;
  if (told.unknown === true || (hasNews && secondsBetween(before.toldAtMs, nowMs) >= REFRESH_S)) {
    const event = tell(words, { ...told, atMs: nowMs });
    put(book, before, alert, isNewCause ? event : { ...event, refresh: true });
    return;
  }
  put(book, before, alert);
}

/** Under what a worsened alert stays listed: an explanation as urgent as itself, or its flood if it is not urgent. */
function linkOf({ alerts, rules }: Book, alert: Alert, heldBackBy: string | undefined): string | undefined {
  const cause = firstCause(alerts, rules, alert, alert.priority);
  if (cause?.told != null) return cause.told.heldBackBy ?? cause.told.id;
  return alert.isOfFlood && alert.priority !== 'now' ? heldBackBy : undefined;
}

function isDueAgain(alert: Alert, told: AlertEvent, nowMs: number): boolean {
  if (told.life !== 'seen' || alert.seenAtMs === null || told.heldBackBy !== undefined) return false;
  return secondsBetween(alert.seenAtMs, nowMs) >= CALL_AGAIN_S[alert.priority];
}

/** What was put aside is back on time, or with the next segment, whether or not anybody can judge it (requirement A6). */
function bringBack(book: Book): void {
  const { nowMs, track } = book.view;
  const segment = track?.segment ?? null;
  for (const alert of book.alerts.live) {
    const { told } = alert;
    if (told?.life !== 'put-aside' || alert.awaySinceMs !== null) continue;
    const { putAsideUntilMs, refresh: _refresh, seenBy: _by, ...rest } = told;
    if (nowMs < (putAsideUntilMs ?? nowMs) && segment === alert.segment) continue;
    put(book, alert, { ...alert, seenAtMs: null }, { ...rest, life: 'calling', atMs: nowMs });
  }
}

/** Lists each alert under its first cause, and lets those call whose cause is gone. */
function arrange(book: Book): void {
  if (book.alerts.live.every((a) => a.explains.length === 0 && a.told?.heldBackBy === undefined)) return;
  const { nowMs } = book.view;
  const under = listings(book.alerts, book.rules);
  let hasGrouped = false;
  for (const alert of book.alerts.live) {
    const { told } = alert;
    if (told === null) continue;
    const link = under.get(told.id);
    if (link === told.heldBackBy) continue;
    const { heldBackBy: _under, refresh: _refresh, ...rest } = told;
    const isFree = link === undefined && told.life === 'calling' && told.unknown !== true;
    const group = isFree ? firstOfFlood(book.alerts, alert, nowMs, under) : null;
    if (group !== null) hasGrouped = true;
    const heldBackBy = link ?? group ?? undefined;
    const event: AlertEvent = { ...rest, atMs: nowMs, ...(heldBackBy !== undefined && { heldBackBy }) };
    const isOfFlood = group !== null || (link !== undefined && alert.isOfFlood);
    put(book, alert, { ...alert, isOfFlood }, event);
  }
  // What is listed under one that was grouped just now goes along with it.
  if (hasGrouped) arrange(book);
}
