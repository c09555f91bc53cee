/** One instant's work on the alerts, and how it is written down. */
import type { AlertEvent, Phase, Priority } from '../events.ts';
import { type Alert, type Alerts, callsUntil, isCall, replaced } from './alert.ts';
import type { Finding, Rule, View } from './rule.ts';

/** One instant's work: what has become of the alerts so far, and what is to be told. */
export interface Book {
  alerts: Alerts;
  readonly said: AlertEvent[];
  readonly rules: readonly Rule[];
  readonly view: View;
}

/** Puts `next` in the place of `old`, and tells `event` of it. */
export function put(book: Book, old: Alert, next: Alert | null, event?: AlertEvent): void {
  if (event === undefined) {
    book.alerts = replaced(book.alerts, old, next);
    return;
  }
  const { refresh: _refresh, ...told } = event;
  const { atMs } = event;
  const calls = isCall(event);
  book.alerts = replaced(
    book.alerts,
    old,
    next && { ...next, told, toldAtMs: atMs, ...(calls && { calledAtMs: atMs }) },
  );
  if (calls) book.alerts = { ...book.alerts, callsAtMs: [...callsUntil(book.alerts.callsAtMs, atMs), atMs] };
  book.said.push(event);
}

export function found({ explains = [], replaces = [] }: Finding): Pick<Alert, 'explains' | 'awaySinceMs'> {
  return { explains: replaces.length === 0 ? explains : [...explains, ...replaces], awaySinceMs: null };
}

type Base = Pick<AlertEvent, 'id' | 'alert' | 'life' | 'atMs' | 'sinceMs'> & Partial<AlertEvent>;
type Words = Omit<Finding, 'phase' | 'priority'> & { readonly phase: Phase; readonly priority: Priority };

export function tell(finding: Words, base: Base): AlertEvent {
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
    ...(finding.forecastAtMs !== undefined && { forecastAtMs: finding.forecastAtMs }),
    ...(base.heldBackBy !== undefined && { heldBackBy: base.heldBackBy }),
    ...(base.seenBy !== undefined && base.life !== 'calling' && { seenBy: base.seenBy }),
    ...(base.putAsideUntilMs !== undefined && base.life === 'put-aside' && { putAsideUntilMs: base.putAsideUntilMs }),
  };
}
