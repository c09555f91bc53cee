/** When a firing is over by itself: the kiln is cool again after having been warm. */
import type { KilnSetup } from '../plan/kiln.ts';
import type { Schedule } from '../plan/schedule.ts';
import type { PlanTrack } from './plan-track.ts';
import type { SensorTrack } from './sensor-track.ts';

/** Pieces come out below this, °C; common practice, no source (reference: below 38 to 60). */
export const UNLOAD_C = 50;
/** A kiln whose plan is done ends soon; one that was given up half-way is waited for, it may be lit again. */
const DONE_MS = 5 * 60_000;
const GIVEN_UP_MS = 45 * 60_000;
/** A kiln that never rose by this much was not fired. */
const FIRED_RISE_C = 15;

interface Known {
  readonly kiln: KilnSetup;
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  readonly nowMs: number;
  readonly coolSinceMs: number | null;
  readonly sensors: Readonly<Record<string, SensorTrack>>;
  readonly rulingSensor: string;
  readonly way: readonly { readonly celsius: number }[];
}

export function unloadBelowC(kiln: KilnSetup, schedule: Schedule | null): number {
  return Math.min(schedule?.safeOpenC ?? kiln.safeOpenC ?? UNLOAD_C, UNLOAD_C);
}

export function firingOver(known: Known): { coolSinceMs: number | null; why: string | null } {
  const ruling = known.sensors[known.rulingSensor];
  const peakC = ruling?.peakC ?? null;
  const startC = known.way[0]?.celsius ?? null;
  if (ruling?.last == null || peakC === null || startC === null) return { coolSinceMs: null, why: null };
  // A drying at 50 °C ends too: the kiln must have come well down from its own peak.
  const coolC = Math.min(unloadBelowC(known.kiln, known.schedule), peakC - 10);
  const isCool = peakC - startC >= FIRED_RISE_C ? ruling.last.celsius <= coolC : false;
  const wasHotStart = startC - ruling.last.celsius >= FIRED_RISE_C && ruling.last.celsius <= coolC;
  if (!isCool && !wasHotStart) return { coolSinceMs: null, why: null };
  const coolSinceMs = known.coolSinceMs ?? known.nowMs;
  const isDone =
    known.schedule === null || known.track === null || known.track.segment >= known.schedule.segments.length;
  const isLong = known.nowMs - coolSinceMs >= (isDone ? DONE_MS : GIVEN_UP_MS);
  return { coolSinceMs, why: isLong ? 'the kiln is cool again' : null };
}
