/** Notices that a kiln warms with no firing on, so that it is recorded from its first warm reading. */
import type { TimedC } from '../numbers/line-fit.ts';

export interface IdleWatch {
  /** Readings of the ruling sensor of the last half hour, oldest first. */
  readonly recent: readonly TimedC[];
  /** The daemon has just started: a hot kiln that does not cool is being fired already. */
  readonly isFresh: boolean;
}

export const FRESH_WATCH: IdleWatch = { recent: [], isFresh: true };
export const IDLE_WATCH: IdleWatch = { recent: [], isFresh: false };

const RECENT_MS = 30 * 60_000;
/** Warm enough to be no summer's day, and this much warmer than it lately was. Common practice, no source. */
const WARM_C = 35;
const RISE_C = 6;
/** A kiln this hot that has not fallen for two minutes is being fired, whoever lit it. */
const HOT_C = 100;
const HOT_FOR_MS = 120_000;

export interface BeginSign {
  readonly watch: IdleWatch;
  /** The instant of the first warm reading, once the kiln is known to be warming. */
  readonly beganAtMs: number | null;
}

export function watchForBegin(watch: IdleWatch, reading: TimedC): BeginSign {
  const recent = [...watch.recent, reading].filter((r) => r.atMs >= reading.atMs - RECENT_MS);
  const next = { ...watch, recent };
  if (watch.isFresh && isFiredAlready(recent, reading)) {
    return { watch: next, beganAtMs: recent[0]?.atMs ?? reading.atMs };
  }
  const lowest = recent.reduce((low, r) => (r.celsius <= low.celsius ? r : low), reading);
  const hasRisen = reading.celsius >= WARM_C && lastThree(recent).every((r) => r.celsius - lowest.celsius >= RISE_C);
  return { watch: next, beganAtMs: hasRisen ? lowest.atMs : null };
}

function isFiredAlready(recent: readonly TimedC[], now: TimedC): boolean {
  const first = recent[0];
  if (first === undefined || now.atMs - first.atMs < HOT_FOR_MS) return false;
  return now.celsius >= HOT_C && now.celsius >= first.celsius - 1;
}

/** One leaping reading is no warming. */
function lastThree(recent: readonly TimedC[]): readonly TimedC[] {
  return recent.length < 3 ? [{ atMs: 0, celsius: Number.NEGATIVE_INFINITY }] : recent.slice(-3);
}
