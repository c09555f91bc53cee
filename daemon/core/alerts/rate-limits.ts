/** How fast glass and medium may be heated and cooled: what the schedule says, else what its own ramps and the glass say. */
import {
  countsForFall,
  goesDown,
  isLimitOfFall,
  limitHighC,
  limitLowC,
  type RateLimit,
  type Schedule,
  type Segment,
  targetC,
} from '../plan/schedule.ts';
import { type PlanTrack, plannedNowC } from '../tracking/plan-track.ts';

export interface Limit {
  readonly maxCPerH: number;
  readonly why: string | null;
}

/**
 * A ramp may run at half more than its own pace, one that is behind its plan at twice it, and any a degree a minute faster;
 * common practice, no source.
 */
const RAMP_RATIO = 1.5;
const BEHIND_RATIO = 2;
const MORE_CPERH = 60;
/** So far below its corner a ramp may have begun: its controller's couple, or the hand, is a little ahead. Ours. */
const SOON_HERE_C = 10;
/** A guided fall counts beside the schedule's limits from so many times its pace on. Ours. */
const BESIDE_LIMITS_RATIO = 2;
/** What harms is the pace over so long, up or down. Common practice, no source. */
export const HARM_OVER_S = 300;
/** Nor does it bear to fall by more than 40 °C within two minutes. Common practice, no source. */
export const CHILLED_CPERH = 1200;

export interface Climb {
  readonly schedule: Schedule;
  readonly track: PlanTrack;
  readonly toleranceC: number;
  readonly nowMs: number;
}

/**
 * The steepest climb allowed over the harmful stretch that ends now, °C/h; null where nobody sets one. What was allowed in
 * the middle of it counts as well: past a corner the pace is still that of before.
 */
export function climbLimit(climb: Climb, nowC: number, middleC: number): Limit | null {
  const { schedule, track, toleranceC, nowMs } = climb;
  const plannedC = plannedNowC(schedule, track, nowMs);
  const ratio = plannedC !== null && nowC > plannedC + toleranceC ? RAMP_RATIO : BEHIND_RATIO;
  return stretchLimit(climb, nowC, middleC, ratio);
}

/** As `climbLimit`, for what no hand does that catches up with its plan: also of a kiln that is behind. */
export function surgeLimit(climb: Climb, nowC: number, middleC: number): Limit | null {
  return stretchLimit(climb, nowC, middleC, RAMP_RATIO);
}

function stretchLimit({ schedule, track }: Climb, nowC: number, middleC: number, ratio: number): Limit | null {
  const now = limitAt(schedule, track.segment, nowC, ratio);
  const middle = limitAt(schedule, track.segment, middleC, ratio);
  if (now === null || middle === null) return null;
  return middle.maxCPerH > now.maxCPerH ? middle : now;
}

function limitAt(schedule: Schedule, index: number, atC: number, ratio: number): Limit | null {
  const rate = climbRate(schedule, index, atC);
  // A plan that climbs faster than one of its limits means that one for the fall.
  const told = toldLimit(schedule, atC, (limit) => !isLimitOfFall(limit) && (rate === null || limit.maxCPerH >= rate));
  if (told !== null || rate === null) return told;
  return { maxCPerH: Math.max(ratio * rate, rate + MORE_CPERH), why: null };
}

/**
 * The steepest fall allowed at a temperature, °C/h: a guided one has a pace because the glass minds, whatever else the
 * schedule says. What the medium asks for does not matter on the way down.
 */
export function fallLimit(schedule: Schedule, segment: Segment | null, atC: number): Limit | null {
  const told = toldLimit(schedule, atC, (limit) => countsForFall(schedule, limit));
  // Left to fall, a shut kiln falls as it does: only what an open damper or door adds can be helped.
  if (segment?.kind !== 'ramp' || typeof segment.rateCPerH !== 'number') return told;
  const maxCPerH = (told === null ? RAMP_RATIO : BESIDE_LIMITS_RATIO) * segment.rateCPerH;
  return told === null || maxCPerH < told.maxCPerH ? { maxCPerH, why: null } : told;
}

/** The strictest of the schedule's own limits that a fall from here has before it or is in, for the pace that it has here. */
export function limitAhead(schedule: Schedule, nowC: number): Limit | null {
  let least: Limit | null = null;
  for (const limit of schedule.limits ?? []) {
    if (!countsForFall(schedule, limit) || nowC < limitLowC(limit)) continue;
    // What is left to itself falls by a share of its °C: it will be slower where the limit begins.
    const hereCPerH = limit.maxCPerH * Math.max(nowC / limitHighC(limit), 1);
    if (least === null || hereCPerH < least.maxCPerH) least = { maxCPerH: hereCPerH, why: limit.why };
  }
  return least;
}

function toldLimit(schedule: Schedule, atC: number, counts: (limit: RateLimit) => boolean): Limit | null {
  let least: Limit | null = null;
  for (const limit of schedule.limits ?? []) {
    if (atC < limitLowC(limit) || atC > limitHighC(limit) || !counts(limit)) continue;
    if (least === null || limit.maxCPerH < least.maxCPerH) least = { maxCPerH: limit.maxCPerH, why: limit.why };
  }
  return least;
}

/**
 * The pace of this ramp, or the steepest of those by which the plan comes about here on its way up; null where one of them
 * has none. By the clock a plan is in its next ramp before a kiln that lags behind.
 */
function climbRate(schedule: Schedule, index: number, atC: number): number | null {
  let rate: number | null = null;
  for (let i = climbFrom(schedule, index); i < schedule.segments.length && !goesDown(schedule, i); i++) {
    const segment = schedule.segments[i];
    if (segment?.kind !== 'ramp') continue;
    const isHere = targetC(schedule, i - 1) < atC + SOON_HERE_C && segment.toC > atC;
    if (!isHere && i !== index) continue;
    if (typeof segment.rateCPerH !== 'number') return null;
    rate = Math.max(rate ?? 0, segment.rateCPerH);
  }
  return rate;
}

/** Where the way up began that the segment at `index` is part of: behind the last fall. */
function climbFrom(schedule: Schedule, index: number): number {
  let from = index;
  while (from > 0 && !goesDown(schedule, from - 1)) from--;
  return from;
}
