/**
 * How the alerts of a firing have served the person, in figures (requirement A15), from what was told of them alone: so
 * whoever has the record comes to the same.
 */
import { isCall } from '../alerts/alert.ts';
import type { AlertEvent, AlertKind, Priority } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';

export interface AlertStatistics {
  /** Different alerts, from foreseen to over one each; and of these, those foreseen that never happened. */
  readonly alertCount: number;
  readonly avertedCount: number;
  readonly byPriority: Readonly<Record<Priority, number>>;
  /** Calls with a sound of their own: one alert may call several times. */
  readonly callCount: number;
  readonly callsPerH: number;
  /** Most calls within any ten minutes; a flood is more than ten. */
  readonly peakCount: number;
  /** Kinds that went on and off three times within a minute. */
  readonly chattering: readonly AlertKind[];
  /** From the first call to "I've seen it", of those that were seen. */
  readonly medianSeenAfterS: number | null;
  readonly longestSeenAfterS: number | null;
  /** Alerts that called and that nobody has seen. */
  readonly unseenCount: number;
  /** Which kinds called how often, the most frequent first. */
  readonly causes: readonly { readonly alert: AlertKind; readonly callCount: number }[];
}

/** @param toMs the firing's end, or this moment */
export function alertStatistics(events: readonly AlertEvent[], fromMs: number, toMs: number): AlertStatistics {
  const told = events.filter((e) => e.refresh !== true);
  const lives = [...groups(told, (e) => e.id).values()];
  const calls = told.filter(isCall);
  const seenAfterS = lives.flatMap((life) => seenAfter(life) ?? []).sort((a, b) => a - b);
  const byKind = [...groups(calls, (e) => e.alert)].map(([alert, all]) => ({ alert, callCount: all.length }));
  const hours = Math.max(secondsBetween(fromMs, toMs), 1) / 3600;
  return {
    alertCount: lives.length,
    avertedCount: lives.filter((life) => isOver(life) && life.every((e) => e.phase !== 'happening')).length,
    byPriority: {
      now: withPriority(lives, 'now'),
      soon: withPriority(lives, 'soon'),
      note: withPriority(lives, 'note'),
    },
    callCount: calls.length,
    callsPerH: Math.round((calls.length / hours) * 100) / 100,
    peakCount: mostWithin(calls, 600),
    chattering: chattering(lives),
    medianSeenAfterS: seenAfterS[Math.floor((seenAfterS.length - 1) / 2)] ?? null,
    longestSeenAfterS: seenAfterS.at(-1) ?? null,
    unseenCount: lives.filter((life) => life.some(isCall) && life.every((e) => e.seenBy === undefined)).length,
    causes: byKind.sort((a, b) => b.callCount - a.callCount || (a.alert < b.alert ? -1 : 1)),
  };
}

function isOver(life: readonly AlertEvent[]): boolean {
  return life.some((e) => e.phase === 'over');
}

/** As urgent as it became. */
function withPriority(lives: readonly (readonly AlertEvent[])[], priority: Priority): number {
  return lives.filter((life) => life.at(-1)?.priority === priority).length;
}

function seenAfter(life: readonly AlertEvent[]): number | null {
  const called = life.find(isCall);
  const seen = life.find((e) => e.seenBy !== undefined && called !== undefined && e.atMs >= called.atMs);
  return called === undefined || seen === undefined ? null : Math.round(secondsBetween(called.atMs, seen.atMs));
}

function chattering(lives: readonly (readonly AlertEvent[])[]): AlertKind[] {
  const ends = lives.flatMap((life) => life.find((e) => e.phase === 'over') ?? []);
  const byThing = [...groups(ends, (e) => `${e.alert} ${e.sensor ?? ''}`).values()];
  return [...new Set(byThing.filter((all) => mostWithin(all, 60) >= 3).flatMap((all) => all[0]?.alert ?? []))].sort();
}

/** The most of them within any stretch of so many seconds. */
function mostWithin(events: readonly AlertEvent[], seconds: number): number {
  const instants = events.map((e) => e.atMs).sort((a, b) => a - b);
  let most = 0;
  let from = 0;
  for (const [i, atMs] of instants.entries()) {
    while (secondsBetween(instants[from] ?? atMs, atMs) >= seconds) from++;
    most = Math.max(most, i - from + 1);
  }
  return most;
}

function groups<K>(events: readonly AlertEvent[], by: (event: AlertEvent) => K): Map<K, AlertEvent[]> {
  const all = new Map<K, AlertEvent[]>();
  for (const event of events) all.set(by(event), [...(all.get(by(event)) ?? []), event]);
  return all;
}
