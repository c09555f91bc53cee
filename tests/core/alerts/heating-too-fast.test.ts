import { describe, expect, it } from 'vitest';
import { clamp } from '../../../daemon/core/numbers/units.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { begin, climbOfMatt, curve, type Fed, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'heating-too-fast' && a.phase !== 'over');

describe('a climb too fast', () => {
  const fast = curve(0, 3600, (s) => (s < 2700 ? 20 + s / 15 : 200 + (s - 2700) / 6));

  it('is told while the medium smokes, before five minutes of it have passed', () => {
    const [first] = told(feed(begin(), fast));
    expect(first?.phase).toBe('foreseen');
    expect((first?.atMs ?? 0) - begin().state.startedAtMs).toBeLessThan(3_000_000);
    expect(first?.message).toMatch(/the oil will boil\. Pilot only, vent open\.$/);
  });

  it('is told as soon where the plan goes by the clock', () => {
    const [first] = told(feed(begin({ ...matt, waits: false }), fast));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(3_000_000);
  });

  it('is none of a hand that goes in waves about the pace of the plan, once the medium has gone', () => {
    // Up and down by 3 °C every six minutes: two minutes of each far above half more than the pace of the plan.
    const waves = curve(0, 9000, (s) => climbOfMatt(s) + (s > 7400 ? 3 * Math.sin((s - 7400) / 57) : 0));
    expect(told(feed(begin(), waves))).toEqual([]);
  });

  it('is told of a climb that stays well above the pace of the plan, also where the medium has gone', () => {
    const hasty = curve(0, 9000, (s) => (s < 7400 ? climbOfMatt(s) : climbOfMatt(7400) + (s - 7400) / 14));
    const [first] = told(feed(begin(), hasty));
    expect(first?.phase).toBe('foreseen');
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(7_900_000);
  });

  it('is told within a minute of a valve opened much too far, also where the kiln had rested before', () => {
    const rests = (s: number): number => climbOfMatt(Math.min(s, 7650)) - Math.max(s - 7650, 0) / 200;
    const surges = curve(
      0,
      8000,
      (s) => rests(Math.min(s, 7800)) + 80 * (1 - Math.exp(-Math.max(s - 7800, 0) / 120)),
      5,
    );
    const [first] = told(feed(begin(), surges));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(7_865_000);
  });

  it('is told within half a minute of it where a hand has kept the climb even, and later where it climbed in waves', () => {
    const opensS = 7800;
    const isToldAfterS = (waveC: number): number => {
      const wave = (s: number): number => waveC * Math.sin(s / 60);
      const opened = (s: number): number => 60 * (1 - Math.exp(-Math.max(s - opensS, 0) / 120));
      const [first] = told(
        feed(
          begin(),
          curve(0, 8000, (s) => climbOfMatt(Math.min(s, opensS)) + wave(Math.min(s, opensS)) + opened(s), 5),
        ),
      );
      return ((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs) / 1000 - opensS;
    };
    expect(isToldAfterS(0.5)).toBeLessThan(30);
    expect(isToldAfterS(4)).toBeGreaterThan(30);
  });

  it('is none of a hand that was slow and turns up for two minutes, no further above the plan’s pace than its waves go', () => {
    const slow = (s: number): number => (s < 3000 ? 20 + s / 15 : 220 + (s - 3000) / 40);
    const turnsUpS = 4800;
    const way = (s: number): number => {
      const up = Math.min(Math.max(s - turnsUpS, 0), 120);
      return slow(s) + 2.4 * Math.sin((s - turnsUpS) / 60) * (s < turnsUpS ? 1 : 0) + up * 0.14;
    };
    expect(told(feed(begin(), curve(0, turnsUpS + 300, way, 5)))).toEqual([]);
  });

  it('is told in a minute and a half of a valve that makes the pace more than double, where an even hand is a little behind', () => {
    const opensS = 5000;
    const behind = (s: number): number => Math.max(climbOfMatt(Math.min(s, opensS)) - 3, 20);
    const wave = (s: number): number => 0.5 * Math.sin(s / 60);
    const opened = (s: number): number => Math.max(s - opensS, 0) / 6;
    const hasty = curve(0, opensS + 300, (s) => behind(s) + wave(s) + opened(s), 5);
    const [first] = told(feed(begin(), hasty));
    expect(first?.phase).toBe('foreseen');
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan((opensS + 90) * 1000);
  });

  it('is told in five minutes of a valve that creeps open where a hand has kept the climb even, not of waves as steep as ever', () => {
    const creepsS = 4000;
    // Ever a little faster, from 240 to 510 °C an hour within five minutes; or up and down by 8 °C, as all firing long.
    const creeps = curve(0, creepsS + 300, (s) => 20 + s / 15 + Math.max(s - creepsS, 0) ** 2 / 8000, 5);
    const waves = curve(0, creepsS + 300, (s) => 20 + s / 15 + 8 * Math.sin((s - creepsS) / 80), 5);
    expect(told(feed(begin(), creeps)).map((a) => a.phase)).toEqual(['foreseen']);
    expect(told(feed(begin(), waves))).toEqual([]);
  });

  it('is told as soon of one opened too far where a steeper ramp has just begun', () => {
    const steeper: Schedule = {
      ...matt,
      segments: [
        { kind: 'ramp', toC: 300, rateCPerH: 150 },
        { kind: 'ramp', toC: 640, rateCPerH: 200 },
      ],
    };
    const cornerS = (280 / 150) * 3600;
    const surges = curve(0, cornerS + 400, (s) => (s < cornerS + 60 ? 20 + s / 24 : 302.5 + (s - cornerS - 60) / 4));
    const [first] = told(feed(begin(steeper), surges));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan((cornerS + 240) * 1000);
  });

  it('is none of the pace of the steeper ramp before, in the minutes after the corner', () => {
    const slower: Schedule = {
      ...matt,
      segments: [
        { kind: 'ramp', toC: 300, rateCPerH: 300 },
        { kind: 'ramp', toC: 640, rateCPerH: 80 },
      ],
    };
    const eases = curve(0, 6000, (s) => (s < 3400 ? 20 + s / 12 : 303.3 + (s - 3400) / 40));
    expect(told(feed(begin(slower), eases))).toEqual([]);
  });

  it('is none of a slow ramp that is climbed a little less than a degree a minute faster', () => {
    const slow: Schedule = { ...matt, segments: [{ kind: 'ramp', toC: 640, rateCPerH: 60 }] };
    expect(
      told(
        feed(
          begin(slow),
          curve(0, 9000, (s) => 20 + s / 32),
        ),
      ),
    ).toEqual([]);
  });

  it('is none of one round of a relay in a kiln that is still cold', () => {
    const round = (s: number): number => (s < 150 ? s / 6 : s < 330 ? 25 - (s - 150) / 9 : 5);
    const rounds = curve(0, 2000, (s) => (s < 1400 ? 20 + s / 14 : 120 + round(s - 1400)));
    expect(told(feed(begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })), rounds))).toEqual([]);
  });

  it('is none of a relay that swings by fifty degrees, while the glass keeps to its limit', () => {
    const limited: Schedule = { ...matt, limits: [{ fromC: 100, toC: 450, maxCPerH: 330, why: 'the oil boils' }] };
    const swings = curve(0, 5400, (s) => 20 + s / 20 + Math.min(s / 60, 25) * Math.sin(s / 33));
    expect(told(feed(begin(limited, kilnOf({ heat: 'electric', closure: 'lid' })), swings))).toEqual([]);
  });

  it('is none of a controller that rested ahead of its plan at 200 °C and goes on in one steep round', () => {
    const [first, ...then] = matt.segments;
    const slow: Schedule = { ...matt, segments: first?.kind === 'ramp' ? [{ ...first, rateCPerH: 150 }, ...then] : [] };
    const planned = (s: number): number => 20 + s / 24;
    const restsC = planned(4000) + 15;
    const round = curve(0, 6000, (s) => {
      if (s < 4000) return planned(s) + 15 * Math.min(s / 2000, 1);
      return Math.max(restsC + clamp((s - 4300) * 0.075, 0, 27), planned(s));
    });
    expect(told(feed(begin(slow, kilnOf({ heat: 'electric', closure: 'lid' })), round))).toEqual([]);
  });

  it('is none of a spurt after a step of the valve, a third over what is allowed for half of a harmful stretch', () => {
    const gentle: Schedule = { ...matt, limits: [{ fromC: 100, toC: 400, maxCPerH: 300, why: 'the oil boils' }] };
    const spurt = (s: number): number => (s < 150 ? s / 9 : 17 + (s - 150) / 20);
    const stepped = curve(0, 4000, (s) =>
      s < 1800 ? 20 + s / 15 : s < 2700 ? 140 + (s - 1800) / 40 : 162.5 + spurt(s - 2700),
    );
    expect(told(feed(begin(gentle), stepped))).toEqual([]);
  });

  it('is told of an electric kiln whose programme is set to twice and a half the pace, by the time that it is warm', () => {
    const misset = curve(0, 700, (s) => 20 + s / 6);
    const [first] = told(feed(begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })), misset));
    // Ten minutes after it began, as its third degree shows, at 120 °C: cooler than that neither medium nor glass minds.
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(640_000);
  });

  it('is told of one set to three times the pace after five minutes, however cold, as what goes on so is no first surge', () => {
    const misset = curve(0, 400, (s) => 20 + s / 5, 5);
    const [first] = told(feed(begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })), misset));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(330_000);
  });

  it('is none of the first surge of a cold kiln, whose controller does not know it yet', () => {
    // Begun a quarter of an hour late; 90 °C in its first seven minutes, then on with the plan once that has caught up.
    const inrush = (s: number): number => 90 * (1 - Math.exp(-((s / 260) ** 2)));
    const surge = curve(0, 3300, (s) => 15 + Math.max(inrush(Math.max(s - 900, 0)), (s - 900) / 15));
    expect(told(feed(begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })), surge))).toEqual([]);
  });

  it('is told of a programme that is set too steep from a corner on, as soon as the kiln is ahead of its plan by it', () => {
    const steep = curve(0, 7200, (s) => (s < 6450 ? climbOfMatt(s) : 450 + (s - 6450) / 14));
    const [first] = told(feed(begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })), steep));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(6_450_000 + 160_000);
  });

  it('is told of a programme at three times its pace from a corner on, also where that is just under what the medium bears', () => {
    const slow: Schedule = {
      ...matt,
      limits: [{ fromC: 100, toC: 450, maxCPerH: 410, why: 'the oil boils' }],
      segments: [
        { kind: 'ramp', toC: 300, rateCPerH: 215 },
        { kind: 'ramp', toC: 565, rateCPerH: 120 },
      ],
    };
    const cornerS = (280 / 215) * 3600;
    const steep = curve(0, cornerS + 400, (s) =>
      s < cornerS ? 20 + (s * 215) / 3600 : 300 + ((s - cornerS) * 390) / 3600,
    );
    const [first] = told(feed(begin(slow, kilnOf({ heat: 'electric', closure: 'lid' })), steep));
    expect(first?.phase).toBe('foreseen');
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan((cornerS + 240) * 1000);
  });

  it('is none of a relay that swings by nine degrees either way, and once by seventeen', () => {
    const slow: Schedule = {
      ...matt,
      limits: [{ fromC: 100, toC: 450, maxCPerH: 250, why: 'the oil boils' }],
      segments: [{ kind: 'ramp', toC: 450, rateCPerH: 110 }],
    };
    const swingC = (s: number): number => (s > 4524 && s < 4571 ? 17 : 9);
    const swings = curve(0, 4800, (s) => 20 + s / 30 + Math.min(s / 1000, 1) * swingC(s) * Math.sin(s / 15), 2);
    expect(told(feed(begin(slow, kilnOf({ heat: 'electric', closure: 'lid' })), swings))).toEqual([]);
  });

  it('is none of the couple that comes back from a look through the spyhole with all that its controller has', () => {
    // Eight degrees down within a quarter of a minute, and within another half one twelve above where it would have been.
    const dip = [0, -3, -6, -8, -7, -6, -5, -1, 3, 7, 9, 11, 12, 12, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1];
    const looked = curve(0, 8400, (s) => climbOfMatt(s) + (s < 8000 ? 0 : (dip[Math.floor((s - 8000) / 5)] ?? 0)), 5);
    expect(told(feed(begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })), looked))).toEqual([]);
  });

  it('is none of a single wild value of a sensor that speaks twice a minute', () => {
    const wild = curve(0, 4000, (s) => (s === 2700 ? 290 : climbOfMatt(s)), 30);
    expect(told(feed(begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })), wild))).toEqual([]);
  });

  it('is none of the pace of the plan where one of its limits lies below that: such a one is meant for the fall', () => {
    const annealed: Schedule = {
      ...matt,
      limits: [{ fromC: 430, toC: 560, maxCPerH: 90, why: 'annealing range' }],
    };
    expect(told(feed(begin(annealed), curve(0, 9000, climbOfMatt)))).toEqual([]);
  });

  it('is told at its time of a climb too fast through such a limit, by the pace of the plan', () => {
    const annealed: Schedule = {
      ...matt,
      limits: [{ fromC: 430, toC: 600, maxCPerH: 90, why: 'annealing range' }],
    };
    const hasty = curve(0, 9000, (s) => (s < 7400 ? climbOfMatt(s) : climbOfMatt(7400) + (s - 7400) / 14));
    expect(told(feed(begin(annealed), hasty)).map((a) => a.atMs)).toEqual(
      told(feed(begin(), hasty)).map((a) => a.atMs),
    );
  });

  it('is none of a kiln that lags behind a plan by the clock, when that has gone over to a slower ramp', () => {
    const slower: Schedule = {
      ...matt,
      waits: false,
      segments: [
        { kind: 'ramp', toC: 600, rateCPerH: 150 },
        { kind: 'ramp', toC: 700, rateCPerH: 45 },
      ],
    };
    const lags = curve(0, 15_000, (s) => Math.max(20, 600 - Math.max(14_800 - s, 0) / 24));
    expect(told(feed(begin(slower, kilnOf({ heat: 'electric', closure: 'lid' })), lags))).toEqual([]);
  });

  it('is none of a couple that leaps as the lid is shut after the smoke, by the clock or late by it', () => {
    const smoked: Schedule = {
      ...matt,
      limits: [{ fromC: 100, toC: 450, maxCPerH: 300, why: 'the oil boils' }],
      segments: [
        { kind: 'ramp', toC: 410, rateCPerH: 180, opening: 'propped' },
        { kind: 'ramp', toC: 640, rateCPerH: 180 },
      ],
    };
    const shutAtS = (lateS: number): number => 7800 + lateS;
    for (const [waits, lateS] of [
      [true, 0],
      [false, 660],
    ] as const) {
      const leaps = curve(0, shutAtS(lateS) + 500, (s) => {
        const leptC = 20 * (1 - Math.exp(-Math.max(s - shutAtS(lateS) - 60, 0) / 50));
        return Math.max(20, 20 + (s - lateS) / 20) + leptC;
      });
      expect(told(feed(begin({ ...smoked, waits }, kilnOf({ heat: 'electric', closure: 'lid' })), leaps))).toEqual([]);
    }
  });

  it('is told within seven minutes of a ramp set too steep from the corner on at which the lid was shut', () => {
    const smoked: Schedule = {
      ...matt,
      segments: [
        { kind: 'ramp', toC: 410, rateCPerH: 180, opening: 'propped' },
        { kind: 'ramp', toC: 640, rateCPerH: 180 },
      ],
    };
    const steep = curve(0, 8600, (s) => {
      const leptC = 15 * (1 - Math.exp(-Math.max(s - 7860, 0) / 50));
      return 20 + Math.min(s, 7800) / 20 + Math.max(s - 7800, 0) / 8 + leptC;
    });
    const [first] = told(feed(begin(smoked, kilnOf({ heat: 'electric', closure: 'lid' })), steep));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan((7800 + 420) * 1000);
  });

  it('is told within four minutes of one set to not quite twice its pace from there on', () => {
    const smoked: Schedule = {
      ...matt,
      toleranceC: 12,
      segments: [
        { kind: 'ramp', toC: 410, rateCPerH: 180, opening: 'propped' },
        { kind: 'ramp', toC: 640, rateCPerH: 180 },
      ],
    };
    const steep = curve(0, 8300, (s) => 20 + Math.min(s, 7800) / 20 + Math.max(s - 7800, 0) / 10.5);
    const [first] = told(feed(begin(smoked, kilnOf({ heat: 'electric', closure: 'lid' })), steep));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan((7800 + 240) * 1000);
  });

  it('is none at the pace of the plan', () => {
    expect(told(feed(begin(), curve(0, 9000, climbOfMatt)))).toEqual([]);
  });
});
