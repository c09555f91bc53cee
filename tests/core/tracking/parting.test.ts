import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { findParting } from '../../../daemon/core/tracking/parting.ts';
import { firstFound, type PairWay } from '../pair-minutes.ts';

/** The first minute at which the pair is said to part, and what is said. */
const firstOf = ({ untilMin = 140, ...pair }: Partial<PairWay> & Pick<PairWay, 'rulingC' | 'apartC'>, isShut = true) =>
  firstFound({ ...pair, untilMin }, (minutes) => findParting(minutes, 0, isShut));

const BENDS_MIN = 60;
/** 150 °C an hour from 250 °C on. */
const climb = (minute: number): number => 250 + 2.5 * minute;
const drifting = (cPerH: number) => (minute: number) => (Math.max(minute - BENDS_MIN, 0) / 60) * cPerH;

describe('two couples of a kiln that is heated', () => {
  it.each([25, 30, 45])('that part by %d °C an hour are told at two thirds of fifteen degrees', (cPerH) => {
    for (const usualC of [12, 0]) {
      const told = firstOf({ rulingC: climb, apartC: (m) => usualC + drifting(cPerH)(m) });
      expect(drifting(cPerH)(told?.minute ?? Number.NaN)).toBeLessThan(10);
      expect(told?.found.byC).toBeGreaterThan(6);
    }
  });

  it('are told of which of them bent', () => {
    const low = firstOf({ rulingC: (m) => climb(m) - drifting(30)(m), apartC: (m) => 10 + drifting(30)(m) });
    expect((low?.found.ruling.byPerS ?? 0) * 3600).toBeLessThan(-20);
    expect(Math.abs((low?.found.other.byPerS ?? 1) * 3600)).toBeLessThan(3);
  });

  it('of which one lies in the half that no longer heats are told within a quarter of an hour', () => {
    const cold = (m: number) => (m < BENDS_MIN ? 5 : 5 + 30 * (1 - Math.exp(-(m - BENDS_MIN) / 7)));
    const told = firstOf({ rulingC: climb, apartC: cold }, false);
    expect((told?.minute ?? Number.NaN) - BENDS_MIN).toBeLessThan(15);
  });

  it('are told of where a reading comes each two minutes', () => {
    const told = firstOf({ rulingC: climb, apartC: (m) => 8 + drifting(30)(m), everyMin: 2 });
    expect(drifting(30)(told?.minute ?? Number.NaN)).toBeLessThan(15);
  });

  it('are well while they come together, quickly or slowly, and while they part as they always did', () => {
    for (const apartC of [
      (m: number) => 60 * Math.exp(-m / 40),
      (m: number) => -45 + 0.25 * m,
      (m: number) => -45 + 0.25 * Math.max(m - 50, 0),
      (m: number) => 10 + 0.08 * m,
      (m: number) => 45 - Math.max(m - 40, 0) / 3,
    ]) {
      expect(firstOf({ rulingC: climb, apartC, untilMin: 160 }, false)).toBeNull();
    }
  });

  it('are well where a cool kiln grows hot and they come together by no more than they were apart', () => {
    const warms = (m: number): number => 60 + 4 * m;
    const comes = (m: number): number => Math.max(22 - 0.8 * Math.max(m - 40, 0), 1);
    expect(firstOf({ rulingC: warms, apartC: comes, untilMin: 75 })).toBeNull();
    // What goes on to the other side is no such coming together.
    expect(firstOf({ rulingC: warms, apartC: (m) => 9 - 0.8 * Math.max(m - 40, 0), untilMin: 75 })).not.toBeNull();
  });

  it('are well where the thicker sheath lags behind a flame that is turned to and fro', () => {
    // A pace of 60 to 240 °C/h in stretches of twelve minutes, and a lag of two minutes between the two.
    const paces = [2, 3.5, 1, 4, 2, 3, 1, 2.5, 4, 1.5, 3, 2, 1.5];
    const rulingC = (m: number): number => {
      let celsius = 250;
      for (let k = 0; k < m; k++) celsius += paces[Math.floor(k / 12) % paces.length] ?? 2;
      return celsius;
    };
    const apartC = (m: number): number => 10 + (rulingC(m) - rulingC(Math.max(m - 4, 0))) / 2;
    expect(firstOf({ rulingC, apartC, untilMin: 150 })).toBeNull();
  });

  it('are well where a bare bead shows a slow relay, however deep it breathes', () => {
    const random = seededRandom(17);
    const apartC = (m: number) => 15 + 14 * Math.sin(m / 1.4) + 2 * (random.next() - 0.5);
    expect(firstOf({ rulingC: climb, apartC, untilMin: 160 }, false)).toBeNull();
  });
});
