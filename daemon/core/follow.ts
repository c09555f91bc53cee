/** Where the firing stands on its plan, and where it goes from there, by each good reading of the ruling sensor. */
import type { FiringEvent } from './events.ts';
import { courseOf, steadyCourseOf } from './forecast/course.ts';
import { lookAhead } from './forecast/look-ahead.ts';
import { secondsBetween } from './numbers/units.ts';
import { evenPlan } from './plan/even-plan.ts';
import type { Schedule } from './plan/schedule.ts';
import { changed, type FiringState } from './state.ts';
import { plateMmOf } from './tracking/glass-way.ts';
import { heatState } from './tracking/heat-state.ts';
import { trackHeat } from './tracking/heat-track.ts';
import { watchOpening } from './tracking/opening.ts';
import { paceOf } from './tracking/pace.ts';
import { PROVEN_GAP_S, shiftPlan, startPlan, trackPlan } from './tracking/plan-track.ts';
import { clockLeapS } from './tracking/stamp-watch.ts';
import { toleranceOf } from './tracking/tolerance.ts';

/** The way is kept at this spacing, for a plan that is given late. */
const WAY_MS = 15_000;

/** An opening is told by the last minute; so long the way back of a leap, told as such half a minute later, looks like one. */
const AFTER_LEAP_S = 90;

/** The ruling sensor spoke: place the firing on its plan and look ahead. */
export function follow(
  state: FiringState,
  now: { atMs: number; celsius: number },
  lastAtMs: number | null,
  isLeap: boolean,
  said: FiringEvent[],
): FiringState {
  const { kiln, schedule } = state;
  const ruling = state.sensors[state.rulingSensor];
  if (ruling === undefined) return state;
  const isAfterGap =
    lastAtMs !== null && now.atMs - lastAtMs > Math.max(PROVEN_GAP_S, 5 * (ruling.intervalS ?? 0)) * 1000;
  if (isAfterGap) said.push({ type: 'gap', fromMs: lastAtMs, atMs: now.atMs, why: 'no readings' });
  const pace = paceOf(ruling, state.pace, lastAtMs);
  const course = courseOf(pace, now.atMs);
  const leapS = clockLeapS(state.stamps, now.atMs);
  const before = state.track === null || leapS === 0 ? state.track : shiftPlan(state.track, leapS);
  const toleranceC = toleranceOf(kiln, schedule);
  const track = schedule === null ? null : trackPlan(schedule, before ?? startPlan(now), now, toleranceC, kiln.heat);
  const lastOfWay = state.way[state.way.length - 1];
  const way = lastOfWay === undefined || now.atMs - lastOfWay.atMs >= WAY_MS ? [...state.way, now] : state.way;
  const sign = hasJumped(state, now.atMs)
    ? null
    : watchOpening(
        isAfterGap ? null : state.sign,
        ruling,
        heatState({ kiln, schedule, track, lastHandAtMs: state.lastHandAtMs, pace }, now.atMs),
        state.heat.ripple?.usualC,
        kiln.heat,
        state.foresight.climbPerS,
      );
  const lidMovedAtMs = sign === null ? state.lidMovedAtMs : now.atMs;
  const heat = trackHeat(state.heat, now, {
    heat: kiln.heat,
    schedule,
    track,
    toleranceC,
    lidMovedAtMs,
    peakC: ruling.peakC ?? now.celsius,
    plateMm: plateMmOf(kiln, schedule),
    hasPaused: isAfterGap,
  });
  return changed(state, {
    heat,
    lidMovedAtMs,
    pace,
    course,
    steady: steadyCourseOf(pace, course),
    track,
    way,
    foresight: lookAhead(state.foresight, now, {
      schedule,
      track,
      intervalS: ruling.intervalS,
      isLeap,
      rate: pace.present,
    }),
    sign,
    heardSinceMs: isAfterGap ? now.atMs : state.heardSinceMs,
  });
}

/** What a couple with bad contact shows is no door's, and must not hide its next leap as one; nor is the way that it came back. */
function hasJumped({ watches, rulingSensor }: FiringState, atMs: number): boolean {
  const leapt = watches[rulingSensor]?.leapt ?? null;
  return leapt !== null && secondsBetween(leapt.untilMs, atMs) < AFTER_LEAP_S;
}

/** A plan given late is laid over the way that the kiln has already come. */
export function layPlan(state: FiringState, given: Schedule): FiringState {
  const schedule = evenPlan(given);
  const toleranceC = toleranceOf(state.kiln, schedule);
  const [first, ...rest] = state.way;
  if (first === undefined) return changed(state, { schedule, track: null, calls: [] });
  const track = rest.reduce(
    (t, reading) => trackPlan(schedule, t, reading, toleranceC, state.kiln.heat),
    startPlan(first),
  );
  return changed(state, { schedule, track, calls: [] });
}
