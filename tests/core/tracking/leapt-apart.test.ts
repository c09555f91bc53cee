import { describe, expect, it } from 'vitest';
import { findLeap, mayHaveLeapt } from '../../../daemon/core/tracking/leapt-apart.ts';
import { firstFound, type Of } from '../pair-minutes.ts';

const AT_MIN = 40;
const UNTIL_MIN = 70;
/** A climb in which a slow relay swings both. */
const swings: Of = (m) => 250 + 2 * m + 6 * Math.sin(m * 1.7);
const leaps =
  (byC: number): Of =>
  (m) =>
    m < AT_MIN ? 0 : byC;

const firstOf = (rulingC: Of, otherC: Of, isHeated = true) =>
  firstFound({ rulingC, apartC: (m) => otherC(m) - rulingC(m), untilMin: UNTIL_MIN, isHeated }, findLeap);

describe('two couples whose distance leaps', () => {
  it.each([
    [28, 'ruling'],
    [-28, 'ruling'],
    [28, 'other'],
    [-28, 'other'],
  ] as const)('by %i °C in whatever swing: the one that leapt is known within six minutes', (byC, left) => {
    const leapt: Of = (m) => swings(m) + leaps(byC)(m);
    const beside: Of = (m) => swings(m) + 4 + Math.sin(m);
    const told = left === 'ruling' ? firstOf(leapt, beside) : firstOf(beside, leapt);
    expect(told?.minute).toBeLessThanOrEqual(AT_MIN + 6);
    expect(told?.found.left).toBe(left);
    expect(told?.found.byC).toBeCloseTo(left === 'ruling' ? -byC : byC, -1);
  });

  it('may have leapt until it is known which of them did, and may not as they only part', () => {
    const isInDoubt = (apartC: Of): boolean[] => {
      const doubts: boolean[] = [];
      firstFound({ rulingC: swings, apartC, untilMin: UNTIL_MIN }, (minutes) => {
        doubts.push(mayHaveLeapt(minutes));
        return null;
      });
      return doubts;
    };
    const doubts = isInDoubt(leaps(20));
    expect([doubts.indexOf(true), doubts.lastIndexOf(true)]).toEqual([AT_MIN, AT_MIN + 6]);
    expect(isInDoubt((m) => 3 * Math.max(m - AT_MIN, 0))).not.toContain(true);
  });

  it('are none that come apart within minutes, as two sheaths do when the heat is turned', () => {
    const bends: Of = (m) => swings(m) - 28 * (1 - Math.exp(-Math.max(m - AT_MIN, 0) / 4));
    expect(firstOf(swings, bends)).toBeNull();
    expect(firstOf(bends, swings)).toBeNull();
  });

  it('are none where the flame is turned up, and a thick sheath shows it later', () => {
    const climbs: Of = (m) => 300 + 2 * m + 12 * Math.max(m - AT_MIN, 0);
    const later: Of = (m) => climbs(m - 1.6);
    expect(firstOf(climbs, later)).toBeNull();
    expect(firstOf(later, climbs)).toBeNull();
  });

  it('are none where the flame went out and a thick sheath follows a bead', () => {
    const falls: Of = (m) => 600 - 12 * Math.max(m - AT_MIN, 0);
    expect(
      firstOf(
        (m) => falls(m - 2),
        (m) => falls(m) - leaps(25)(m),
      ),
    ).toBeNull();
  });

  it('are none of two that leap together, nor of a kiln that is let fall', () => {
    const both: Of = (m) => swings(m) + leaps(40)(m);
    expect(firstOf(both, (m) => both(m) + 5)).toBeNull();
    expect(firstOf(swings, both, false)).toBeNull();
  });
});
