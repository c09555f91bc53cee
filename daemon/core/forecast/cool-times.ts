/** When a kiln that is left to fall can be cracked and unloaded, from its steadiest pace. */
import type { Schedule } from '../plan/schedule.ts';
import type { Pace } from '../tracking/pace.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { isFallSettled } from './arrival.ts';
import { coolingTimeS } from './course.ts';

/** Null where nobody can say yet: it climbs, or the fall has only begun. */
export interface CoolTimes {
  readonly crackAtMs: number | null;
  readonly unloadAtMs: number | null;
}

export interface Cooling {
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  readonly pace: Pace;
  readonly startedAtMs: number;
  readonly lidMovedAtMs: number | null;
  readonly nowMs: number;
}

/** Nobody waits for a time that lies further off than this. Ours. */
const FARTHEST_S = 24 * 3600;
/** So near its end a fall is told from its present pace, settled or not. Ours. */
const NEAR_C = 30;

export function coolTimes(cooling: Cooling, nowC: number | null, crackC: number, unloadC: number): CoolTimes {
  if (!isComingDown(cooling)) return { crackAtMs: null, unloadAtMs: null };
  return { crackAtMs: coolAtMs(cooling, nowC, crackC), unloadAtMs: coolAtMs(cooling, nowC, unloadC) };
}

/** Without a plan a kiln that falls so fast is left to fall, °C/s (20 °C/h); common practice, no source. */
const FALLS_PER_S = -0.0056;

function isComingDown({ schedule, track, pace }: Cooling): boolean {
  if (schedule === null || track === null) return (pace.over8Min?.slopePerS ?? 0) < FALLS_PER_S;
  const segment = schedule.segments[track.segment];
  return segment === undefined || (segment.kind === 'ramp' && segment.toC < track.startC);
}

/** When the kiln, left alone, will have fallen to `goalC`; null while it does not fall. */
function coolAtMs(cooling: Cooling, nowC: number | null, goalC: number): number | null {
  const { pace, track, startedAtMs, lidMovedAtMs, nowMs } = cooling;
  // The steadiest pace there is: an open door or a turned damper makes the present one jump.
  const steady = pace.over8Min ?? pace.present;
  const fallsSinceMs = track?.startedAtMs ?? startedAtMs;
  const isTooEarly = !isFallSettled(fallsSinceMs, lidMovedAtMs, nowMs) && nowC !== null && nowC > goalC + NEAR_C;
  if (nowC === null || steady === undefined || isTooEarly) return null;
  const seconds = coolingTimeS(nowC, steady.slopePerS, goalC);
  return Number.isFinite(seconds) && seconds < FARTHEST_S ? nowMs + seconds * 1000 : null;
}
