import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { celsiusFromF, celsiusFromK } from '../../../daemon/core/numbers/units.ts';
import { meaningsOf } from '../../../daemon/core/setup/ways.ts';
import { terminalMv } from '../../../daemon/core/thermometry/cold-junction.ts';

const first = (figure: number) => meaningsOf(figure)[0];

describe('what a figure may mean', () => {
  it('is a room in °C, °F or K, where the kiln is cold', () => {
    expect(first(21.5)).toEqual({ unit: 'C', celsius: 21.5, remark: 'like a room' });
    expect(first(70.7)).toEqual({ unit: 'F', celsius: 21.5, remark: 'like a room' });
    expect(first(294.65)).toEqual({ unit: 'K', celsius: 21.5, remark: 'like a room' });
  });

  it('is a room in millivolts, whatever the letter, where it is next to nothing', () => {
    const meanings = meaningsOf(-0.02);
    expect(meanings[0]).toMatchObject({ unit: 'mV', letter: 'K', remark: 'like a room' });
    expect(meanings.filter(({ unit, remark }) => unit === 'mV' && remark === 'like a room').length).toBeGreaterThan(5);
  });

  it('is a hot kiln in °C before it is anything in volts', () => {
    expect(meaningsOf(648.5).map(({ unit }) => unit)).toEqual(['C', 'F', 'K']);
    expect(first(26.1)).toMatchObject({ unit: 'C', remark: 'like a room' });
    expect(meaningsOf(26.1)).toContainEqual(
      expect.objectContaining({ unit: 'mV', letter: 'K', remark: 'like a hot kiln' }),
    );
  });

  it('is nothing where no kiln and no workshop is like it', () => {
    for (const figure of [1_773_478_800, -400, 32_767, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(meaningsOf(figure)).toEqual([]);
    }
  });

  it('is always the figure itself, turned by the scale that it names', () => {
    fc.assert(
      fc.property(fc.double({ min: -500, max: 4000, noNaN: true }), (figure) => {
        for (const { unit, letter, celsius, remark } of meaningsOf(figure)) {
          expect(celsius).toBeGreaterThanOrEqual(-20);
          expect(celsius).toBeLessThanOrEqual(1350);
          expect(remark).toMatch(/^like a /);
          const back =
            unit === 'C' ? figure : unit === 'F' ? celsiusFromF(figure) : unit === 'K' ? celsiusFromK(figure) : null;
          if (back !== null) expect(Math.abs(celsius - back)).toBeLessThan(0.006);
          else if (letter !== undefined) {
            const mv = terminalMv(letter, celsius, 22);
            expect(mv.ok && Math.abs(mv.emfMv - figure)).toBeLessThan(0.001);
          }
        }
      }),
      { seed: 21, numRuns: 1000 },
    );
  });
});
