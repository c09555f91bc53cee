/** How fast glass and medium may be heated and cooled: what the schedule says, else what its own ramps and the glass say. */
import type { Schedule, Segment } from '../plan/schedule.ts';
import { climbTopC } from '../plan/schedule.ts';
import { type PlanTrack, plannedNowC } from '../tracking/plan-track.ts';

export interface Limit {
  readonly maxCPerH: number;
  readonly why: string | null;
}

/** A ramp may run at half more than its own pace, and one that is behind its plan at twice it; common practice, no source. */
const RAMP_RATIO = 1.5;
const BEHIND_RATIO = 2;
/** Above the range in which glass anneals and below its strain point what is left to fall may fall. From practice, no source. */
export const ANNEALS_FROM_C = 425;

/** The steepest climb allowed at a temperature, °C/h; null where nobody sets one. */
export function climbLimit(
  schedule: Schedule,
  track: PlanTrack,
  atC: number,
  nowMs: number,
  toleranceC: number,
): Limit | null {
  const told = toldLimit(schedule, atC, () => true);
  if (told !== null) return told;
  const rate = rampRate(schedule, track, atC);
  if (rate === null) return null;
  const plannedC = plannedNowC(schedule, track, nowMs);
  const isAhead = plannedC !== null && atC > plannedC + toleranceC;
  return { maxCPerH: (isAhead ? RAMP_RATIO : BEHIND_RATIO) * rate, why: null };
}

/** The steepest fall allowed at a temperature, °C/h. What the medium asks for does not matter on the way down. */
export function fallLimit(schedule: Schedule, segment: Segment | null, atC: number): Limit | null {
  const told = toldLimit(schedule, atC, (toC) => toC > ANNEALS_FROM_C);
  if (told !== null) return told;
  if (segment?.kind === 'ramp' && typeof segment.rateCPerH === 'number') {
    return { maxCPerH: RAMP_RATIO * segment.rateCPerH, why: null };
  }
  // Left to fall, a shut kiln falls as it does: only what an open damper or door adds can be helped.
  return null;
}

function toldLimit(schedule: Schedule, atC: number, counts: (toC: number) => boolean): Limit | null {
  let least: Limit | null = null;
  for (const limit of schedule.limits ?? []) {
    if (atC < limit.fromC || atC > limit.toC || !counts(limit.toC)) continue;
    if (least === null || limit.maxCPerH < least.maxCPerH) least = { maxCPerH: limit.maxCPerH, why: limit.why };
  }
  return least;
}

/** The present ramp's pace, or the steepest of those that a climb passes about here. */
function rampRate(schedule: Schedule, track: PlanTrack, atC: number): number | null {
  let rate: number | null = null;
  for (let i = track.segment; i < schedule.segments.length; i++) {
    const segment = schedule.segments[i];
    if (segment?.kind !== 'ramp' || climbTopC(schedule, i) < segment.toC) break;
    if (typeof segment.rateCPerH !== 'number') return null;
    rate = Math.max(rate ?? 0, segment.rateCPerH);
    if (segment.toC > atC + 10) break;
  }
  return rate;
}
