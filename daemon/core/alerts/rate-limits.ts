/** How fast glass and medium may be heated and cooled: what the schedule says, else what its own ramps and the glass say. */
import { secondsBetween } from '../numbers/units.ts';
import type { Schedule, Segment } from '../plan/schedule.ts';
import { climbTopC } from '../plan/schedule.ts';
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
/** A guided fall counts beside the schedule's limits from so many times its pace on. Ours. */
const BESIDE_LIMITS_RATIO = 2;
/** What harms is the pace over so long, up or down. Common practice, no source. */
export const HARM_OVER_S = 300;
/** Nor does it bear to fall by more than 40 °C within two minutes. Common practice, no source. */
export const CHILLED_CPERH = 1200;
/** Above the range in which glass anneals and below its strain point what is left to fall may fall. From practice, no source. */
export const ANNEALS_FROM_C = 425;

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
export function climbLimit({ schedule, track, toleranceC, nowMs }: Climb, nowC: number, middleC: number): Limit | null {
  const plannedC = plannedNowC(schedule, track, nowMs);
  const ratio = plannedC !== null && nowC > plannedC + toleranceC ? RAMP_RATIO : BEHIND_RATIO;
  const isPastCorner = secondsBetween(track.startedAtMs, nowMs) < HARM_OVER_S / 2;
  const before = track.segment - 1;
  const wasAt = isPastCorner && schedule.segments[before]?.kind === 'ramp' ? before : track.segment;
  const now = limitAt(schedule, track.segment, nowC, ratio);
  const middle = limitAt(schedule, wasAt, middleC, ratio);
  if (now === null || middle === null) return null;
  return middle.maxCPerH > now.maxCPerH ? middle : now;
}

function limitAt(schedule: Schedule, index: number, atC: number, ratio: number): Limit | null {
  const told = toldLimit(schedule, atC, () => true);
  if (told !== null) return told;
  const rate = rampRate(schedule, index, atC);
  return rate === null ? null : { maxCPerH: Math.max(ratio * rate, rate + MORE_CPERH), why: null };
}

/**
 * The steepest fall allowed at a temperature, °C/h: a guided one has a pace because the glass minds, whatever else the
 * schedule says. What the medium asks for does not matter on the way down.
 */
export function fallLimit(schedule: Schedule, segment: Segment | null, atC: number): Limit | null {
  const told = toldLimit(schedule, atC, (toC) => toC > ANNEALS_FROM_C);
  // Left to fall, a shut kiln falls as it does: only what an open damper or door adds can be helped.
  if (segment?.kind !== 'ramp' || typeof segment.rateCPerH !== 'number') return told;
  const maxCPerH = (told === null ? RAMP_RATIO : BESIDE_LIMITS_RATIO) * segment.rateCPerH;
  return told === null || maxCPerH < told.maxCPerH ? { maxCPerH, why: null } : told;
}

/** The strictest of the schedule's own limits that a fall from here has before it or is in, for the pace that it has here. */
export function limitAhead(schedule: Schedule, nowC: number): Limit | null {
  let least: Limit | null = null;
  for (const { fromC, toC, maxCPerH, why } of schedule.limits ?? []) {
    if (toC <= ANNEALS_FROM_C || nowC < fromC) continue;
    // What is left to itself falls by a share of its °C: it will be slower where the limit begins.
    const hereCPerH = maxCPerH * Math.max(nowC / toC, 1);
    if (least === null || hereCPerH < least.maxCPerH) least = { maxCPerH: hereCPerH, why };
  }
  return least;
}

function toldLimit(schedule: Schedule, atC: number, counts: (toC: number) => boolean): Limit | null {
  let least: Limit | null = null;
  for (const limit of schedule.limits ?? []) {
    if (atC < limit.fromC || atC > limit.toC || !counts(limit.toC)) continue;
    if (least === null || limit.maxCPerH < least.maxCPerH) least = { maxCPerH: limit.maxCPerH, why: limit.why };
  }
  return least;
}

/** The pace of this ramp, or the steepest of those that a climb passes about here. */
function rampRate(schedule: Schedule, index: number, atC: number): number | null {
  let rate: number | null = null;
  for (let i = index; i < schedule.segments.length; i++) {
    const segment = schedule.segments[i];
    if (segment?.kind !== 'ramp' || climbTopC(schedule, i) < segment.toC) break;
    if (typeof segment.rateCPerH !== 'number') return null;
    rate = Math.max(rate ?? 0, segment.rateCPerH);
    if (segment.toC > atC + 10) break;
  }
  return rate;
}
