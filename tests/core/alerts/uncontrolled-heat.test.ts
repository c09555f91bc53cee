import { describe, expect, it } from 'vitest';
import { clamp } from '../../../daemon/core/numbers/units.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { begin, climbOfMatt, curve, type Fed, fallenMatt, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'uncontrolled-heat' && a.phase !== 'over');

describe('heat that nobody wants', () => {
  it('is told while the plan lets it fall and it climbs', () => {
    const [first] = told(
      feed(
        begin(matt, electric),
        fallenMatt((s) => 520 + s / 9),
      ),
    );
    expect(first).toMatchObject({ phase: 'happening', priority: 'now' });
    expect(first?.message).toMatch(/Off at the wall/);
  });

  it('is told in a hold within a minute of a relay that sticks', () => {
    const stuck = curve(0, 13_200, (s) => (s < 13_000 ? climbOfMatt(s) : 660 + (s - 13_000) / 7));
    const [first] = told(feed(begin(matt, electric), stuck));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(13_060_000);
  });

  it('is told before the glass is out of its tolerance, where a relay sticks in a level hold', () => {
    // 660 + 6 is left at 13 042 s.
    const stuck = curve(0, 13_100, (s) => (s < 13_000 ? climbOfMatt(s) : 660 + (s - 13_000) / 7), 5);
    const [first] = told(feed(begin(matt, electric), stuck));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(13_042_000);
  });

  it('is none of one wild value in a hold that is read each five seconds', () => {
    const wild = curve(0, 13_300, (s) => climbOfMatt(s) + (s === 13_000 ? 9 : 0), 5);
    expect(told(feed(begin(matt, electric), wild))).toEqual([]);
  });

  it('is none of a look through the spyhole: the controller answers the dip, and the couple comes back a little too far', () => {
    const dip = [0, -3, -6.5, -5.5, -0.5, 2, 2.8, 2.8, 2.4, 1.4, 1, 0.4];
    const looked = curve(0, 13_300, (s) => climbOfMatt(s) + (s < 13_000 ? 0 : (dip[(s - 13_000) / 5] ?? 0)), 5);
    expect(told(feed(begin(matt, electric), looked))).toEqual([]);
  });

  it('is none of a dip early in a hold that comes back within half a minute to where the hold was', () => {
    const way = [2, 2.5, 3, 3.5, 4, 4, 4, 4, 4, 4, 4, 3.5, 2.9, 2.3, 1.8, 1.8, 1.8, 1.8, 1.8, 2.8, 3.7];
    const aboveC = (s: number): number => (s < 12_780 ? 0 : (way[(s - 12_780) / 10] ?? 4.2));
    const dips = curve(0, 13_180, (s) => climbOfMatt(s) + aboveC(s), 10);
    expect(told(feed(begin(matt, electric), dips))).toEqual([]);
  });

  it('is none of a hold that was entered from far above, where a relay goes its rounds', () => {
    // Half an hour after the top the plan holds at 530; the kiln is still 30 °C above, and goes up and down about a level way.
    const { segments } = matt;
    const held = {
      ...matt,
      waits: false,
      segments: [
        ...segments.slice(0, 3),
        { kind: 'ramp' as const, toC: 530, rateCPerH: 600 },
        { kind: 'hold' as const, minutes: 60 },
        ...segments.slice(3),
      ],
    };
    const rounds = curve(0, 16_500, (s) => {
      if (s < 13_700) return climbOfMatt(s);
      const sinceS = s - 13_700;
      const level = Math.max(660 - sinceS / 9, 565);
      return level + (sinceS > 900 ? 4 * Math.sin((sinceS - 900) / 40) : 0);
    });
    expect(told(feed(begin(held, electric), rounds))).toEqual([]);
  });

  it('is none of a controller that catches what fell above its hold, and swings up by twelve degrees', () => {
    const { segments } = matt;
    const caught = {
      ...matt,
      segments: [
        ...segments.slice(0, 3),
        { kind: 'ramp' as const, toC: 530, rateCPerH: 'let-fall' as const },
        { kind: 'hold' as const, minutes: 30 },
        ...segments.slice(3),
      ],
    };
    const rises = (mostC: number) => (s: number) => {
      if (s < 13_700) return climbOfMatt(s);
      return Math.max(660 - (s - 13_700) / 10, 537) + clamp((s - 14_930) / 4, 0, mostC);
    };
    expect(told(feed(begin(caught, electric), curve(0, 15_300, rises(12), 5)))).toEqual([]);
    expect(told(feed(begin(caught, electric), curve(0, 15_300, rises(60), 5)))).toHaveLength(1);
  });

  it('is none of the rounds that a relay goes in its hold, until they go beyond themselves', () => {
    const swings = (s: number): number => climbOfMatt(s) + clamp((s - 7000) / 3000, 0, 1) * 5 * Math.sin(s / 30);
    expect(told(feed(begin(matt, electric), curve(0, 13_200, swings)))).toEqual([]);
    const stuck = curve(0, 13_200, (s) => (s < 13_000 ? swings(s) : swings(13_000) + (s - 13_000) / 7));
    expect(told(feed(begin(matt, electric), stuck))).toHaveLength(1);
  });

  it('is one trouble with the heat that has gone over the top by it, however slow it has become', () => {
    const stuck = (s: number): number => 660 + Math.min((s - 13_000) / 7, 20) + Math.max(s - 13_140, 0) / 400;
    const fed = feed(
      begin(matt, electric),
      curve(0, 15_000, (s) => (s < 13_000 ? climbOfMatt(s) : stuck(s))),
    );
    expect(told(fed).map((a) => a.phase)).toEqual(['happening']);
    const others = stagedAlerts(fed).filter(
      (a) => ['overshoot', 'hold-long'].includes(a.alert) && a.heldBackBy === undefined,
    );
    expect(others).toEqual([]);
  });

  it('is told of a climb that runs away from a plan that it had kept, and not of one by hand', () => {
    const runaway = curve(0, 5100, (s) => (s < 4800 ? climbOfMatt(s) : climbOfMatt(4800) + (s - 4800) / 4));
    const [first] = told(feed(begin(matt, electric), runaway));
    expect(first?.message).toMatch(/^Running away from its plan at \d+\. Off at the wall/);
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(4_890_000);
    expect(told(feed(begin(matt, kilnOf()), runaway))).toEqual([]);
  });

  it('is told as soon of one that had kept the pace of its plan some degrees behind it, and not of power that comes back', () => {
    const byClock: Schedule = { ...matt, waits: false };
    // Twenty degrees behind by the clock; at 4800 s the relay sticks.
    const behind = (s: number): number => climbOfMatt(Math.max(s - 300, 0));
    const stuck = curve(0, 5000, (s) => (s < 4800 ? behind(s) : behind(4800) + (s - 4800) / 3), 5);
    const [first] = told(feed(begin(byClock, electric), stuck));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(4_840_000);
    // It falls for eight minutes, climbs again as the plan does, and by its full power from 4800 s on.
    const back = (s: number): number => {
      if (s < 4140) return behind(s);
      return s < 4620
        ? behind(4140) - (s - 4140) / 20
        : behind(4140) - 24 + (s - 4620) / 15 + Math.max(s - 4800, 0) / 3;
    };
    expect(told(feed(begin(byClock, electric), curve(0, 5000, back, 5)))).toEqual([]);
  });

  it('is none of a controller that goes on to a steeper climb a little before the plan', () => {
    const steep: Schedule = {
      ...matt,
      waits: false,
      segments: matt.segments.map((segment, i) =>
        i === 1 ? { kind: 'ramp', toC: 660, rateCPerH: 'flat-out' } : segment,
      ),
    };
    // Four degrees ahead, and at 446 °C on by fifteen degrees a minute.
    const ahead = (s: number): number => climbOfMatt(s) + clamp((s - 5000) / 100, 0, 4);
    const goesOn = curve(0, 6600, (s) => (s < 6390 ? ahead(s) : ahead(6390) + (s - 6390) / 4), 5);
    expect(told(feed(begin(steep, electric), goesOn))).toEqual([]);
    expect(told(feed(begin({ ...matt, waits: false }, electric), goesOn))).not.toEqual([]);
  });

  it('is told of a climb that runs away soon after a corner, as soon as its controller has swung in', () => {
    const runaway = curve(0, 7100, (s) => (s < 6900 ? climbOfMatt(s) : climbOfMatt(6900) + (s - 6900) / 4));
    const [first] = told(feed(begin(matt, electric), runaway));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(6_940_000);
  });

  it('is none of the door that is shut as the smoke ends: the couple comes up to the walls', () => {
    const smoking: Schedule = {
      ...matt,
      segments: matt.segments.map((segment, i) => (i === 0 ? { ...segment, opening: 'propped' } : segment)),
    };
    // Ten degrees within half a minute, 15 °C before the corner.
    const shut = curve(0, 6600, (s) => climbOfMatt(s) + clamp((s - 6225) / 3, 0, 10));
    expect(told(feed(begin(smoking, electric), shut))).toEqual([]);
    expect(told(feed(begin(matt, electric), shut))).not.toEqual([]);
    // Nor where that is done some minutes late, on the next ramp.
    const late = curve(0, 7300, (s) => climbOfMatt(s) + clamp((s - 6825) / 3, 0, 12));
    expect(told(feed(begin(smoking, electric), late))).toEqual([]);
    expect(told(feed(begin(matt, electric), late))).not.toEqual([]);
    // Nor where by the clock the plan is long past the smoke, and the kiln is not.
    const lags = (s: number): number => climbOfMatt(Math.max(s - 1500, 0));
    const shutLate = curve(0, 7700, (s) => lags(s) + clamp((s - 7500) / 2, 0, 20));
    expect(told(feed(begin({ ...smoking, waits: false }, electric), shutLate))).toEqual([]);
  });

  it('is none where an open lid was told and shut again: the couple comes up to the walls', () => {
    // Sixty degrees down within two minutes while it falls, and back again.
    const air = (s: number): number => (s < 120 ? -s / 2 : s < 300 ? -60 : Math.min(-60 + (s - 300) / 2, 0));
    const fed = feed(
      begin(matt, electric),
      fallenMatt((s) => 520 - s / 20 + (s > 60 ? air(s - 60) : 0)),
    );
    expect(stagedAlerts(fed).some((a) => a.alert === 'lid-open-hot')).toBe(true);
    expect(told(fed)).toEqual([]);
  });

  it('is none of a gas kiln whose damper or door is shut in its fall, and whose couple comes up by the walls', () => {
    const shut = (s: number): number => (s < 300 ? 520 - s / 14 : 498.6 + 12 * (1 - Math.exp(-(s - 300) / 100)));
    expect(told(feed(begin(), fallenMatt(shut)))).toEqual([]);
    // Further down more comes up by the walls: 30 °C within some minutes.
    const late = (s: number): number => {
      if (s < 13_700) return climbOfMatt(s);
      return s < 17_760 ? 660 - (s - 13_700) / 14 : 370 + 30 * (1 - Math.exp(-(s - 17_760) / 150));
    };
    expect(told(feed(begin(), curve(0, 19_000, late)))).toEqual([]);
  });

  it('is told of a flame that somebody has left on or lit again while the glass is to fall', () => {
    const lit = (s: number): number => (s < 300 ? 520 - s / 14 : 498.6 + (s - 300) / 9);
    expect(told(feed(begin(), fallenMatt(lit)))).toHaveLength(1);
  });

  it('is none of power that comes back, where the fall began by heat lost in the hold', () => {
    const lost = (s: number): number => {
      if (s < 13_100) return climbOfMatt(s);
      return s < 14_900 ? 660 - (s - 13_100) / 12 : 510 + (s - 14_900) / 6;
    };
    const fed = feed(begin(matt, electric), curve(0, 15_300, lost, 5));
    expect(stagedAlerts(fed).some((a) => a.alert === 'heat-lost' || a.alert === 'hold-short')).toBe(true);
    expect(told(fed)).toEqual([]);
  });

  it('is none of a controller that swings out of its tolerance in a soak far below the top', () => {
    const soak: Schedule = {
      ...matt,
      waits: false,
      segments: [{ kind: 'ramp', toC: 105, rateCPerH: 240 }, { kind: 'hold', minutes: 20 }, ...matt.segments],
    };
    const swings = (s: number): number => {
      if (s < 1275) return 20 + s / 15;
      return s < 1800 ? 105 : 105 + 7.5 * Math.sin(Math.min((s - 1800) / 120, Math.PI));
    };
    expect(told(feed(begin(soak, electric), curve(0, 2300, swings, 5)))).toEqual([]);
  });

  it('is none of a kiln that falls by itself', () => {
    expect(
      told(
        feed(
          begin(matt, electric),
          fallenMatt((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });

  it('is told of a relay that sticks as the hold ends, before the plan has it fall and after', () => {
    // The hold is from 12 750 to 13 650 s.
    for (const stuckS of [13_560, 13_640]) {
      const stuck = curve(0, stuckS + 90, (s) => (s < stuckS ? climbOfMatt(s) : 660 + (s - stuckS) / 5), 5);
      const [first] = told(feed(begin(matt, electric), stuck));
      expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan((stuckS + 40) * 1000);
    }
  });

  it('is none of the round that a relay still goes as the hold is left', () => {
    const rounds = (s: number): number => climbOfMatt(s) + clamp((s - 7000) / 3000, 0, 1) * 7 * Math.sin(s / 25);
    const left = curve(0, 14_400, (s) => (s < 13_850 ? rounds(s) : rounds(13_850) - (s - 13_850) / 14), 5);
    expect(told(feed(begin(matt, electric), left))).toEqual([]);
  });

  const guided = {
    ...matt,
    segments: [
      ...matt.segments.slice(0, 3),
      { kind: 'ramp' as const, toC: 600, rateCPerH: 'let-fall' as const },
      { kind: 'ramp' as const, toC: 450, rateCPerH: 60 },
    ],
  };

  it('is none of a controller that catches a fall late and swings over its plan, but of one that goes on', () => {
    const swings = (topC: number) => (s: number) => {
      if (s < 13_700) return climbOfMatt(s);
      if (s < 14_720) return 660 - (s - 13_700) / 15;
      return 592 + topC * (1 - Math.exp(-(s - 14_720) / 120)) - (s - 14_720) / 60;
    };
    expect(told(feed(begin(guided, electric), curve(0, 15_600, swings(26))))).toEqual([]);
    const stuck = (s: number): number => (s < 14_720 ? swings(0)(s) : 592 + (s - 14_720) / 8);
    expect(told(feed(begin(guided, electric), curve(0, 15_200, stuck)))).toHaveLength(1);
  });

  it('is none of what a look took down in a slow fall and comes up again', () => {
    const look = (s: number): number => (s < 14_600 ? 0 : s < 14_640 ? 6 : 6 * Math.exp(-(s - 14_640) / 60));
    const slow = (s: number): number => (s < 13_700 ? climbOfMatt(s) : 640 - (s - 13_700) / 120);
    for (const kiln of [electric, kilnOf()])
      expect(
        told(
          feed(
            begin(matt, kiln),
            curve(0, 15_200, (s) => slow(s) - look(s)),
          ),
        ),
      ).toEqual([]);
  });

  it('is none of a couple that shows twenty degrees more at once', () => {
    const leapt = curve(0, 5400, (s) => climbOfMatt(s) + (s < 5000 ? 0 : 20 * Math.exp(-(s - 5000) / 40)));
    expect(told(feed(begin(matt, electric), leapt))).toEqual([]);
  });

  it('is none of one couple that shows more while the other beside it falls on: it has come back to its place', () => {
    const two = kilnOf({
      heat: 'electric',
      sensors: [
        { name: 'shelf', letter: 'K', rules: true },
        { name: 'top', letter: 'K' },
      ],
    });
    const shelf = fallenMatt((s) => (s < 300 ? 520 - s / 14 : 499 + Math.min((s - 300) / 4, 40) - (s - 300) / 14));
    const withTop = (risesToo: boolean) =>
      shelf.flatMap((r) => {
        const s = (r.atMs - begin().state.startedAtMs) / 1000;
        const on = s < 15_960 ? Number(r.text) : 499 - (s - 15_960) / 14;
        return [r, { ...r, channel: 'top', text: String((risesToo ? Number(r.text) : on) + 4) }];
      });
    expect(told(feed(begin(matt, two), withTop(true)))).not.toEqual([]);
    expect(told(feed(begin(matt, two), withTop(false)))).toEqual([]);
  });

  it('explains that no heat comes once it was switched off at the wall', () => {
    // At 8250 s the relay sticks: eight degrees a minute; ten minutes later it is switched off.
    const stuck = (s: number): number => climbOfMatt(8250) + (s - 8250) / 7.5;
    const off = curve(
      0,
      10_200,
      (s) => (s < 8250 ? climbOfMatt(s) : s < 8850 ? stuck(s) : 20 + (stuck(8850) - 20) * Math.exp(-(s - 8850) / 4000)),
      5,
    );
    const fed = feed(begin(matt, electric), off);
    expect(told(fed)).not.toEqual([]);
    expect(stagedAlerts(fed).filter((a) => ['heat-lost', 'stalled-ramp', 'running-late'].includes(a.alert))).toEqual(
      [],
    );
  });
});
