import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  celsiusOf,
  emfMv,
  isCoupleLetter,
  rangeOf,
  sensitivityMvPerC,
} from '../../../daemon/core/thermometry/its90.ts';
import { COUPLES, type CoupleLetter } from '../../../daemon/core/thermometry/its90-coefficients.ts';
import { acceptanceCase, emfTable, LETTERS, readJson } from './reference-data.ts';

function mv(letter: CoupleLetter, celsius: number): number {
  const emf = emfMv(letter, celsius);
  return emf.ok ? emf.emfMv : Number.NaN;
}

function backC(letter: CoupleLetter, emf: number): number {
  const back = celsiusOf(letter, emf);
  return back.ok ? back.temperatureC : Number.NaN;
}

function sentence(result: { ok: true } | { ok: false; sentence: string }): string {
  return result.ok ? '' : result.sentence;
}

/** Where the way back begins: type B means no one temperature below. */
const backFromC = (letter: CoupleLetter): number => (letter === 'B' ? 50 : rangeOf(letter).fromC);

describe('°C to mV', () => {
  it.each(LETTERS)('gives every printed point of the table of type %s', (letter) => {
    const wrong = emfTable(letter).filter(({ celsius, emfMv: printed }) => {
      // No minus before a zero, as it is printed.
      return (Math.round(mv(letter, celsius) * 1000) + 0) / 1000 !== Number(printed);
    });
    expect(wrong).toEqual([]);
  });

  it('has been compared with all 12,026 of them', () => {
    expect(LETTERS.reduce((sum, letter) => sum + emfTable(letter).length, 0)).toBe(12_026);
  });

  it('gives the voltages at the fixed points of the scale', () => {
    const points = readJson<{ emf_mV: Record<string, Record<string, number>> }>('fixed-points.json').emf_mV;
    let compared = 0;
    for (const point of Object.values(points)) {
      const { t90_C = Number.NaN, ...emfs } = point;
      for (const [letter, emf] of Object.entries(emfs)) {
        if (!isCoupleLetter(letter)) throw new Error(`${letter} is no letter`);
        expect(mv(letter, t90_C)).toBeCloseTo(emf, 4);
        compared++;
      }
    }
    expect(compared).toBeGreaterThan(50);
  });

  it.each(LETTERS)('never falls as type %s grows hotter, but for the cold end of B', (letter) => {
    const { toC } = rangeOf(letter);
    let before = Number.NEGATIVE_INFINITY;
    for (let celsius = backFromC(letter); celsius <= toC; celsius += 0.05) {
      const now = mv(letter, celsius);
      expect(now).toBeGreaterThan(before);
      before = now;
    }
  });

  it('falls at the cold end of type B: 21 °C gives less than 0 °C', () => {
    expect(mv('B', 21)).toBeLessThan(-0.0025);
    expect(mv('B', 42.13)).toBeCloseTo(0, 4);
  });

  it.each(LETTERS)('has a slope of type %s that its own differences agree with', (letter) => {
    const { fromC, toC } = rangeOf(letter);
    for (let celsius = fromC + 1; celsius < toC - 1; celsius += 7.3) {
      const isAtSeam = COUPLES[letter].direct.some((piece) => Math.abs(piece.toC - celsius) < 0.02);
      if (isAtSeam) continue;
      const difference = (mv(letter, celsius + 0.01) - mv(letter, celsius - 0.01)) / 0.02;
      expect(sensitivityMvPerC(letter, celsius)).toBeCloseTo(difference, 7);
    }
  });

  it('says in a sentence where it ends', () => {
    expect(sentence(emfMv('K', 1400))).toBe('1400 °C is outside what a type K couple can measure: -270 to 1372 °C.');
    expect(sentence(emfMv('S', Number.NaN))).toBe('A type S couple cannot be at NaN °C; give a number.');
    expect(sensitivityMvPerC('T', 401)).toBeUndefined();
  });
});

