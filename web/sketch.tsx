/** A small curve for a list: of what was fired, or of what a plan asks for. */
import type { CurvePoint } from '../daemon/wire/live-messages.ts';

interface SketchProps {
  readonly points: readonly CurvePoint[];
  readonly isPlan?: boolean;
  /** What was planned, below the curve. */
  readonly plan?: readonly CurvePoint[];
}

const WIDTH = 120;
const HEIGHT = 44;
const EDGE = 3;

export function Sketch({ points, isPlan = false, plan = [] }: SketchProps) {
  const first = points[0];
  const last = points.at(-1);
  if (first === undefined || last === undefined || points.length < 2) {
    return <svg class="sketch" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true" focusable="false" />;
  }
  const endMs = Math.max(last[0], plan.at(-1)?.[0] ?? last[0]);
  const spanMs = Math.max(1, endMs - first[0]);
  const most = Math.max(100, ...points.map(([, celsius]) => celsius), ...plan.map(([, celsius]) => celsius));
  const place = ([atMs, celsius]: CurvePoint): string => {
    const x = EDGE + ((atMs - first[0]) / spanMs) * (WIDTH - 2 * EDGE);
    const y = HEIGHT - EDGE - (Math.max(0, celsius) / most) * (HEIGHT - 2 * EDGE);
    return `${x.toFixed(1)},${y.toFixed(1)}`;
  };
  return (
    <svg
      class={isPlan ? 'sketch sketch-plan' : 'sketch'}
      viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
      aria-hidden="true"
      focusable="false"
    >
      <path class="sketch-foot" d={`M0 ${HEIGHT - 0.5}H${WIDTH}`} />
      {plan.length > 1 && <polyline class="sketch-under" points={plan.map(place).join(' ')} />}
      <polyline points={points.map(place).join(' ')} />
    </svg>
  );
}
