/** Lays the curves of several firings over each other, before anything is drawn. */
import type { Curve, CurvePoint } from '../daemon/wire/live-messages.ts';

export type Alignment =
  | { readonly by: 'start' }
  | { readonly by: 'peak' }
  /** Where it first climbed through this. */
  | { readonly by: 'temperature'; readonly celsius: number };

export interface Compared {
  readonly id: string;
  readonly name: string;
  /** Hours from what they are laid over each other by, and °C; a gap is a point without a temperature. */
  readonly points: readonly (readonly [hours: number, celsius: number | null])[];
}

const MS_PER_HOUR = 3_600_000;

/** @returns null for a firing that has no such moment: it never climbed through the temperature, or has no reading */
export function aligned(
  id: string,
  name: string,
  stretches: readonly (readonly CurvePoint[])[],
  by: Alignment,
): Compared | null {
  const zeroMs = momentOf(stretches.flat(), by);
  if (zeroMs === null) return null;
  const points = stretches.flatMap((stretch, i): (readonly [number, number | null])[] => {
    const own = stretch.map(([atMs, celsius]) => [(atMs - zeroMs) / MS_PER_HOUR, celsius] as const);
    const last = own.at(-1);
    const isLast = i === stretches.length - 1;
    return last === undefined || isLast ? own : [...own, [last[0], null] as const];
  });
  return { id, name, points };
}

/** The curve of the sensor that steered the plan. */
export function rulingStretches(curve: Curve, rulingSensor: string): readonly (readonly CurvePoint[])[] {
  return curve.sensors[rulingSensor] ?? [];
}

function momentOf(points: readonly CurvePoint[], alignment: Alignment): number | null {
  switch (alignment.by) {
    case 'start':
      return points[0]?.[0] ?? null;
    case 'peak':
      return (
        points.reduce<CurvePoint | null>(
          (peak, point) => (peak === null || point[1] > peak[1] ? point : peak),
          null,
        )?.[0] ?? null
      );
    case 'temperature':
      return crossing(points, alignment.celsius);
  }
}

/** Between two readings, by a straight line. */
function crossing(points: readonly CurvePoint[], celsius: number): number | null {
  for (let i = 1; i < points.length; i++) {
    const a = points[i - 1];
    const b = points[i];
    if (a === undefined || b === undefined || a[1] >= celsius || b[1] < celsius) continue;
    return a[0] + ((b[0] - a[0]) * (celsius - a[1])) / (b[1] - a[1]);
  }
  return null;
}
