import { describe, expect, it } from 'vitest';
import type { CoupleLetter } from '../../../daemon/core/thermometry/its90-coefficients.ts';
import { classTolerance, type WireClass } from '../../../daemon/core/thermometry/wire-class.ts';
import { acceptanceCase, LETTERS, readJson } from './reference-data.ts';

interface Published {
  readonly tolerances: readonly {
    type: CoupleLetter;
    cls: WireClass;
    t_min: number;
    t_max: number;
    formula: { abs: number; rel?: number; above?: number; slope?: number };
  }[];
}
const published = readJson<Published>('tolerance-iec60584.json');

function toleranceC(letter: CoupleLetter, wireClass: WireClass, celsius: number): number {
  const tolerance = classTolerance(letter, wireClass, celsius);
  return tolerance.ok ? tolerance.toleranceC : Number.NaN;
}

describe('a tolerance class', () => {
  it.each(published.tolerances)('$cls of type $type is the published one over its range', (row) => {
    const { type, cls, t_min, t_max, formula } = row;
    for (let celsius = t_min; celsius <= t_max; celsius += 10) {
      const theirs =
        formula.above === undefined
          ? Math.max(formula.abs, (formula.rel ?? 0) * Math.abs(celsius))
          : formula.abs + (formula.slope ?? 0) * Math.max(celsius - formula.above, 0);
      expect(classTolerance(type, cls, celsius)).toMatchObject({ ok: true, isBeyondStandard: false });
      expect(toleranceC(type, cls, celsius)).toBeCloseTo(theirs, 9);
    }
  });

  it('exists for no more than the published letters', () => {
    const classes: readonly WireClass[] = [1, 2, 3];
    const ours = LETTERS.flatMap((letter) =>
      classes.filter((c) => classTolerance(letter, c, 500).ok).map((c) => `${letter}${c}`),
    );
    expect(ours.sort()).toEqual(published.tolerances.map(({ type, cls }) => `${type}${cls}`).sort());
  });

  it('meets acceptance case AC-03', () => {
    const { input, expected } = acceptanceCase<
      { type: CoupleLetter; cls: WireClass; t_C: number }[],
      (number | string)[]
    >('AC-03');
    for (const [i, { type, cls, t_C }] of input.entries()) {
      const ours = classTolerance(type, cls, t_C);
      const theirs = expected[i];
      if (typeof theirs === 'number') expect(ours).toMatchObject({ ok: true, toleranceC: expect.closeTo(theirs, 9) });
      else expect(ours).toMatchObject({ ok: false, sentence: expect.stringContaining(theirs ?? '-') });
    }
    expect(input.length).toBe(5);
  });

  it('is carried on beyond the standard’s range, never narrower than at its end, and says so', () => {
    expect(classTolerance('K', 1, 1200)).toEqual({ ok: true, toleranceC: 4.8, isBeyondStandard: true });
    expect(classTolerance('B', 2, 100)).toEqual({ ok: true, toleranceC: 1.5, isBeyondStandard: true });
    expect(toleranceC('K', 3, 600)).toBeCloseTo(9, 9);
  });
});
