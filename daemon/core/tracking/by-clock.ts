/** The plan as a controller keeps it that runs by the clock, and how far the kiln is behind that. */
import { secondsBetween } from '../numbers/units.ts';
import { programme, rampS } from '../plan/programme.ts';
import type { Schedule } from '../plan/schedule.ts';
import { type PlanTrack, planBegan } from './plan-track.ts';

/**
 * What the plan wanted at an instant had it been kept to the minute since the firing began, °C: where a controller that
 * runs its programme by the clock is. null where a segment on the way has no planned length; after the last one, nothing
 * is wanted: -Infinity.
 */
export function plannedByClockC(schedule: Schedule, track: PlanTrack, atMs: number): number | null {
  const first = planBegan(track);
  const sinceS = secondsBetween(first.startedAtMs, atMs);
  for (const { fromC, toC, fromS, lengthS } of programme(schedule, first.startC)) {
    if (!Number.isFinite(lengthS)) return null;
    if (sinceS < fromS + lengthS) return fromC + ((toC - fromC) * (sinceS - fromS)) / lengthS;
  }
  return Number.NEGATIVE_INFINITY;
}

/**
 * Minutes since a programme kept to the minute came up to a temperature for the first time; 0 where it has not yet, or
 * where a segment on the way has no planned length. What is within `toleranceC` of a climb's end has been there, and holds
 * as the programme does.
 */
export function minutesBehindClock(
  schedule: Schedule,
  track: PlanTrack,
  atMs: number,
  celsius: number,
  toleranceC: number,
): number {
  const first = planBegan(track);
  for (const { segment, fromC, toC, fromS } of programme(schedule, first.startC)) {
    if (segment.kind !== 'ramp' || toC - toleranceC < celsius) continue;
    const dueS = fromS + rampS({ ...segment, toC: Math.max(celsius, fromC) }, fromC);
    return Math.max(secondsBetween(first.startedAtMs, atMs) - dueS, 0) / 60;
  }
  return 0;
}
