/** One sensor's line on the curve: points in order, broken where nothing was measured, never more than fits a screen. */
import type { CurvePoint } from '../daemon/wire/live-messages.ts';

/** `celsius` null breaks the line. */
export interface TracePoint {
  readonly atMs: number;
  readonly celsius: number | null;
}

export type Trace = readonly TracePoint[];

/** More columns than any screen here is wide would be wasted. */
export const MOST_POINTS = 2000;
const COLUMNS = 600;
/** The newest points stay as they came, so that the usual step between readings can be seen from them. */
const KEPT_WHOLE = 120;

/**
 * Keeps the lowest and the highest point of each of `columns` equal stretches of time, each break, the first and the
 * last point (requirement D14). The order stays.
 */
export function thinTrace(points: Trace, columns: number): TracePoint[] {
  const first = points[0];
  const last = points.at(-1);
  if (first === undefined || last === undefined || points.length <= 2 * columns) return [...points];
  const widthMs = Math.max(1, (last.atMs - first.atMs) / columns);
  const kept = new Set<number>([0, points.length - 1]);
  let column = -1;
  let low = -1;
  let high = -1;
  const settle = (): void => {
    if (low >= 0) kept.add(low);
    if (high >= 0) kept.add(high);
    low = -1;
    high = -1;
  };
  points.forEach((point, i) => {
    const here = Math.min(columns - 1, Math.floor((point.atMs - first.atMs) / widthMs));
    if (here !== column || point.celsius === null) settle();
    column = here;
    if (point.celsius === null) {
      if (points[i - 1]?.celsius !== null) kept.add(i);
      return;
    }
    if (low < 0 || point.celsius < (points[low]?.celsius ?? Infinity)) low = i;
    if (high < 0 || point.celsius > (points[high]?.celsius ?? -Infinity)) high = i;
  });
  settle();
  return points.filter((_, i) => kept.has(i));
}

/** The usual step between the newest readings, null while there are too few. */
function usualStepMs(trace: Trace): number | null {
  const steps: number[] = [];
  for (let i = Math.max(1, trace.length - 20); i < trace.length; i++) {
    const before = trace[i - 1];
    const here = trace[i];
    if (before?.celsius != null && here?.celsius != null) steps.push(here.atMs - before.atMs);
  }
  if (steps.length < 5) return null;
  return steps.sort((a, b) => a - b)[Math.floor(steps.length / 2)] ?? null;
}

/** Breaks the line at `atMs`, once. */
export function breakTrace(trace: Trace, atMs: number): Trace {
  const last = trace.at(-1);
  return last === undefined || last.celsius === null
    ? trace
    : [...trace, { atMs: Math.max(atMs, last.atMs), celsius: null }];
}

/** Adds a point; older ones than the newest are left out. A long silence before it breaks the line. */
export function extendTrace(trace: Trace, atMs: number, celsius: number | null): Trace {
  if (celsius === null) return breakTrace(trace, atMs);
  const last = trace.at(-1);
  if (last !== undefined && atMs < last.atMs) return trace;
  const stepMs = usualStepMs(trace);
  const isAfterSilence = last !== undefined && stepMs !== null && atMs - last.atMs > Math.max(30_000, 10 * stepMs);
  const longer = [...(isAfterSilence ? breakTrace(trace, last.atMs) : trace), { atMs, celsius }];
  if (longer.length <= MOST_POINTS) return longer;
  return [...thinTrace(longer.slice(0, -KEPT_WHOLE), COLUMNS), ...longer.slice(-KEPT_WHOLE)];
}

/** The pieces of a stored curve as one broken line. */
export function traceOfPieces(pieces: readonly (readonly CurvePoint[])[]): Trace {
  const trace: TracePoint[] = [];
  for (const piece of pieces) {
    const last = trace.at(-1);
    if (last !== undefined && piece.length > 0) trace.push({ atMs: last.atMs, celsius: null });
    for (const [atMs, celsius] of piece) trace.push({ atMs, celsius });
  }
  return trace;
}

/** What was stored, and after it what came live meanwhile. */
export function joinTraces(stored: Trace, live: Trace): Trace {
  const lastMs = stored.at(-1)?.atMs ?? -Infinity;
  const newer = live.filter((point) => point.atMs > lastMs);
  return [...stored, ...newer];
}

/** The measured temperature nearest to `atMs`, if one lies within `withinMs`. */
export function celsiusAt(trace: Trace, atMs: number, withinMs: number): number | null {
  let nearest: TracePoint | undefined;
  for (const point of trace) {
    if (point.celsius === null) continue;
    if (nearest === undefined || Math.abs(point.atMs - atMs) < Math.abs(nearest.atMs - atMs)) nearest = point;
  }
  return nearest !== undefined && Math.abs(nearest.atMs - atMs) <= withinMs ? nearest.celsius : null;
}
