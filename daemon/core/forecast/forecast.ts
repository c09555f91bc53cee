/** A look up to half an hour ahead: a curve with a band, the peak to expect, when the target is reached. */
import type { ForecastEvent, ForecastPoint, PlanPoint } from '../events.ts';
import { type Course, courseC, courseSigmaC } from './course.ts';

export interface Outlook {
  readonly points: readonly ForecastPoint[];
  readonly expectedPeakC: number | null;
  readonly expectedPeakAtMs: number | null;
}

const AHEAD_MIN = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30];
/** 90 % of a normal distribution lie within 1.645 standard deviations. */
const BAND_SIGMAS = 1.645;
/** A controller draws a deviation back in about ten minutes; from memory. */
const REGAIN_S = 600;

/**
 * @param bandScale how much wider the band must be than it says of itself, learned from its own past errors
 * @param followed the plan ahead, where a controller follows it closely; else the kiln's own course
 */
export function outlookOf(
  course: Course,
  bandScale: number,
  followed: readonly PlanPoint[] | null,
  deviationC: number,
): Outlook {
  let peakC = course.fromC;
  let peakAtMs = course.atMs;
  const points = AHEAD_MIN.map((minutes): ForecastPoint => {
    const aheadS = minutes * 60;
    const atMs = course.atMs + aheadS * 1000;
    const plannedC = followed === null ? null : planAtC(followed, atMs);
    const celsius = plannedC === null ? courseC(course, aheadS) : plannedC + deviationC * Math.exp(-aheadS / REGAIN_S);
    const half = BAND_SIGMAS * bandScale * courseSigmaC(course, aheadS);
    if (celsius > peakC) {
      peakC = celsius;
      peakAtMs = atMs;
    }
    return { atMs, celsius: round(celsius), lowC: round(celsius - half), highC: round(celsius + half) };
  });
  return { points, expectedPeakC: round(peakC), expectedPeakAtMs: peakAtMs };
}

export function toForecastEvent(outlook: Outlook, atMs: number, targetAtMs: number | null): ForecastEvent {
  return { type: 'forecast', atMs, ...outlook, targetAtMs };
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

function round(celsius: number): number {
  return Math.round(celsius * 10) / 10;
}
