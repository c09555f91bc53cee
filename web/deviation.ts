/** How far off the plan, point by point. */
import { type CurveView, plannedAt } from './curve-view.ts';

export function hasStrip(view: CurveView): boolean {
  return view.plan.length > 1 && view.traces.some((trace) => trace.points.length > 0);
}

export interface Off {
  readonly atMs: number;
  /** Null breaks the line: nothing measured, or nothing planned. */
  readonly deltaC: number | null;
}

/** The ruling sensor's distance from the plan at each of its points within the time shown. */
export function deviations(view: CurveView): Off[] {
  const ruling = view.traces[0]?.points ?? [];
  return ruling
    .filter(({ atMs }) => atMs >= view.fromMs && atMs <= view.toMs)
    .map(({ atMs, celsius }) => {
      const planned = celsius === null ? null : plannedAt(view.plan, atMs);
      return { atMs, deltaC: celsius === null || planned === null ? null : celsius - planned };
    });
}

/** The strip reaches as far as the line does, at least twice the tolerance and at most four times it: what is further off runs out of it. */
export function stripReachC(offs: readonly Off[], toleranceC: number): number {
  const most = Math.max(0, ...offs.map(({ deltaC }) => Math.abs(deltaC ?? 0)));
  return Math.min(Math.max(2 * toleranceC, most * 1.1), 4 * toleranceC);
}
