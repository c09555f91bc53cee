/** A quantity that changes with temperature, straight between given points: looked up often, so laid out on a grid. */

export interface Curve {
  at(celsius: number): number;
  /** Its integral from 0 °C up to there. */
  integralTo(celsius: number): number;
}

const STEP_C = 20;
const TOP_C = 1600;

/**
 * @param points [°C, value], rising; the value stays as it is below the first and above the last
 * @throws RangeError for temperatures that are not whole multiples of 20 °C from 0 to 1600, or do not rise
 */
export function curve(points: readonly (readonly [celsius: number, value: number])[]): Curve {
  points.forEach(([celsius], i) => {
    const before = points[i - 1]?.[0] ?? -STEP_C;
    if (celsius % STEP_C !== 0 || celsius < 0 || celsius > TOP_C || celsius <= before) {
      throw new RangeError(`a curve's points rise in multiples of ${STEP_C} °C from 0 to ${TOP_C}, not ${celsius}`);
    }
  });
  if (points.length === 0) throw new RangeError('a curve needs at least one point');
  const cells = TOP_C / STEP_C;
  // In each cell the value is base + slope · °C, and the integral from 0 up to it begins with `before`.
  const base = new Float64Array(cells);
  const slope = new Float64Array(cells);
  const before = new Float64Array(cells);
  const valueAt = (celsius: number): number => {
    let low = points[0] as readonly [number, number];
    for (const point of points) {
      if (celsius <= point[0]) {
        if (point === low || celsius === point[0]) return point[1];
        return low[1] + ((point[1] - low[1]) * (celsius - low[0])) / (point[0] - low[0]);
      }
      low = point;
    }
    return low[1];
  };
  let sum = 0;
  for (let i = 0; i < cells; i++) {
    const fromC = i * STEP_C;
    const from = valueAt(fromC);
    const to = valueAt(fromC + STEP_C);
    slope[i] = (to - from) / STEP_C;
    base[i] = from - (slope[i] as number) * fromC;
    before[i] = sum;
    sum += ((from + to) / 2) * STEP_C;
  }
  const lowest = valueAt(0);
  const highest = valueAt(TOP_C);
  return {
    at(celsius) {
      const i = Math.floor(celsius / STEP_C);
      if (i < 0) return lowest;
      if (i >= cells) return highest;
      return (base[i] as number) + (slope[i] as number) * celsius;
    },
    integralTo(celsius) {
      const i = Math.floor(celsius / STEP_C);
      if (i < 0) return lowest * celsius;
      if (i >= cells) return sum + highest * (celsius - TOP_C);
      const fromC = i * STEP_C;
      const middle = (base[i] as number) + (slope[i] as number) * ((celsius + fromC) / 2);
      return (before[i] as number) + middle * (celsius - fromC);
    },
  };
}