describe('mV to °C', () => {
  it.each(LETTERS)('comes back to the same degree, every fiftieth of a degree of type %s', (letter) => {
    const { toC } = rangeOf(letter);
    let worstC = 0;
    for (let celsius = backFromC(letter); celsius <= toC; celsius += 0.02) {
      const awayC = Math.abs(backC(letter, mv(letter, celsius)) - celsius);
      if (!(awayC <= worstC)) worstC = awayC;
    }
    expect(worstC).toBeLessThan(1e-6);
  });

  it('comes back to the same degree wherever one looks (seed 90)', () => {
    fc.assert(
      fc.property(fc.constantFrom(...LETTERS), fc.double({ min: 0, max: 1, noNaN: true }), (letter, share) => {
        const fromC = backFromC(letter);
        const celsius = Math.min(fromC + share * (rangeOf(letter).toC - fromC), rangeOf(letter).toC);
        return Math.abs(backC(letter, mv(letter, celsius)) - celsius) < 0.001;
      }),
      { seed: 90, numRuns: 20_000 },
    );
  });

  it('always answers: a degree that gives this voltage, or a sentence (seed 175)', () => {
    fc.assert(
      fc.property(fc.constantFrom(...LETTERS), fc.double({ min: -20, max: 90 }), (letter, emf) => {
        const back = celsiusOf(letter, emf);
        if (!back.ok) return back.sentence.endsWith('.') || back.sentence.endsWith('?');
        // A gap between two pieces and the rounding at the ends are all that may be missing.
        return Math.abs(mv(letter, back.temperatureC) - emf) < 0.000_501;
      }),
      { seed: 175, numRuns: 20_000 },
    );
  });

  it.each(LETTERS)('agrees with the published inverse of type %s as closely as that one claims', (letter) => {
    const published = readJson<{
      types: Record<
        string,
        {
          inverse: {
            emf_min_mV: number;
            emf_max_mV: number;
            error_min_C: number;
            error_max_C: number;
            d: number[];
          }[];
        }
      >;
    }>('coefficients.json').types[letter]?.inverse;
    for (const { emf_min_mV, emf_max_mV, error_min_C, error_max_C, d } of published ?? []) {
      for (let share = 0; share <= 1; share += 0.01) {
        const emf = emf_min_mV + share * (emf_max_mV - emf_min_mV);
        const theirsC = d.reduceRight((sum, term) => sum * emf + term, 0);
        const theirErrorC = theirsC - backC(letter, emf);
        // The claims are rounded to their last digit.
        expect(theirErrorC).toBeGreaterThan(error_min_C - 0.006);
        expect(theirErrorC).toBeLessThan(error_max_C + 0.006);
      }
    }
  });

  it('reads type B from 50 °C up, and below says why not', () => {
    expect(backC('B', mv('B', 50))).toBeCloseTo(50, 9);
    expect(sentence(celsiusOf('B', 0))).toBe(
      '0.000 mV of a type B couple means no one temperature: below 50 °C it gives almost nothing, and the same voltage twice; it can be read from 50 °C up.',
    );
    expect(celsiusOf('B', mv('B', 21)).ok).toBe(false);
  });

  it('takes the last digit of a printed table for the end of the range', () => {
    for (const letter of LETTERS) {
      const end = emfTable(letter).at(-1);
      expect(backC(letter, Number(end?.emfMv))).toBeCloseTo(end?.celsius ?? Number.NaN, 0);
    }
  });

  it('says in a sentence what the couple can give, and asks about swapped wires', () => {
    expect(sentence(celsiusOf('K', 60))).toBe(
      '60.000 mV is outside what a type K couple can give: it gives -6.458 mV at -270 °C and 54.886 mV at 1372 °C.',
    );
    expect(sentence(celsiusOf('K', -24.9))).toContain('Are its two wires swapped?');
    expect(sentence(celsiusOf('S', Number.NaN))).toBe('A type S couple cannot give NaN mV; give a number.');
  });

  it('has no answer for a letter that is none', () => {
    expect(['K', 'X', 'k', 'toString'].map(isCoupleLetter)).toEqual([true, false, false, false]);
  });

  it('meets acceptance case AC-01, both ways', () => {
    const { input, expected } = acceptanceCase<{ type: CoupleLetter; t_C: number[] }, { emf_mV: number[] }>('AC-01');
    for (const [i, celsius] of input.t_C.entries()) {
      const emf = expected.emf_mV[i] ?? Number.NaN;
      expect(Math.abs(mv(input.type, celsius) - emf)).toBeLessThanOrEqual(0.0005);
      expect(Math.abs(backC(input.type, emf) - celsius)).toBeLessThan(0.02);
    }
    expect(input.t_C.length).toBe(10);
  });
});
