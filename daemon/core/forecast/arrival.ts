/** When each segment still to come begins and ends, by the kiln's own pace where it can be told, else by the plan's. */
import type { PlanPoint } from '../events.ts';
import { perSecond, secondsBetween } from '../numbers/units.ts';
import { rampS } from '../plan/programme.ts';
import { isLetFall, type Ramp, type Schedule, targetC } from '../plan/schedule.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { arrivalS, type Course, coolingTimeS } from './course.ts';

export interface SegmentTimes {
  readonly segment: number;
  readonly startsAtMs: number | null;
  readonly startC: number;
  readonly endsAtMs: number | null;
  readonly endC: number;
}

/** The kiln's course now, and its steadier one; null until there are readings enough. */
export interface Courses {
  readonly course: Course | null;
  readonly steady: Course | null;
  /** When the lid last moved, or seemed to: the fall after it says nothing of a shut kiln's. */
  readonly lidMovedAtMs: number | null;
}

/** A climb without a pace of its own is guessed at this until the kiln shows better, °C/h; common practice, no source. */
const FLAT_OUT_GUESS_C_PER_H = 200;

/** Just after the heat is off, or the lid was opened, the pace says nothing of the hours to come. */
const SETTLED_FALL_S = 720;

export function isFallSettled(fallsSinceMs: number, lidMovedAtMs: number | null, nowMs: number): boolean {
  return secondsBetween(Math.max(fallsSinceMs, lidMovedAtMs ?? 0), nowMs) >= SETTLED_FALL_S;
}

/** The present segment first; null where nobody can say yet. */
export function segmentTimes(schedule: Schedule, track: PlanTrack, courses: Courses, nowMs: number): SegmentTimes[] {
  const times: SegmentTimes[] = [];
  let startsAtMs: number | null = track.startedAtMs;
  let startC = track.startC;
  for (let i = track.segment; i < schedule.segments.length; i++) {
    const segment = schedule.segments[i];
    if (segment === undefined) break;
    const isPresent = i === track.segment;
    const endC = targetC(schedule, i);
    let endsAtMs: number | null;
    if (segment.kind === 'hold') {
      const leftS = segment.minutes * 60 - (isPresent ? track.hold.doneS : 0);
      const fromMs: number | null = isPresent ? track.last.atMs : startsAtMs;
      endsAtMs = fromMs === null ? null : fromMs + Math.max(leftS, 0) * 1000;
    } else if (isPresent) {
      endsAtMs = presentRampEnd(schedule, segment, track, courses, nowMs);
    } else {
      const lengthS = comingRampS(segment, startC);
      endsAtMs = startsAtMs === null || !Number.isFinite(lengthS) ? null : startsAtMs + lengthS * 1000;
    }
    times.push({ segment: i, startsAtMs, startC, endsAtMs, endC });
    startsAtMs = endsAtMs;
    startC = endC;
  }
  return times;
}

function comingRampS(ramp: Ramp, startC: number): number {
  if (ramp.rateCPerH === 'flat-out') return Math.abs(ramp.toC - startC) / perSecond(FLAT_OUT_GUESS_C_PER_H);
  return rampS(ramp, startC);
}

function presentRampEnd(
  schedule: Schedule,
  ramp: Ramp,
  track: PlanTrack,
  courses: Courses,
  nowMs: number,
): number | null {
  const plannedS = comingRampS(ramp, track.startC);
  if (schedule.waits === false && typeof ramp.rateCPerH === 'number') return track.startedAtMs + plannedS * 1000;
  const nowC = track.last.celsius;
  const isTooEarly = ramp.rateCPerH === 'let-fall' && !isFallSettled(track.startedAtMs, courses.lidMovedAtMs, nowMs);
  const paceS = isTooEarly && nowC > ramp.toC + 30 ? Number.POSITIVE_INFINITY : timeToS(ramp, courses, nowC);
  // Counted from the last reading: while none comes, time still brings the kiln nearer.
  if (Number.isFinite(paceS)) return track.last.atMs + paceS * 1000;
  // The kiln does not move that way yet: what the plan's pace would still take from here.
  const leftS = comingRampS(ramp, nowC);
  return Number.isFinite(leftS) ? nowMs + leftS * 1000 : null;
}

