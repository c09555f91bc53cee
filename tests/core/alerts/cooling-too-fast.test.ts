import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { atS, begin, climbOfMatt, curve, type Fed, fallenMatt, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'cooling-too-fast' && a.phase !== 'over');

describe('a fall too fast', () => {
  it('is told where it steepens in the range in which the glass minds', () => {
    const gas = told(
      feed(
        begin(),
        fallenMatt((s) => 520 - s / 8),
      ),
    );
    expect(gas[0]?.message).toMatch(/Once the gas is off: damper and ports shut, spyhole plugged/);
    expect(
      told(
        feed(
          begin(matt, electric),
          fallenMatt((s) => 520 - s / 8),
        ),
      )[0]?.message,
    ).toMatch(/Close lid and peephole/);
  });

  it('is none of a shut kiln that falls as it does', () => {
    expect(
      told(
        feed(
          begin(),
          fallenMatt((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });

  it('is none of a light kiln that falls by itself faster than the plan would have it', () => {
    const limited: Schedule = {
      ...matt,
      limits: [{ fromC: 425, toC: 560, maxCPerH: 200, why: 'the plate may crack' }],
    };
    const light = (s: number): number => (s < 13_700 ? climbOfMatt(s) : 20 + 640 * Math.exp(-(s - 13_700) / 3900));
    expect(told(feed(begin(limited, electric), curve(0, 16_200, light, 5)))).toEqual([]);
  });

  it('is none of a couple that rested for a while and makes up for it', () => {
    const rested = (afterS: number): number =>
      520 - (afterS < 40 ? afterS / 40 : Math.min(1 + (afterS - 40) / 11, afterS / 14));
    expect(told(feed(begin(), fallenMatt(rested)))).toEqual([]);
  });

  it('is none of a look through the door for half a minute, which the glass hardly feels', () => {
    const dipC = (s: number): number => (s < 0 ? 0 : s < 20 ? s / 4 : 5 * Math.exp(-(s - 20) / 100));
    expect(
      told(
        feed(
          begin(),
          fallenMatt((s) => 520 - s / 16 - dipC(s - 200)),
        ),
      ),
    ).toEqual([]);
  });

  it('is none of a longer look, once what it took off comes back', () => {
    // Eight degrees down within half a minute; in the next the couple comes back by most of it.
    const dipC = (s: number): number => (s < 0 ? 0 : s < 35 ? (8 * s) / 35 : 2 + 6 * Math.exp(-(s - 35) / 20));
    const looked = fallenMatt((s) => 520 - s / 16 - dipC(s - 300));
    expect(told(feed(begin(), looked))).toEqual([]);
  });

  describe('once the gas is shut', () => {
    /** Hundredths of what is above the room are shed in so many seconds; a bare couple has lost the flame's share at once. */
    const shut = (sheds: number, flameC: number) =>
      curve(
        0,
        14_400,
        (s) => {
          if (s < 13_620) return climbOfMatt(s);
          const afterS = s - 13_620;
          return 20 + (640 - flameC) * Math.exp(-afterS / sheds) + flameC * Math.exp(-afterS / 12);
        },
        3,
      );
    const sinceShutS = (fed: Fed): number =>
      ((told(fed)[0]?.atMs ?? Number.POSITIVE_INFINITY) - fed.state.startedAtMs) / 1000 - 13_620;

    it('is told within a minute and a quarter of a damper that stands wide open', () => {
      expect(sinceShutS(feed(begin(), shut(1280, 0)))).toBeLessThan(75);
    });

    it('is none after a plan that ends with its heat: nobody has said how it is to cool', () => {
      const ends = { ...matt, segments: matt.segments.slice(0, 3) };
      expect(ends.segments.at(-1)?.kind).toBe('hold');
      expect(told(feed(begin(ends), shut(1280, 0)))).toEqual([]);
    });

    it('is told within two minutes and a half of one that lets it fall faster than the schedule allows further down', () => {
      const limited = { ...matt, limits: [{ fromC: 430, toC: 560, maxCPerH: 700, why: 'the plate may crack' }] };
      expect(sinceShutS(feed(begin(limited), shut(1950, 20)))).toBeLessThan(150);
    });

    it('is told, before it counts, of one that will fall faster than is written for its fall, which a shut kiln keeps', () => {
      const downwards = { fromC: 560, toC: 430, maxCPerH: 480, why: 'the plate may crack' };
      const written = { ...matt, limits: [downwards] };
      // At 560 °C, after nine minutes, it sheds 610 °C an hour, and 430 with all shut.
      expect(sinceShutS(feed(begin(written), shut(3200, 20)))).toBeLessThan(400);
      expect(told(feed(begin(written), shut(4500, 20)))).toEqual([]);
      const upwards = { ...matt, limits: [{ ...downwards, fromC: 430, toC: 560 }] };
      expect(told(feed(begin(upwards), shut(3200, 20)))).toEqual([]);
    });

    it('is told as well where the plan leaves the lid free all the way down, since it writes how that may fall', () => {
      const segments = matt.segments.map((s, i) => (i === 3 ? ({ ...s, opening: 'free' } as const) : s));
      const limits = [{ fromC: 560, toC: 430, maxCPerH: 480, why: 'the plate may crack' }];
      const written: Schedule = { ...matt, segments, limits };
      expect(sinceShutS(feed(begin(written), shut(3200, 20)))).toBeLessThan(400);
      expect(told(feed(begin(written), shut(4500, 20)))).toEqual([]);
    });

    it('is none for what is written of the guided fall that comes after', () => {
      const guided: Schedule = {
        ...matt,
        segments: [
          ...matt.segments.slice(0, 3),
          { kind: 'ramp', toC: 560, rateCPerH: 'let-fall' },
          { kind: 'ramp', toC: 430, rateCPerH: 80 },
          { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
        ],
        limits: [{ fromC: 558, toC: 430, maxCPerH: 120, why: 'the plate may crack' }],
      };
      const until560 = shut(3200, 20).slice(0, 4640);
      expect(told(feed(begin(guided), until560))).toEqual([]);
    });

    it('is none for what the plan breaks by its own guided fall', () => {
      const guided: Schedule = {
        ...matt,
        segments: [
          ...matt.segments.slice(0, 3),
          { kind: 'ramp', toC: 515, rateCPerH: 'let-fall' },
          { kind: 'hold', minutes: 60 },
          { kind: 'ramp', toC: 430, rateCPerH: 30 },
          { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
        ],
        limits: [{ fromC: 560, toC: 430, maxCPerH: 0, why: 'the plate may crack' }],
      };
      const until560 = shut(3200, 20).slice(0, 4640);
      expect(told(feed(begin(guided), until560))).toEqual([]);
    });

    it('is none of a bare couple that has lost the flame, in a kiln that is shut', () => {
      const limited = { ...matt, limits: [{ fromC: 430, toC: 560, maxCPerH: 400, why: 'the plate may crack' }] };
      expect(told(feed(begin(limited), shut(3500, 70)))).toEqual([]);
    });
  });

  it('is told of elements off and a vent left open, by what is written for the fall', () => {
    const written = { ...matt, limits: [{ fromC: 560, toC: 430, maxCPerH: 480, why: 'the plate may crack' }] };
    const off = (sheds: number) =>
      curve(0, 15_600, (s) => (s < 13_620 ? climbOfMatt(s) : 20 + 640 * Math.exp(-(s - 13_620) / sheds)), 5);
    const [vent] = told(feed(begin(written, electric), off(3200)));
    // 560 °C is passed after 540 s, at 610 °C an hour; 430 with all shut.
    expect(vent?.atMs).toBeLessThan(atS(13_620 + 400));
    expect(vent?.message).toMatch(/Close lid and peephole/);
    expect(told(feed(begin(written, electric), off(4500)))).toEqual([]);
    // What is written for the last of the way down says nothing yet.
    const edge = { ...written, limits: [...written.limits, { fromC: 365, toC: 100, maxCPerH: 60, why: 'the edge' }] };
    expect(told(feed(begin(edge, electric), off(4500)))).toEqual([]);
  });

  describe('where the plan anneals in a hold', () => {
    const annealed: Schedule = {
      ...matt,
      segments: [
        ...matt.segments.slice(0, 3),
        { kind: 'ramp', toC: 540, rateCPerH: 'let-fall' },
        { kind: 'hold', minutes: 25 },
        { kind: 'ramp', toC: 440, rateCPerH: 60 },
        { kind: 'ramp', toC: 100, rateCPerH: 'let-fall' },
      ],
    };
    /** Let to fall from 13 620 s on, at 540 °C after a quarter of an hour. */
    const fall = (s: number): number => (s < 13_620 ? climbOfMatt(s) : 660 - (s - 13_620) / 7.5);

    it('is told of a programme that goes on falling through it, and no heat that has gone', () => {
      // For two minutes it warms a little, as if it had been caught; then on by 4 °C a minute.
      const on = (s: number): number =>
        s < 14_560 ? fall(s) : 534.7 + (s < 14_680 ? (s - 14_560) / 80 : 1.5 - (s - 14_680) / 15);
      const fed = feed(begin(annealed, electric), curve(0, 15_300, on, 5));
      expect(new Set(stagedAlerts(fed).map((a) => a.alert))).toEqual(new Set(['cooling-too-fast']));
      expect((told(fed)[0]?.atMs ?? Number.POSITIVE_INFINITY) - fed.state.startedAtMs).toBeLessThan(15_060_000);
    });

    it('is told within four minutes of one that falls on through it by two and a half tolerances: none is caught so late', () => {
      const on = curve(0, 15_300, (s) => Math.max(fall(s), 300), 5);
      const fed = feed(begin(annealed, electric), on);
      expect((told(fed)[0]?.atMs ?? Number.POSITIVE_INFINITY) - fed.state.startedAtMs).toBeLessThan(14_760_000);
    });

    it('is told within two minutes of one that lets go of it', () => {
      const letsGo = (s: number): number =>
        s < 15_900 ? Math.max(fall(s), 540) : Math.max(540 - (s - 15_900) / 10, 300);
      const fed = feed(begin(annealed, electric), curve(0, 16_200, letsGo, 5));
      expect((told(fed)[0]?.atMs ?? Number.POSITIVE_INFINITY) - fed.state.startedAtMs).toBeLessThan(16_020_000);
    });

    it('is none of a controller that swings in as it catches the fall', () => {
      const swings = (s: number): number =>
        s < 14_610 ? fall(s) : 540 - 9 * Math.exp(-(s - 14_610) / 200) * Math.sin((s - 14_610) / 70);
      const fed = feed(begin(annealed, electric), curve(0, 16_100, swings, 5));
      expect(stagedAlerts(fed).filter((a) => a.atMs > fed.state.startedAtMs + 13_700_000)).toEqual([]);
    });
  });

  describe('that the plan guides', () => {
    const guided: Schedule = {
      ...matt,
      segments: [
        ...matt.segments.slice(0, 3),
        { kind: 'ramp', toC: 540, rateCPerH: 'let-fall' },
        { kind: 'ramp', toC: 440, rateCPerH: 60 },
        { kind: 'ramp', toC: 100, rateCPerH: 'let-fall' },
      ],
    };
    /** Let to fall from 13 700 s on, at 540 °C after 840 s. */
    const fall = (s: number): number => (s < 13_700 ? climbOfMatt(s) : 660 - (s - 13_700) / 7);

    it('is none of a let-fall that the controller catches some minutes late', () => {
      const caught = (s: number): number => {
        if (s < 14_680) return fall(s);
        return s < 14_860 ? 520 + (s - 14_680) / 7 : 540 - (s - 14_540) / 60;
      };
      const fed = feed(begin(guided, electric), curve(0, 16_200, caught, 5));
      expect(stagedAlerts(fed).filter((a) => a.atMs > fed.state.startedAtMs + 14_000_000)).toEqual([]);
    });

    it('is told where nothing catches it', () => {
      expect(
        told(
          feed(
            begin(guided, electric),
            curve(0, 15_600, (s) => Math.max(fall(s), 300), 5),
          ),
        ),
      ).not.toEqual([]);
    });

    it('is told within five minutes of a programme that lets it fall from its hold too fast, and is no heat that has gone', () => {
      const fromHold: Schedule = {
        ...matt,
        limits: [{ fromC: 425, toC: 700, maxCPerH: 480, why: 'the plate may crack' }],
        segments: [...matt.segments.slice(0, 3), { kind: 'ramp', toC: 450, rateCPerH: 60 }],
      };
      const steep = (s: number): number => (s < 13_700 ? climbOfMatt(s) : 660 - (s - 13_700) / 14);
      const fed = feed(begin(fromHold, electric), curve(0, 15_000, steep, 5));
      // Foreseen within the tolerance, and then below it: one alert that gets worse.
      expect([...new Set(stagedAlerts(fed).map((a) => `${a.alert} ${a.id}`))]).toHaveLength(1);
      expect((told(fed)[0]?.atMs ?? Number.POSITIVE_INFINITY) - fed.state.startedAtMs).toBeLessThan(14_000_000);
    });

    it('is told within four minutes of a controller that lets go in the middle, before the tolerance is used up', () => {
      const letGo = (s: number): number => {
        if (s < 16_000) return s < 14_540 ? fall(s) : 540 - (s - 14_540) / 60;
        return 515.7 - (s - 16_000) / 20;
      };
      const fed = feed(begin(guided, electric), curve(0, 17_000, letGo, 5));
      const toldS = ((told(fed)[0]?.atMs ?? Number.POSITIVE_INFINITY) - fed.state.startedAtMs) / 1000;
      expect(toldS).toBeGreaterThan(16_000);
      expect(toldS).toBeLessThan(16_240);
    });

    it('is none at its end, where the controller has gone on to the next fall before the couple came down to it', () => {
      const ended = (s: number): number => {
        const slow = s < 14_540 ? fall(s) : 540 - (s - 14_540) / 60;
        return s < 20_000 ? slow : 449 - (s - 20_000) / 12;
      };
      expect(told(feed(begin(guided, electric), curve(0, 20_400, ended, 5)))).toEqual([]);
    });
  });
});
