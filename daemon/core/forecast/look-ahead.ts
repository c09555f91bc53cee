/** Looks ahead from the ruling sensor's latest reading. */
import type { PlanPoint } from '../events.ts';
import { perSecond } from '../numbers/units.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import type { Schedule } from '../plan/schedule.ts';
import { type PlanTrack, plannedNowC } from '../tracking/plan-track.ts';
import { toleranceOf } from '../tracking/tolerance.ts';
import { type Courses, planLine, segmentTimes } from './arrival.ts';
import { type Course, courseC, courseSigmaC } from './course.ts';
import { bandScale, type OwnErrors } from './own-errors.ts';
import type { Curve, Prospect } from './prospect.ts';

const AHEAD_S = [0, 15, 30, 60, 120, 180, 240, 300, 360, 480, 600, 720, 900, 1200, 1500, 1800];
/** A controller draws a deviation back in about ten minutes; from memory. */
const REGAIN_S = 600;

interface Known extends Courses {
  readonly kiln: KilnSetup;
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  readonly ownErrors: OwnErrors;
}

export function lookAhead(known: Known, nowC: number): Prospect | null {
  const { course, ownErrors } = known;
  if (course === null) return null;
  const scaleRatio = bandScale(ownErrors);
  const sigmaC = AHEAD_S.map((aheadS) => scaleRatio * courseSigmaC(course, aheadS));
  const untouched: Curve = { aheadS: AHEAD_S, celsius: AHEAD_S.map((aheadS) => courseC(course, aheadS)), sigmaC };
  const followed = followedPlan(known, course, nowC);
  const expected: Curve =
    followed === null
      ? untouched
      : {
          aheadS: AHEAD_S,
          celsius: AHEAD_S.map((aheadS, i) => {
            const plannedC = planAtC(followed.line, course.atMs + aheadS * 1000);
            const freeC = untouched.celsius[i] ?? course.fromC;
            return plannedC === null ? freeC : plannedC + followed.deviationC * Math.exp(-aheadS / REGAIN_S);
          }),
          sigmaC,
        };
  return {
    atMs: course.atMs,
    fromC: course.fromC,
    noiseC: course.noiseC,
    ratePerS: course.slopePerS,
    rateSigmaPerS: course.slopeSigmaPerS,
    expected,
    untouched,
  };
}

/** A controller that keeps the kiln on its plan, at the plan's own pace, will round the plan's corners too. */
function followedPlan(
  known: Known,
  course: Course,
  nowC: number,
): { line: readonly PlanPoint[]; deviationC: number } | null {
  const { kiln, schedule, track } = known;
  if (kiln.heat !== 'electric' || schedule === null || track === null) return null;
  const plannedC = plannedNowC(schedule, track, course.atMs);
  if (plannedC === null || Math.abs(nowC - plannedC) > toleranceOf(kiln, schedule)) return null;
  const line = planLine(schedule, track, segmentTimes(schedule, track, known, course.atMs));
  const soonC = planAtC(line, course.atMs + 60_000);
  if (soonC === null) return null;
  const plannedPerS = (soonC - plannedC) / 60;
  const isAtItsPace = Math.abs(course.slopePerS - plannedPerS) < Math.max(0.3 * Math.abs(plannedPerS), perSecond(30));
  return isAtItsPace ? { line, deviationC: nowC - plannedC } : null;
}

/** The plan's temperature at an instant, by straight lines between its corners; null beyond its end. */
export function planAtC(line: readonly PlanPoint[], atMs: number): number | null {
  for (let i = 1; i < line.length; i++) {
    const a = line[i - 1];
    const b = line[i];
    if (a === undefined || b === undefined || atMs < a.atMs || atMs > b.atMs) continue;
    if (b.atMs === a.atMs) return b.celsius;
    return a.celsius + ((b.celsius - a.celsius) * (atMs - a.atMs)) / (b.atMs - a.atMs);
  }
  return null;
}
