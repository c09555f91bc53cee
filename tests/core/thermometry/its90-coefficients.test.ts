import { describe, expect, it } from 'vitest';
import { COUPLES } from '../../../daemon/core/thermometry/its90-coefficients.ts';
import { LETTERS, readJson } from './reference-data.ts';

interface Published {
  readonly types: Record<
    string,
    {
      readonly direct: readonly {
        t_min: number;
        t_max: number;
        c: number[];
        exp?: { a0: number; a1: number; a2: number };
      }[];
      readonly inverse: readonly { emf_min_mV: number; emf_max_mV: number; d: number[] }[];
    }
  >;
}
const published = readJson<Published>('coefficients.json').types;

describe('the coefficients in the source', () => {
  it.each(LETTERS)('of type %s are the published ones, digit for digit, both ways', (letter) => {
    const { direct, inverse } = COUPLES[letter];
    const theirs = published[letter];
    expect(direct).toEqual(
      theirs?.direct.map(({ t_min, t_max, c, exp }) => ({
        fromC: t_min,
        toC: t_max,
        terms: c,
        ...(exp !== undefined && { bump: [exp.a0, exp.a1, exp.a2] }),
      })),
    );
    expect(inverse).toEqual(
      theirs?.inverse.map(({ emf_min_mV, emf_max_mV, d }) => ({ fromMv: emf_min_mV, toMv: emf_max_mV, terms: d })),
    );
  });

  it('know the hump of type K, and of no other', () => {
    const humped = LETTERS.filter((letter) => COUPLES[letter].direct.some((piece) => piece.bump !== undefined));
    expect(humped).toEqual(['K']);
  });
});
