/**
 * The steepest that this kiln has climbed so far, beside the pace of its plan. A hand goes in waves, one as high as the next: a
 * pace that none of them had is no wave.
 */
import { secondsBetween } from '../numbers/units.ts';
import { pacePerS, type Schedule } from '../plan/schedule.ts';
import type { PlanTrack } from './plan-track.ts';
import { type Trace, traceLine } from './trace.ts';

/** The pace of so long, and none younger than this, so that what begins now does not hide itself. Ours. */
const OVER_S = 300;
const PAST_S = 600;
/** Cooler a kiln that was lit a moment ago climbs as its flame does. From simulated firings. */
const WARM_C = 120;

/** So many times the plan's pace; null as long as there was no climb to go by. */
export function steepestRatio(
  before: number | null,
  trace: Trace,
  schedule: Schedule | null,
  track: PlanTrack | null,
): number | null {
  const segment = schedule === null || track === null ? null : schedule.segments[track.segment];
  const wantedPerS = pacePerS(segment);
  const lastMs = trace.bins[trace.bins.length - 1]?.atMs;
  if (wantedPerS === null || lastMs === undefined || track === null) return before;
  // Across a corner of the plan no pace is that of the one ramp or of the other.
  if (secondsBetween(track.startedAtMs, lastMs) < PAST_S + OVER_S) return before;
  const climb = traceLine(trace, PAST_S + OVER_S, PAST_S);
  if (climb === null || climb.perS <= 0 || climb.atEndC < WARM_C) return before;
  return Math.max(before ?? 0, climb.perS / wantedPerS);
}
