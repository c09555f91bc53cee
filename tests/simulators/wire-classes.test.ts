import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import {
  type CoupleLetter,
  classRangeC,
  classToleranceC,
  drawWireError,
  type ToleranceClass,
} from '../../simulators/wire-classes.ts';

interface Published {
  readonly tolerances: readonly {
    readonly type: CoupleLetter;
    readonly cls: ToleranceClass;
    readonly t_min: number;
    readonly t_max: number;
    readonly formula: { readonly abs: number; readonly rel?: number; readonly above?: number; readonly slope?: number };
  }[];
  readonly spot_values_C: readonly { type: CoupleLetter; cls: ToleranceClass; t: number; tol: number }[];
}
const published: Published = JSON.parse(
  readFileSync(new URL('../data/thermocouple/tolerance-classes.json', import.meta.url), 'utf8'),
);

function publishedC(row: Published['tolerances'][number], celsius: number): number {
  const { abs, rel = 0, above = Number.POSITIVE_INFINITY, slope = 0 } = row.formula;
  if (row.formula.above !== undefined) return abs + (celsius > above ? slope * (celsius - above) : 0);
  return Math.max(abs, rel * Math.abs(celsius));
}

/** Where the tolerance bends upward late, a line from one edge at 0 °C to the other at the bend gets no further. */
function straightLineReachesC({ formula: { abs, above } }: Published['tolerances'][number], celsius: number): number {
  return above === undefined || celsius < above
    ? Number.POSITIVE_INFINITY
    : abs + (2 * abs * (celsius - above)) / above;
}

function* temperatures(row: Published['tolerances'][number]): Generator<number> {
  for (let c = row.t_min; c <= row.t_max; c += 20) yield c;
}

describe('the tolerance classes of thermocouple wire', () => {
  it('are those of all eight letters', () => {
    expect([...new Set(published.tolerances.map((t) => t.type))].sort().join('')).toBe('BEJKNRST');
  });

  it.each(published.tolerances)('allow type $type class $cls what is published', (row) => {
    const wire = { letter: row.type, toleranceClass: row.cls };
    expect(classRangeC(wire)).toEqual({ fromC: row.t_min, toC: row.t_max });
    for (const c of temperatures(row)) expect(classToleranceC(wire, c)).toBeCloseTo(publishedC(row, c), 9);
  });

  it.each(published.spot_values_C)('allow type $type class $cls at $t °C $tol °C', ({ type, cls, t, tol }) => {
    expect(classToleranceC({ letter: type, toleranceClass: cls }, t)).toBeCloseTo(tol, 9);
  });

  it('say which classes there are where one is asked for that is not', () => {
    const draw = (): unknown => drawWireError({ letter: 'B', toleranceClass: 1 }, seededRandom(1));
    expect(draw).toThrow('type B has no tolerance class 1 here; write class 2 or 3');
  });

  it.each(published.tolerances)(
    'are kept by 10,000 drawn wires of type $type class $cls at every temperature, and filled (seed 7)',
    (row) => {
      const random = seededRandom(7);
      const wires = Array.from({ length: 10_000 }, () =>
        drawWireError({ letter: row.type, toleranceClass: row.cls }, random),
      );
      for (const c of temperatures(row)) {
        const mostC = publishedC(row, c);
        let highestC = Number.NEGATIVE_INFINITY;
        let lowestC = Number.POSITIVE_INFINITY;
        for (const { atZeroC, gainRatio } of wires) {
          const errorC = atZeroC + gainRatio * c;
          highestC = Math.max(highestC, errorC);
          lowestC = Math.min(lowestC, errorC);
        }
        expect(highestC).toBeLessThanOrEqual(mostC + 1e-9);
        expect(lowestC).toBeGreaterThanOrEqual(-mostC - 1e-9);
        const withinReachC = Math.min(mostC, straightLineReachesC(row, c));
        expect(highestC).toBeGreaterThan(0.9 * withinReachC);
        expect(lowestC).toBeLessThan(-0.9 * withinReachC);
      }
      const middleC = (row.t_min + row.t_max) / 2;
      const halfC = publishedC(row, middleC) / 2;
      const farOff = wires.filter((w) => Math.abs(w.atZeroC + w.gainRatio * middleC) > halfC).length;
      expect(farOff / wires.length).toBeGreaterThan(0.25);
      const meanC = wires.reduce((sum, w) => sum + w.atZeroC + w.gainRatio * middleC, 0) / wires.length;
      expect(Math.abs(meanC)).toBeLessThan(0.03 * publishedC(row, middleC));
    },
  );
});
