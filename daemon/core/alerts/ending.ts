/** How an alert comes to its end, or why it does not yet. */
import type { AlertEvent, AlertLife } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';
import { type Alert, isLive, overKey, RANK } from './alert.ts';
import { type Book, put } from './book.ts';
import { firstCause, formingCause, isSameThing } from './first-cause.ts';
import type { Rule } from './rule.ts';
import { wording } from './wording.ts';

/** A better explanation replaces what was told up to this long before. */
const REPLACES_WITHIN_S = 60;

/**
 * The finding is gone: after the delay the alert is over, and unseen it stays on the page until somebody has seen it.
 * Under an explanation nobody can tell whether it is gone (requirement A8).
 */
export function fade(book: Book, alert: Alert, told: AlertEvent, rule: Rule): void {
  const { nowMs } = book.view;
  const { alerts, rules } = book;
  const isExplained =
    firstCause(alerts, rules, alert, 'note') !== null || formingCause(alerts, rules, alert, 'note') !== null;
  if (isExplained) {
    keepUnknown(book, alert, told);
    return;
  }
  const awaySinceMs = alert.awaySinceMs ?? nowMs;
  if (secondsBetween(awaySinceMs, nowMs) < alert.offDelayS) {
    put(book, alert, { ...alert, awaySinceMs });
    return;
  }
  const lastedS = secondsBetween(alert.happensSinceMs ?? told.sinceMs, awaySinceMs);
  const isLatched = alert.happensSinceMs !== null && rule.needsReset?.(book.view.kiln) === true;
  endAlert(book, alert, told, rule.afterwards(told, lastedS), null, isLatched);
}

/** A fault of the readings never makes a worse alert look over (requirement A8). */
export function keepUnknown(book: Book, alert: Alert, told: AlertEvent): void {
  // What was away for a moment between two silences has not been away all the while.
  const kept = { ...alert, awaySinceMs: null };
  if (told.unknown === true) put(book, alert, kept);
  else put(book, alert, kept, { ...told, atMs: book.view.nowMs, unknown: true, refresh: true });
}

/** "It was the lid, not the flame": what was told a moment ago and is explained now is over, unless it is more urgent. */
export function replaceMistakes(book: Book, better: Alert, id: string, kind: Alert['rule']): void {
  const { nowMs, kiln } = book.view;
  const order = book.rules.map((r) => r.alert);
  if (order.indexOf(kind) <= order.indexOf(better.rule)) return;
  for (const alert of book.alerts.live) {
    const { told } = alert;
    if (alert.rule !== kind || told === null || !isLive(alert) || !isSameThing(alert, better)) continue;
    if (secondsBetween(told.sinceMs, nowMs) > REPLACES_WITHIN_S) continue;
    if (RANK[alert.priority] > RANK[better.priority]) continue;
    endAlert(book, alert, told, wording.itWas(better.rule, kind, kiln.heat, kiln.closure), id);
  }
}

function endAlert(
  book: Book,
  alert: Alert,
  told: AlertEvent,
  message: string,
  replacedBy: string | null,
  isLatched = false,
): void {
  const { nowMs } = book.view;
  const isKnown = told.life === 'seen' || told.life === 'put-aside';
  const life: AlertLife = isLatched ? 'needs-reset' : isKnown ? 'gone' : 'over-unseen';
  const {
    leadS: _lead,
    unknown: _unknown,
    putAsideUntilMs: _until,
    heldBackBy: _under,
    refresh: _refresh,
    ...rest
  } = told;
  const over: AlertEvent = {
    ...rest,
    phase: 'over',
    life,
    atMs: nowMs,
    message,
    ...(replacedBy !== null && life === 'over-unseen' && { heldBackBy: replacedBy }),
  };
  const key = overKey(alert.rule, alert.key);
  book.alerts = { ...book.alerts, overAtMs: { ...book.alerts.overAtMs, [key]: nowMs } };
  put(book, alert, life === 'gone' ? null : { ...alert, isOfFlood: false }, over);
}
