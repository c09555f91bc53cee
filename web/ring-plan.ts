/** What ought to sound now, and what to say with it. Pure: the screen's state and the time go in. */
import { type Dashboard, inOrder, isCallingForSomebody } from './dashboard-state.ts';
import { spoken } from './wording.ts';

/** Each sounds different; see `sound.ts`. */
export type Ring = 'now' | 'lost' | 'soon' | 'call' | 'note' | 'over';

export interface Wanted {
  readonly key: string;
  readonly ring: Ring;
  /** With the kiln's name: who hears it may stand between six of them. */
  readonly say: string;
}

/** Seconds until it sounds again as long as nobody came; null for what sounds once. Ours. */
const AGAIN_S: Readonly<Record<Ring, number | null>> = { now: 6, lost: 10, soon: 25, call: 60, note: null, over: null };
/** The voice says it again at every so manieth ring: a bell may go on, a voice that goes on is not listened to. Ours. */
const SAID_EACH = 6;

/** The most urgent first. */
export function wantedRings(dashboard: Dashboard | null, isNotLive: boolean): readonly Wanted[] {
  const wanted: Wanted[] = isNotLive ? [{ key: 'lost', ring: 'lost', say: spoken.lost }] : [];
  if (dashboard === null) return wanted;
  const nameOf = (kiln: string): string => dashboard.kilns.find(({ now }) => now.id === kiln)?.now.name ?? '';
  for (const alert of inOrder(dashboard.kilns.flatMap(({ now }) => now.alerts))) {
    const say = spoken.alert(nameOf(alert.kiln), alert.message);
    if (isCallingForSomebody(alert)) {
      wanted.push({ key: `${alert.id} ${alert.phase} ${alert.priority}`, ring: alert.priority, say });
    } else if (alert.life === 'over-unseen') wanted.push({ key: `${alert.id} over`, ring: 'over', say });
  }
  for (const { now } of dashboard.kilns) {
    for (const call of now.position?.calls ?? []) {
      if (call.state !== 'due' || now.firing === null) continue;
      const say = spoken.call(now.name, call.sentence);
      wanted.push({ key: `${now.firing.id} ${call.id}`, ring: 'call', say });
    }
  }
  return wanted.sort((a, b) => ORDER.indexOf(a.ring) - ORDER.indexOf(b.ring));
}

const ORDER: readonly Ring[] = ['now', 'lost', 'soon', 'call', 'note', 'over'];

/** What has sounded: forgotten once it is no longer wanted, so that it sounds at once if it comes back. */
export type Rung = ReadonlyMap<string, { readonly lastMs: number; readonly times: number }>;

export interface Due {
  readonly rung: Rung;
  /** What is to sound this instant: one thing, since two bells at once are none. */
  readonly ring: Wanted | null;
  readonly isSaid: boolean;
}

/** After a bell comes a pause, so that the next one is heard as another. */
const PAUSE_MS = 2500;

export function dueRing(wanted: readonly Wanted[], rung: Rung, nowMs: number): Due {
  const kept = new Map([...rung].filter(([key]) => wanted.some((one) => one.key === key)));
  const lastMs = Math.max(Number.NEGATIVE_INFINITY, ...[...rung.values()].map((one) => one.lastMs));
  const next = wanted.find(({ key, ring }) => isDue(kept.get(key)?.lastMs, AGAIN_S[ring], nowMs));
  // What is wanted now does not wait for the pause after something less.
  const mayInterrupt = next?.ring === 'now' && !kept.has(next.key);
  if (next === undefined || (nowMs - lastMs < PAUSE_MS && !mayInterrupt))
    return { rung: kept, ring: null, isSaid: false };
  const times = (kept.get(next.key)?.times ?? 0) + 1;
  kept.set(next.key, { lastMs: nowMs, times });
  return { rung: kept, ring: next, isSaid: times % SAID_EACH === 1 };
}

function isDue(lastMs: number | undefined, againS: number | null, nowMs: number): boolean {
  if (lastMs === undefined) return true;
  return againS !== null && nowMs - lastMs >= againS * 1000;
}
