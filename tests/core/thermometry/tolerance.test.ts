import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { LETTERS, wireToleranceC } from '../../../daemon/core/thermometry/tolerance.ts';

interface Published {
  readonly ranges: { readonly letters: Record<string, { readonly fromC: number; readonly toC: number }> };
  readonly tolerances: {
    readonly class2: readonly { type: string; t_min: number; t_max: number; formula: { abs: number; rel: number } }[];
    readonly spotValuesC: readonly { type: string; t: number; tol: number }[];
  };
}
const published: Published = JSON.parse(
  readFileSync(new URL('../../data/thermocouple/letters.json', import.meta.url), 'utf8'),
);

describe('thermocouple letters', () => {
  it('reach as far as the published EMF tables, all eight of them', () => {
    const ours = Object.entries(LETTERS).map(([letter, { fromC, toC }]) => [letter, { fromC, toC }]);
    expect(Object.fromEntries(ours)).toEqual(published.ranges.letters);
  });

  it.each(published.tolerances.class2)(
    'give type $type the published tolerance of class 2',
    ({ type, t_min, t_max, formula }) => {
      for (let celsius = t_min; celsius <= t_max; celsius += 10) {
        expect(wireToleranceC(type, celsius)).toBeCloseTo(Math.max(formula.abs, formula.rel * Math.abs(celsius)), 9);
      }
    },
  );

  it.each(published.tolerances.spotValuesC)('are $tol °C off at $t for type $type at most', ({ type, t, tol }) => {
    expect(wireToleranceC(type, t)).toBeCloseTo(tol, 9);
  });

  it('say nothing of a letter that is none', () => {
    expect(wireToleranceC('X', 600)).toBeUndefined();
  });
});
