/**
 * Which alert is listed under which (requirements A7, A8 and A9).
 *
 * An alert is held back by one that explains it, if that one comes earlier in the catalogue and is at least as urgent: the
 * more urgent is told whatever explains it, and no circle can arise. Listed is under the first cause, however long the
 * chain. A held-back alert has no sound of its own, but nothing else of it is lost: it stays on the page, it gets worse, it
 * can be seen, and it is never over while its explanation stands, since it cannot be judged under it.
 *
 * Of a flood, more than three calls within ten minutes, the later ones that are not of priority `now` are listed under the
 * first that still stands.
 */
import type { AlertEvent, AlertKind, Priority } from '../events.ts';
import { type Alert, type Alerts, callsUntil, isLive, RANK } from './alert.ts';
import type { Rule } from './rule.ts';

/** Calls within ten minutes, after which further ones are grouped (requirement 2.2). */
const FLOOD_CALLS = 3;

interface About {
  readonly rule: AlertKind;
  readonly key: string;
}

/**
 * The first cause of what `about` names, among alerts that have been told.
 *
 * @param least how urgent the cause must be at least
 */
export function firstCause(alerts: Alerts, rules: readonly Rule[], about: About, least: Priority): Alert | null {
  return causeAmong(alerts.live, rules, about, least, (a) => a.told !== null);
}

/** As `firstCause`, among those that still form: each is found at this very instant, else it would not. */
export function formingCause(alerts: Alerts, rules: readonly Rule[], about: About, least: Priority): Alert | null {
  return causeAmong(alerts.live, rules, about, least, (a) => a.told === null);
}

function causeAmong(
  live: readonly Alert[],
  rules: readonly Rule[],
  about: About,
  least: Priority,
  isMeant: (alert: Alert) => boolean,
): Alert | null {
  for (const rule of rules) {
    // A cause comes before what it explains, so the search ends here, and no circle can arise.
    if (rule.alert === about.rule) return null;
    for (const cause of live) {
      const isCause = cause.rule === rule.alert && isLive(cause) && cause.explains.includes(about.rule);
      if (!isCause || !isMeant(cause) || !isSameThing(cause, about) || RANK[cause.priority] < RANK[least]) continue;
      return causeAmong(live, rules, cause, cause.priority, isMeant) ?? cause;
    }
  }
  return null;
}

/** Where both are told by sensor, one explains the other only of the same sensor. */
export function isSameThing(one: About, other: About): boolean {
  return one.key === '' || other.key === '' || one.key === other.key;
}

/**
 * The first of a flood under which a call at this moment is listed; null if it may call for itself.
 *
 * @param under alerts that are about to be listed under others: they lead no flood
 */
export function firstOfFlood(
  alerts: Alerts,
  of: Alert,
  nowMs: number,
  under: ReadonlyMap<string, string> = new Map(),
): string | null {
  if (of.priority === 'now') return null;
  const calls = callsUntil(alerts.callsAtMs, nowMs);
  if (calls.length < FLOOD_CALLS) return null;
  let first: Alert | null = null;
  for (const alert of alerts.live) {
    const { told } = alert;
    const isLed = told === null || told.heldBackBy !== undefined || under.has(told.id);
    if (alert === of || isLed || !isLive(alert) || !calls.includes(alert.calledAtMs)) continue;
    if (first === null || alert.calledAtMs < first.calledAtMs) first = alert;
  }
  return first?.told?.id ?? null;
}

/** Under which alert each of the told ones is to be listed from now on, by their ids; those that stand alone are left out. */
export function listings(alerts: Alerts, rules: readonly Rule[]): ReadonlyMap<string, string> {
  const under = new Map<string, string>();
  const byId = new Map<string, AlertEvent>();
  for (const alert of alerts.live) {
    const { told } = alert;
    if (told === null) continue;
    byId.set(told.id, told);
    const cause = isLive(alert) ? firstCause(alerts, rules, alert, alert.priority) : null;
    if (cause?.told != null) under.set(told.id, cause.told.id);
  }
  // Explanations first, for they are true; then what a flood has grouped, where that makes no circle.
  for (const alert of alerts.live) {
    const id = alert.told?.id;
    const kept = alert.told?.heldBackBy;
    if (id === undefined || kept === undefined || under.has(id) || !isKept(alert, byId.get(kept))) continue;
    if (topOf(under, kept) !== id) under.set(id, kept);
  }
  for (const [id, leader] of under) under.set(id, topOf(under, leader));
  return under;
}

/** What a flood listed stays there while the flood's first stands; what was replaced, while its better explanation is there. */
function isKept(alert: Alert, leader: AlertEvent | undefined): boolean {
  if (leader === undefined) return false;
  if (!isLive(alert)) return true;
  return alert.isOfFlood && alert.priority !== 'now' && leader.phase !== 'over';
}

function topOf(under: ReadonlyMap<string, string>, id: string): string {
  let top = id;
  for (let next = under.get(top); next !== undefined; next = under.get(top)) top = next;
  return top;
}
