/**
 * The plan ahead as temperatures in time, where it says so, and else by what this kiln has shown it can do: how fast it
 * climbs flat out, how fast it falls when let fall. From the plan's end on a kiln is let fall.
 */

import { BAND_SIGMAS } from '../numbers/band.ts';
import type { TimedC } from '../numbers/line-fit.ts';
import { perSecond } from '../numbers/units.ts';
import { type Schedule, targetC } from '../plan/schedule.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { LOOKS_S } from './looks.ts';

/** What this kiln can do, as it has shown. */
export interface Ability {
  /** The fastest climb yet, °C/s. */
  readonly climbPerS: number;
  /** Left alone it comes 63 % of the way down to the room in this time (Newton's law of cooling). */
  readonly fallS: number;
}

/** Corners, oldest first; from the last one on it falls. */
export type PlanPath = readonly TimedC[];

/** Taken for the room wherever a fall is reckoned, °C. Common practice, no source. */
export const ROOM_C = 20;
/** A fall is drawn as so many straight pieces. */
const FALL_PIECES = 8;
const NEARLY_ROOM_C = 0.5;
const SLOWEST_PER_S = perSecond(0.4);

/** @param from `plan`: as the plan says, whatever the kiln is now; `kiln`: the plan's paces from where the kiln is now */
export function planPath(
  schedule: Schedule,
  track: PlanTrack,
  now: TimedC,
  ability: Ability,
  from: 'plan' | 'kiln',
): PlanPath {
  const present = schedule.segments[track.segment];
  if (present === undefined) return [now];
  const path: TimedC[] = [];
  const waits = schedule.waits !== false;
  const isFree = present.kind === 'ramp' && typeof present.rateCPerH !== 'number';
  const begins = from === 'kiln' || isFree ? now : { atMs: track.startedAtMs, celsius: track.startC };
  let { atMs, celsius } = begins;
  const to = (nextMs: number, nextC: number): void => {
    atMs = nextMs;
    celsius = nextC;
    path.push({ atMs, celsius });
  };
  to(atMs, celsius);
  for (let i = track.segment; i < schedule.segments.length; i++) {
    const segment = schedule.segments[i];
    if (segment === undefined) break;
    const isPresent = i === track.segment;
    const goalC = targetC(schedule, i);
    if (segment.kind === 'hold') {
      if (from === 'plan' || !isPresent) to(atMs, goalC);
      const isCounted = isPresent && (waits || from === 'kiln');
      const leftS = Math.max(segment.minutes * 60 - (isCounted ? track.hold.doneS : 0), 0);
      to((isCounted ? now.atMs : atMs) + leftS * 1000, celsius);
    } else if (typeof segment.rateCPerH === 'number') {
      to(atMs + (Math.abs(goalC - celsius) / perSecond(segment.rateCPerH)) * 1000, goalC);
      // The plan waits for a kiln that is late.
      if (from === 'plan' && isPresent && waits && atMs < now.atMs) to(now.atMs, goalC);
    } else if (segment.rateCPerH === 'flat-out') {
      to(atMs + (Math.abs(goalC - celsius) / Math.max(ability.climbPerS, SLOWEST_PER_S)) * 1000, goalC);
    } else {
      fallTo(goalC, ability.fallS, { atMs, celsius }, to);
    }
  }
  return path;
}

function fallTo(goalC: number, fallS: number, from: TimedC, to: (atMs: number, celsius: number) => void): void {
  if (goalC >= from.celsius) return;
  const endC = Math.max(goalC, ROOM_C + NEARLY_ROOM_C);
  if (from.celsius <= endC) return;
  const lengthS = fallS * Math.log((from.celsius - ROOM_C) / (endC - ROOM_C));
  for (let i = 1; i <= FALL_PIECES; i++) {
    const afterS = (lengthS * i) / FALL_PIECES;
    to(from.atMs + afterS * 1000, fallenC(from.celsius, fallS, afterS));
  }
}

export function fallenC(fromC: number, fallS: number, afterS: number): number {
  return ROOM_C + (fromC - ROOM_C) * Math.exp(-afterS / fallS);
}

/** Reads a path at instants that only go forward. */
export function pathReader(path: PlanPath, fallS: number): (atMs: number) => number {
  let i = 1;
  return (atMs) => {
    while (i < path.length && (path[i]?.atMs ?? 0) < atMs) i++;
    const a = path[i - 1];
    const b = path[i];
    if (a === undefined) return Number.NaN;
    if (b === undefined) return fallenC(a.celsius, fallS, Math.max(atMs - a.atMs, 0) / 1000);
    if (atMs <= a.atMs) return a.celsius;
    return a.celsius + ((b.celsius - a.celsius) * (atMs - a.atMs)) / (b.atMs - a.atMs);
  };
}

/**
 * A fall that this kiln has not shown yet may be so many times quicker or slower than is taken for likely: with the flame
 * out a bare couple falls far quicker than its kiln. From simulated firings.
 */
const UNPROVEN_RATIO = 6;

/**
 * Standard deviation of the path at each look as long as the kiln has not been seen to fall, °C, if nine falls of ten lie
 * within that ratio: nothing before the fall begins.
 */
export function unprovenFallC(schedule: Schedule, track: PlanTrack, now: TimedC, ability: Ability): number[] {
  const at = (fallS: number): number[] => {
    const read = pathReader(planPath(schedule, track, now, { ...ability, fallS }, 'plan'), fallS);
    return LOOKS_S.map((aheadS) => read(now.atMs + aheadS * 1000));
  };
  const quickC = at(ability.fallS / UNPROVEN_RATIO);
  const slowC = at(ability.fallS * UNPROVEN_RATIO);
  return slowC.map((celsius, look) => Math.abs(celsius - (quickC[look] ?? celsius)) / (2 * BAND_SIGMAS));
}
