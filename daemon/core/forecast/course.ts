/**
 * Where the kiln goes if nothing is done: its present pace, dying away as the pace itself has lately died away.
 * A body that loses heat in proportion to its temperature approaches its end exponentially (Newton's law of cooling),
 * so T(t + h) = T + r·τ·(1 − e^(−h/τ)), with r the pace now and τ the time in which the pace falls to 1/e.
 */
import { clamp, perSecond, secondsBetween } from '../numbers/units.ts';
import type { Pace } from '../tracking/pace.ts';

export interface Course {
  readonly atMs: number;
  readonly fromC: number;
  /** °C/s, and its standard error. */
  readonly slopePerS: number;
  readonly slopeSigmaPerS: number;
  readonly dyingS: number;
  readonly noiseC: number;
}

/** A pace that does not die away is given ten hours: over half an hour that is a straight line. */
const STRAIGHT_S = 36_000;
/** ... and for hours ahead a thousand. */
const FAR_STRAIGHT_S = 3_600_000;
const SHORTEST_S = 240;
/** What is assumed of a pace whose past is not known. */
const UNKNOWN_S = 3600;
/** From the middle of the five minutes that ended ten minutes ago to the middle of the last two. */
const MIDDLES_APART_S = 690;

export function courseOf(pace: Pace, atMs: number): Course | null {
  const now = pace.present;
  if (now === undefined) return null;
  return {
    atMs,
    fromC: now.atEndC,
    slopePerS: now.slopePerS,
    slopeSigmaPerS: now.slopeSigmaPerS,
    dyingS: dyingTimeS(pace),
    noiseC: now.noiseC,
  };
}

/** The steadier course of the last eight minutes, for what lies far ahead: a hand-turned climb goes in waves. */
export function steadyCourseOf(pace: Pace, course: Course | null): Course | null {
  const slow = pace.over8Min;
  if (course === null || slow === undefined) return course;
  return { ...course, slopePerS: slow.slopePerS, slopeSigmaPerS: slow.slopeSigmaPerS, dyingS: FAR_STRAIGHT_S };
}

/** Arrivals further away than this are told by the steadier course. */
const FAR_S = 900;

/** Seconds until the kiln passes `goalC`: by its present course if that is near, else by the steadier one. */
export function arrivalS(course: Course, steady: Course | null, goalC: number): number {
  const seconds = courseTimeS(course, goalC);
  return seconds <= FAR_S || steady === null ? seconds : Math.max(courseTimeS(steady, goalC), FAR_S);
}

function dyingTimeS(pace: Pace): number {
  const now = pace.present;
  const before = pace.ago10Min;
  if (now === undefined || before === undefined) return UNKNOWN_S;
  const isSure =
    Math.abs(now.slopePerS) > 2 * now.slopeSigmaPerS && Math.abs(before.slopePerS) > 2 * before.slopeSigmaPerS;
  if (!isSure) return UNKNOWN_S / 4;
  const ratio = before.slopePerS / now.slopePerS;
  if (ratio <= 0) return UNKNOWN_S / 4;
  if (ratio <= 1.02) return STRAIGHT_S;
  return clamp(MIDDLES_APART_S / Math.log(ratio), SHORTEST_S, STRAIGHT_S);
}

/** Temperature `aheadS` seconds on, °C. */
export function courseC(course: Course, aheadS: number): number {
  return course.fromC + course.slopePerS * course.dyingS * (1 - Math.exp(-aheadS / course.dyingS));
}

/** Seconds until the course passes `goalC`; Infinity if it never does. */
export function courseTimeS(course: Course, goalC: number): number {
  const needC = goalC - course.fromC;
  if (needC === 0) return 0;
  const reach = needC / (course.slopePerS * course.dyingS);
  // A pace of nought, or one that dies before it gets there.
  if (!(reach > 0 && reach < 1)) return Number.POSITIVE_INFINITY;
  return -course.dyingS * Math.log(1 - reach);
}

/** Half-width of the band at `aheadS`, °C: reading noise, the slope's own error, and a share of the change foreseen. */
export function courseSigmaC(course: Course, aheadS: number): number {
  const slopeC = course.slopeSigmaPerS * aheadS;
  const changeC = 0.15 * Math.abs(courseC(course, aheadS) - course.fromC);
  // A hand on the valve may change the pace at any moment; 20 °C/h each way, from memory.
  const handC = perSecond(20) * aheadS * 0.5;
  return Math.hypot(course.noiseC, slopeC, changeC, handC);
}

/** Seconds until a kiln left to cool reaches `goalC`, from its pace now; Infinity while it does not cool. */
export function coolingTimeS(nowC: number, slopePerS: number, goalC: number, roomC = 20): number {
  if (nowC <= goalC) return 0;
  if (slopePerS >= 0 || goalC <= roomC) return Number.POSITIVE_INFINITY;
  const constantS = (nowC - roomC) / -slopePerS;
  return constantS * Math.log((nowC - roomC) / (goalC - roomC));
}

export function courseAtMs(course: Course, atMs: number): number {
  return courseC(course, Math.max(secondsBetween(course.atMs, atMs), 0));
}