function timeToS(ramp: Ramp, { course, steady }: Courses, nowC: number): number {
  if (course === null) return Number.POSITIVE_INFINITY;
  if (ramp.rateCPerH === 'let-fall' && Math.abs(course.slopePerS) > course.slopeSigmaPerS) {
    return coolingTimeS(nowC, (steady ?? course).slopePerS, ramp.toC);
  }
  const seconds = arrivalS(course, steady, ramp.toC);
  const plannedS = comingRampS(ramp, nowC);
  // A pace that barely creeps says nothing of the arrival.
  return seconds > Math.max(plannedS * 6, 6 * 3600) ? Number.POSITIVE_INFINITY : seconds;
}

/** When the kiln passes `atC` within the segment, or null. */
export function passesAtMs(
  times: SegmentTimes,
  atC: number,
  { course, steady }: Courses,
  nowMs: number,
): number | null {
  const { startsAtMs, endsAtMs, startC, endC } = times;
  if (startsAtMs === null || endsAtMs === null) return null;
  const isPresent = startsAtMs <= nowMs;
  if (isPresent && course !== null) {
    const isPassed = endC >= startC ? course.fromC >= atC : course.fromC <= atC;
    if (isPassed) return nowMs;
    const seconds = arrivalS(course, steady, atC);
    if (Number.isFinite(seconds)) return course.atMs + seconds * 1000;
  }
  const share = endC === startC ? 1 : (atC - startC) / (endC - startC);
  return Math.max(startsAtMs + share * secondsBetween(startsAtMs, endsAtMs) * 1000, isPresent ? nowMs : startsAtMs);
}

/** From this segment on the plan wants nothing but to let it fall: there is no line to hold the kiln against. */
function leftToFallFrom({ segments }: Schedule): number {
  return segments.findLastIndex((s) => !isLetFall(s)) + 1;
}

/** The plan as a broken line: what is past as it was, the present segment as planned, the rest as it is now expected. */
export function planLine(schedule: Schedule, track: PlanTrack, times: readonly SegmentTimes[]): PlanPoint[] {
  const points: PlanPoint[] = [];
  const fallsFrom = leftToFallFrom(schedule);
  const add = (atMs: number, celsius: number, segment: number): void => {
    const last = points[points.length - 1];
    if (last?.atMs !== atMs || last.celsius !== celsius) points.push({ atMs, celsius, segment });
  };
  for (const past of track.past) {
    const segment = schedule.segments[past.segment];
    if (past.segment >= fallsFrom) break;
    const isHold = segment?.kind === 'hold';
    const goalC = targetC(schedule, past.segment);
    add(past.startedAtMs, isHold ? goalC : past.startC, past.segment);
    add(past.endedAtMs, isHold ? goalC : past.endC, past.segment);
  }
  for (const time of times) {
    const segment = schedule.segments[time.segment];
    if (segment === undefined || time.startsAtMs === null || time.segment >= fallsFrom) break;
    add(time.startsAtMs, segment.kind === 'hold' ? time.endC : time.startC, time.segment);
    const isPresentRamp = time.segment === track.segment && segment.kind === 'ramp';
    const plannedEndMs =
      isPresentRamp && typeof segment.rateCPerH === 'number'
        ? track.startedAtMs + rampS(segment, track.startC) * 1000
        : time.endsAtMs;
    if (plannedEndMs === null) break;
    add(plannedEndMs, time.endC, time.segment);
    if (time.endsAtMs === null) break;
    if (time.endsAtMs > plannedEndMs) add(time.endsAtMs, time.endC, time.segment);
  }
  return points;
}
