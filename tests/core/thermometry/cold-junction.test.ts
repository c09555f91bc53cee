import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { terminalMv, tipC, tipCFromStraightLine } from '../../../daemon/core/thermometry/cold-junction.ts';
import { celsiusOf } from '../../../daemon/core/thermometry/its90.ts';
import type { CoupleLetter } from '../../../daemon/core/thermometry/its90-coefficients.ts';
import { acceptanceCase, LETTERS } from './reference-data.ts';

type Tip = ReturnType<typeof tipC>;
const degrees = (tip: Tip): number => (tip.ok ? tip.temperatureC : Number.NaN);

describe('the cold end', () => {
  it('is added as a voltage: acceptance case AC-02', () => {
    const { input, expected } = acceptanceCase<
      { type: CoupleLetter; emf_mV: number; cj_C: number }[],
      { t_C: number[]; wrong_if_temperatures_added_C: number[] }
    >('AC-02');
    for (const [i, { type, emf_mV, cj_C }] of input.entries()) {
      const hotC = degrees(tipC(type, emf_mV, cj_C));
      expect(Math.abs(hotC - (expected.t_C[i] ?? Number.NaN))).toBeLessThan(0.01);
      const addedC = degrees(celsiusOf(type, emf_mV)) + cj_C;
      expect(Math.abs(addedC - (expected.wrong_if_temperatures_added_C[i] ?? Number.NaN))).toBeLessThan(0.01);
    }
    expect(input.length).toBe(4);
  });

  it('comes back to the tip from what the terminals give (seed 2)', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...LETTERS),
        fc.double({ min: 60, max: 390, noNaN: true }),
        fc.double({ min: 1, max: 60, noNaN: true }),
        (letter, hotC, coldC) => {
          const emf = terminalMv(letter, hotC, coldC);
          return emf.ok && Math.abs(degrees(tipC(letter, emf.emfMv, coldC)) - hotC) < 0.001;
        },
      ),
      { seed: 2, numRuns: 5000 },
    );
  });

  it('gives no volts where tip and terminals are equally warm', () => {
    for (const letter of LETTERS) expect(terminalMv(letter, 25, 25)).toEqual({ ok: true, emfMv: 0 });
  });

  it('lets a straight-line figure be read by the couple’s own function', () => {
    // 27.025 mV is type K at 650 °C, 1 mV at 25: the straight line of 0.041276 mV/°C would show 655.5.
    const emf = terminalMv('K', 650, 25);
    if (!emf.ok) throw new Error(emf.sentence);
    const shownC = 25 + emf.emfMv / 0.041276;
    expect(shownC).toBeCloseTo(655.5, 1);
    expect(degrees(tipCFromStraightLine('K', shownC, 25, 0.041276))).toBeCloseTo(650, 6);
  });

  it.each([-41, 126, Number.NaN])('at %d °C is a broken thermometer, not a temperature', (coldC) => {
    const tip = tipC('K', 20, coldC);
    expect(tip).toEqual({
      ok: false,
      sentence: `The terminals are said to be at ${coldC} °C; their thermometer can be right from -40 to 125 °C only.`,
    });
  });

  it('in frost is refused for type B, of which nothing is published there', () => {
    expect(tipC('B', 2, -3)).toEqual({
      ok: false,
      sentence: 'The terminals are at -3 °C, where nothing is published for type B; they must be above 0 °C.',
    });
    expect(tipC('S', 5, -3).ok).toBe(true);
  });
});
