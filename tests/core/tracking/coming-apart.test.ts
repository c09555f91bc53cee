import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { findApart } from '../../../daemon/core/tracking/coming-apart.ts';
import { firstFound, type Of, type PairWay } from '../pair-minutes.ts';

/** The first minute at which the pair is said to have come apart, and what is said. */
const firstOf = (rulingC: Of, apartC: Of, about: Partial<PairWay> = {}) =>
  firstFound({ rulingC, apartC, untilMin: 140, ...about }, findApart);

const CORNER_MIN = 60;
const drifting =
  (cPerH: number): Of =>
  (minute) =>
    (Math.max(minute - CORNER_MIN, 0) / 60) * cPerH;
/** A climb that goes on twice as fast, and one that ends in its hold. */
const hurries: Of = (m) => 400 + 2 * Math.min(m, CORNER_MIN) + 4 * Math.max(m - CORNER_MIN, 0);
const holds: Of = (m) => 400 + 3 * Math.min(m, CORNER_MIN);

describe('two couples of a hot kiln', () => {
  it.each([
    ['from a corner of the plan on', hurries],
    ['in the hold', holds],
  ])('that come apart %s are told before they are fifteen degrees off', (_when, way) => {
    for (const cPerH of [40, 70, -70]) {
      const told = firstOf(way, (m) => 3 + drifting(cPerH)(m));
      expect(Math.abs(drifting(cPerH)(told?.minute ?? Number.NaN))).toBeLessThan(15);
      expect(Math.sign(told?.found.byC ?? 0)).toBe(Math.sign(cPerH));
    }
  });

  it('are told within five minutes where one of them bends by ten degrees and the other goes on as it went', () => {
    const bends: Of = (m) => 400 + 4 * m - 2.6 * Math.min(Math.max(m - CORNER_MIN, 0), 4);
    const told = firstOf(bends, (m) => 404 + 4 * m - bends(m));
    expect((told?.minute ?? Number.NaN) - CORNER_MIN).toBeLessThanOrEqual(5);
  });

  it('are told with the door ajar as well, but not while its move may have brought them apart', () => {
    const apartC: Of = (m) => 3 + drifting(60)(m);
    const ajar = firstOf(hurries, apartC, { isShut: () => false });
    expect(ajar?.minute).toBeLessThan(75);
    expect(ajar?.minute).toBe(firstOf(hurries, apartC)?.minute);
    // A drift that went on through it is told once it is more than a door explains.
    const fast: Of = (m) => 3 + drifting(120)(m);
    const shut = firstOf(hurries, fast, { isShut: (m) => m > 62 })?.minute ?? Number.NaN;
    expect(shut).toBeGreaterThan(firstOf(hurries, fast)?.minute ?? Number.NaN);
    expect(drifting(120)(shut)).toBeLessThan(28);
  });

  it('are well where the door that is shut leaves them another way apart than ajar', () => {
    const climbs: Of = (m) => 300 + 3 * m;
    const evens: Of = (m) => -12 + 13 * (1 - Math.exp(-Math.max(m - CORNER_MIN, 0) / 2));
    expect(firstOf(climbs, evens, { isShut: (m) => m > CORNER_MIN })).toBeNull();
    expect(firstOf(climbs, evens)).not.toBeNull();
  });

  it('are told of though they meet first and part to the other side', () => {
    const told = firstOf(hurries, (m) => 7 - drifting(70)(m));
    expect(drifting(70)(told?.minute ?? Number.NaN)).toBeLessThan(18);
  });

  it('are well at a knee, where the thicker sheath goes on for a minute', () => {
    for (const apartC of [
      (m: number) => 4 + hurries(m) - hurries(m - 1),
      (m: number) => 4 - (hurries(m) - hurries(m - 1)),
    ]) {
      expect(firstOf(hurries, apartC)).toBeNull();
    }
  });

  it('are well as they come together, as they go on parting as they did, and where one reading leapt', () => {
    for (const apartC of [
      (m: number) => 60 * Math.exp(-m / 40),
      (m: number) => -50 + 0.4 * m,
      (m: number) => 5 + 0.3 * m,
      (m: number) => (m === 80 ? 40 : 6),
    ]) {
      expect(firstOf(hurries, apartC)).toBeNull();
    }
  });

  it('that only one of them brings together is told before it has crossed the other by far', () => {
    const stops: Of = (m) => 400 + 3 * Math.min(m, CORNER_MIN) + 0.6 * Math.max(m - CORNER_MIN, 0);
    const told = firstOf(stops, (m) => 388 + 3 * m - stops(m));
    expect((told?.minute ?? Number.NaN) - CORNER_MIN).toBeLessThanOrEqual(6);
  });

  it('are well while a flame that is turned up brings them apart, and back as the thicker sheath follows', () => {
    const risesC: Of = (m) => 3 * Math.min(Math.max(m - CORNER_MIN, 0), 3);
    const followsC: Of = (m) => 1.125 * Math.min(Math.max(m - CORNER_MIN - 2.5, 0), 8);
    const climbs: Of = (m) => 400 + 3 * m + risesC(m);
    expect(firstOf(climbs, (m) => -6 + followsC(m) - risesC(m))).toBeNull();
  });

  it('of a cool kiln are told as they change sides, and not while they meet', () => {
    const cool: Of = (m) => 60 + 2 * m;
    const sides: Of = (m) => -5 + 10 * Math.min(Math.max((m - CORNER_MIN) / 8, 0), 1);
    const told = firstOf(cool, sides);
    expect(cool(told?.minute ?? Number.NaN)).toBeLessThan(210);
    expect(firstOf(cool, (m) => 5 * sides(m) - 40, { untilMin: 90 })).toBeNull();
  });

  it('are well while the flame that is turned down brings them nearer', () => {
    expect(firstOf(holds, (m) => 20 - 18 * (1 - Math.exp(-Math.max(m - CORNER_MIN, 0) / 5)))).toBeNull();
  });

  it('are well as the hold brings them apart another way, ever more slowly, and are not if that goes on', () => {
    const another = (m: number): number => 4 - 13 * (1 - Math.exp(-Math.max(m - CORNER_MIN, 0) / 4));
    expect(firstOf(holds, another)).toBeNull();
    expect(firstOf(holds, (m) => another(m) - drifting(60)(m))).not.toBeNull();
  });

  it('are well where a bare bead shows a slow relay, and are not judged while heat or door are in doubt', () => {
    const random = seededRandom(17);
    expect(firstOf(hurries, (m) => 15 + 14 * Math.sin(m / 1.4) + 2 * (random.next() - 0.5))).toBeNull();
    expect(firstOf(hurries, (m) => 3 + drifting(70)(m), { isHeated: false })).toBeNull();
  });
});
