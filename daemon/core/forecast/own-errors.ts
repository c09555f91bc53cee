/** The forecast watches its own errors, so that its band is as wide as it has lately been wrong. */
import { clamp } from '../numbers/units.ts';
import { type Course, courseC, courseSigmaC } from './course.ts';

interface Said {
  readonly dueAtMs: number;
  readonly celsius: number;
  readonly sigmaC: number;
}

export interface OwnErrors {
  /** What was said five minutes ahead, one each half minute. */
  readonly promised: readonly Said[];
  /** Mean square of the error in standard deviations, forgotten over about 20 looks. */
  readonly meanSquare: number;
}

export const NO_ERRORS: OwnErrors = { promised: [], meanSquare: 1 };
const AHEAD_S = 300;
const EACH_S = 30;

export function rememberCourse(errors: OwnErrors, course: Course, nowC: number): OwnErrors {
  let { meanSquare } = errors;
  const due = errors.promised[0];
  let promised = errors.promised;
  if (due !== undefined && course.atMs >= due.dueAtMs) {
    promised = promised.slice(1);
    // A promise that fell due in a pause of the readings is dropped unjudged.
    if (course.atMs - due.dueAtMs < 60_000) {
      const z = (nowC - due.celsius) / Math.max(due.sigmaC, 0.1);
      meanSquare += 0.05 * (Math.min(z * z, 50) - meanSquare);
    }
  }
  const last = promised[promised.length - 1];
  if (last === undefined || course.atMs - (last.dueAtMs - AHEAD_S * 1000) >= EACH_S * 1000) {
    const next = {
      dueAtMs: course.atMs + AHEAD_S * 1000,
      celsius: courseC(course, AHEAD_S),
      sigmaC: courseSigmaC(course, AHEAD_S),
    };
    promised = [...promised, next];
  }
  return { promised, meanSquare };
}

export function bandScale(errors: OwnErrors): number {
  return clamp(Math.sqrt(errors.meanSquare), 0.5, 5);
}
