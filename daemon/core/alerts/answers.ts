/** What a person does with an alert: has seen it, puts it aside, resets it, switches a kind of it off. */
import type { AlertEvent, AlertKind } from '../events.ts';
import { type Alert, type Alerts, isLive, nothingNew, replaced, type Told } from './alert.ts';
import { wording } from './wording.ts';

/** Nothing is put aside for longer (requirement A6). */
const LONGEST_ASIDE_MINUTES = 30;

/** "I've seen it", from whatever device. Seen twice changes nothing. */
export function seeAlert(alerts: Alerts, id: string, by: string, nowMs: number): Told {
  const alert = withId(alerts, id);
  const told = alert?.told;
  if (alert === undefined || told == null) return nothingNew(alerts);
  const base = { ...withoutAside(told), atMs: nowMs, seenBy: by };
  if (told.life === 'over-unseen') return takeAway(alerts, alert, { ...base, life: 'gone' });
  if (told.life === 'seen' || (told.life === 'needs-reset' && told.seenBy !== undefined)) return nothingNew(alerts);
  const life = told.life === 'needs-reset' ? 'needs-reset' : 'seen';
  return keep(alerts, { ...alert, seenAtMs: nowMs }, alert, { ...base, life }, by);
}

/** "Remind me in 10": always timed, to the end of the segment at most, and a worse step calls all the same. */
export function putAside(
  alerts: Alerts,
  id: string,
  by: string,
  minutes: number,
  segment: number | null,
  nowMs: number,
): Told {
  const alert = withId(alerts, id);
  if (alert?.told == null || !isLive(alert)) return nothingNew(alerts);
  const putAsideUntilMs = nowMs + Math.min(minutes, LONGEST_ASIDE_MINUTES) * 60_000;
  const aside: AlertEvent = { ...alert.told, life: 'put-aside', atMs: nowMs, seenBy: by, putAsideUntilMs };
  return keep(alerts, { ...alert, segment }, alert, aside, by);
}

/** Somebody has looked and says that all is well again; while the fault is still found nobody can. */
export function resetAlert(alerts: Alerts, id: string, by: string, nowMs: number): Told {
  const alert = withId(alerts, id);
  if (alert?.told?.life !== 'needs-reset') return nothingNew(alerts);
  return takeAway(alerts, alert, { ...alert.told, life: 'gone', atMs: nowMs, seenBy: by });
}

/** A kind is no longer watched in this firing. What stands of it leaves; what is over waits to be seen as before. */
export function switchOff(alerts: Alerts, kind: AlertKind, by: string, why: string, nowMs: number): Told {
  if (alerts.switchedOff.some((off) => off.alert === kind)) return nothingNew(alerts);
  const ofKind = alerts.live.filter((a) => a.rule === kind && isLive(a));
  const events = ofKind.flatMap(({ told }): AlertEvent[] => {
    if (told === null) return [];
    const { heldBackBy: _under, ...rest } = withoutAside(told);
    return [{ ...rest, phase: 'over', life: 'gone', atMs: nowMs, seenBy: by, message: wording.switchedOff(by, why) }];
  });
  return {
    alerts: {
      ...alerts,
      live: alerts.live.filter((a) => !ofKind.includes(a)),
      switchedOff: [...alerts.switchedOff, { alert: kind, by, why, sinceMs: nowMs }],
    },
    events,
  };
}

export function switchOn(alerts: Alerts, kind: AlertKind): Alerts {
  return { ...alerts, switchedOff: alerts.switchedOff.filter((off) => off.alert !== kind) };
}

function withId(alerts: Alerts, id: string): Alert | undefined {
  return alerts.live.find((a) => a.told?.id === id);
}

function withoutAside({ putAsideUntilMs: _until, ...rest }: AlertEvent): AlertEvent {
  return rest;
}

/** The alert stays with what is told of it now; the mistakes that it replaced are seen together with it. */
function keep(alerts: Alerts, next: Alert, old: Alert, told: AlertEvent, by: string): Told {
  let kept = replaced(alerts, old, { ...next, told, toldAtMs: told.atMs });
  const events = [told];
  for (const other of alerts.live) {
    if (other.told?.life !== 'over-unseen' || other.told.heldBackBy !== told.id) continue;
    kept = replaced(kept, other, null);
    events.push({ ...other.told, life: 'gone', atMs: told.atMs, seenBy: by });
  }
  return { alerts: kept, events };
}

function takeAway(alerts: Alerts, alert: Alert, gone: AlertEvent): Told {
  return { alerts: replaced(alerts, alert, null), events: [gone] };
}
