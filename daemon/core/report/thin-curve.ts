/** Thins a curve for the screen without losing what matters: each column keeps its lowest, highest, first and last reading. */
import type { Trace } from './chronicle.ts';

export type Point = readonly [number, number];

/**
 * @param columns how many columns the whole stretch is divided into
 * @returns one list of points for each stretch between gaps (requirement D14)
 */
export function thinCurve(trace: Trace, fromMs: number, toMs: number, columns: number): Point[][] {
  const widthMs = Math.max((toMs - fromMs) / Math.max(columns, 1), 1);
  const stretches: Column[][] = [[]];
  for (const [i, celsius] of trace.celsius.entries()) {
    const atMs = trace.atMs[i];
    if (atMs === undefined) continue;
    if (celsius === null) {
      stretches.push([]);
      continue;
    }
    const stretch = stretches[stretches.length - 1] ?? [];
    addPoint(stretch, Math.floor((atMs - fromMs) / widthMs), [atMs, celsius]);
  }
  return stretches.filter((stretch) => stretch.length > 0).map((stretch) => stretch.flatMap(pointsOf));
}

function addPoint(stretch: Column[], index: number, point: Point): void {
  const column = stretch[stretch.length - 1];
  if (column === undefined || column.index !== index) {
    stretch.push({ index, first: point, last: point, low: point, high: point });
    return;
  }
  column.last = point;
  if (point[1] < column.low[1]) column.low = point;
  if (point[1] > column.high[1]) column.high = point;
}

interface Column {
  readonly index: number;
  readonly first: Point;
  last: Point;
  low: Point;
  high: Point;
}

function pointsOf(column: Column): Point[] {
  const points = [column.first, column.low, column.high, column.last].sort((a, b) => a[0] - b[0]);
  return points.filter((p, i) => i === 0 || p !== points[i - 1]);
}
