import { describe, expect, it } from 'vitest';
import { overKey } from '../../../daemon/core/alerts/alert.ts';
import { heatLost } from '../../../daemon/core/alerts/heat-lost.ts';
import { viewOf } from '../../../daemon/core/view.ts';
import {
  begin,
  climbOfMatt,
  curve,
  type Fed,
  fallenMatt,
  feed,
  kilnOf,
  lid,
  matt,
  reading,
  stagedAlerts,
} from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'heat-lost' && a.phase !== 'over');

describe('heat that is gone', () => {
  const out = curve(0, 8700, (s) => (s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) - (s - 8250) / 9));

  it('is told within a minute, with the gas first at a gas kiln', () => {
    const [first] = told(feed(begin(), out));
    expect(first).toMatchObject({ phase: 'happening', priority: 'now' });
    expect((first?.atMs ?? 0) - (begin().state.startedAtMs + 8_250_000)).toBeLessThan(60_000);
    expect(first?.message).toMatch(/Gas off at the bottle, damper open, no flame or sparks/);
  });

  it('is told as soon in the first ramp of a plan that goes by the clock', () => {
    const early = curve(0, 6000, (s) => (s < 5400 ? climbOfMatt(s) : climbOfMatt(5400) - (s - 5400) / 9));
    const [first] = told(feed(begin({ ...matt, waits: false }), early));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(5_600_000);
  });

  it('is power, fuse or element at an electric one', () => {
    expect(told(feed(begin(matt, electric), out))[0]?.message).toMatch(/^No heat at 49\d: power, fuse or element/);
  });

  it('is told of an electric kiln that falls by twice its °C an hour, before a minute of that is over', () => {
    const fall = (s: number): number => 0.3 * (s - 15 * (1 - Math.exp(-s / 15)));
    const light = curve(0, 8500, (s) => climbOfMatt(Math.min(s, 8250)) - fall(Math.max(s - 8250, 0)), 5);
    const [first] = told(feed(begin(matt, electric), light));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(8_250_000 + 70_000);
  });

  it('is not told of a part: an element that breaks lets it fall a little, and then climb again', () => {
    // Climbing at 2 °C a minute; then 5 °C down within two minutes, and up again at half the pace.
    const broken = curve(0, 9600, (s) =>
      s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) + (s - 8250) / 60 - 9 * (1 - Math.exp(-(s - 8250) / 90)),
    );
    expect(told(feed(begin(matt, electric), broken))).toEqual([]);
  });

  it('is not told of half of the elements gone, though the kiln falls for two minutes as if all were', () => {
    // 500 °C and 450 °C/h down at first, level after four minutes.
    const half = curve(0, 9600, (s) =>
      s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) - 12 * (1 - Math.exp(-(s - 8250) / 95)),
    );
    expect(told(feed(begin(matt, electric), half))).toEqual([]);
  });

  it('is not told of a bottle that sinks: what falls by a third of its °C an hour burns with a part of its gas', () => {
    const sinks = curve(0, 9600, (s) =>
      s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) - ((s - 8250) * 0.35 * 510) / 3600,
    );
    const fed = feed(begin(), sinks);
    expect(told(fed)).toEqual([]);
    expect(stagedAlerts(fed).map((a) => a.alert)).toContain('stalled-ramp');
  });

  it('is not told of a bottle that sinks and sinks: the climb had died away before it fell', () => {
    // At rest for four minutes, then down by ever more, up to six tenths of its °C an hour.
    const pace = (0.6 * 510) / 3600;
    const fall = (s: number): number => (s < 240 ? 0 : s < 480 ? (pace * (s - 240) ** 2) / 480 : pace * (s - 360));
    const sinks = curve(0, 9000, (s) => climbOfMatt(Math.min(s, 8250)) - fall(Math.max(s - 8250, 0)), 5);
    expect(told(feed(begin(), sinks))).toEqual([]);
  });

  it('is not told of a vent that stands open: the flame catches the fall', () => {
    // 1.5 times its °C an hour down at first, and level in four minutes; the door has just been shut.
    const letOff = {
      ...matt,
      segments: matt.segments.map((s, i) => (i === 0 ? { ...s, opening: 'propped' as const } : s)),
    };
    const fall = (s: number): number => 26 * (1 - Math.exp(-s / 100));
    const open = curve(0, 7500, (s) => climbOfMatt(Math.min(s, 6500)) - fall(Math.max(s - 6500, 0)), 5);
    expect(told(feed(begin(letOff), open))).toEqual([]);
  });

  it('is not told of an element that breaks at a low heat, where the fall abates before two minutes are over', () => {
    // At 310 °C, and down by its °C an hour.
    const fall = (s: number): number => 11 * (1 - (1 + s / 38) * Math.exp(-s / 38));
    const broken = curve(0, 5400, (s) => climbOfMatt(Math.min(s, 4350)) - fall(Math.max(s - 4350, 0)), 5);
    expect(told(feed(begin(matt, electric), broken))).toEqual([]);
  });

  it('is not told of half of the elements gone in a light kiln, which sheds more than its °C an hour for a minute', () => {
    // 510 °C and 740 °C/h down after a quarter of a minute, level after two minutes.
    const fall = (s: number): number => 14 * (1 - (1 + s / 25) * Math.exp(-s / 25));
    const light = curve(0, 9600, (s) => climbOfMatt(Math.min(s, 8250)) - fall(Math.max(s - 8250, 0)), 5);
    expect(told(feed(begin(matt, electric), light))).toEqual([]);
  });

  it('is not told of a hand that turns down too far at the top, and up again', () => {
    // From 658 °C down by 5 °C a minute for a minute, and then ever less.
    const fall = (s: number): number => 14 * (1 - Math.exp(-s / 110));
    const turned = curve(0, 13_000, (s) => (s < 12_690 ? climbOfMatt(s) : climbOfMatt(12_690) - fall(s - 12_690)));
    expect(told(feed(begin(), turned))).toEqual([]);
  });

  it('is not told of a draught that takes ten degrees from the couple, and no more', () => {
    const draught = curve(0, 9600, (s) =>
      s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) - 10 * (1 - Math.exp(-(s - 8250) / 12)),
    );
    expect(told(feed(begin(), draught))).toEqual([]);
  });

  it('is not told of a plug that is drawn for a look at an electric kiln, as the whole loss of heat is soon after', () => {
    const fall = (s: number): number => 12 * (1 - Math.exp(-s / 12));
    const look = (s: number): number => (s < 25 ? fall(s) : fall(25) * Math.exp(-(s - 25) / 12));
    const looked = curve(0, 9600, (s) => climbOfMatt(s) - (s < 8250 ? 0 : look(s - 8250)));
    expect(told(feed(begin(matt, electric), looked))).toEqual([]);
    // 400 °C an hour down, as a kiln with half of its elements falls at first: two minutes tell them apart.
    const [first] = told(feed(begin(matt, electric), out));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(8_410_000);
  });

  it('is over where it falls no further: what holds a kiln level is heat', () => {
    const levels = curve(0, 10_800, (s) =>
      s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) - 40 * (1 - Math.exp(-(s - 8250) / 60)),
    );
    const alerts = stagedAlerts(feed(begin(), levels)).filter((a) => a.alert === 'heat-lost');
    expect(alerts[0]?.phase).toBe('happening');
    const over = alerts.find((a) => a.phase === 'over');
    expect(((over?.atMs ?? Number.POSITIVE_INFINITY) - (alerts[0]?.atMs ?? 0)) / 60_000).toBeLessThan(8);
  });

  it('is not told where the programme ends by its clock, though this couple never came to the top', () => {
    // The controller's own couple is 15 °C ahead: hold and fall come as planned, under the plan's top.
    const low = curve(0, 16_200, (s) => Math.max(climbOfMatt(s) - 15, 20) - Math.max(s - 13_650, 0) / 7);
    expect(told(feed(begin(matt, electric), low))).toEqual([]);
    // By hand nobody goes by the clock.
    expect(told(feed(begin(), low))).not.toEqual([]);
  });

  it('is not told of a controller whose hold has done its work: that is its end', () => {
    const [first, climb, , ...rest] = matt.segments;
    if (first === undefined || climb === undefined) throw new Error('no climb');
    const long = { ...matt, segments: [first, climb, { kind: 'hold' as const, minutes: 30 }, ...rest] };
    const falls = (offS: number) => curve(0, offS + 90, (s) => climbOfMatt(s) - Math.max(s - offS, 0) / 7);
    expect(told(feed(begin(long, electric), falls(14_250)))).toEqual([]);
    expect(told(feed(begin(long, electric), falls(13_650)))).not.toEqual([]);
  });

  it('is not told of a controller that came to the top before the plan by the clock, and has had its hold', () => {
    const early = (s: number): number => {
      if (s < 6450) return climbOfMatt(s);
      return Math.min(450 + (s - 6450) / 23.5, 660) - Math.max(s - 12_300, 0) / 7;
    };
    const fed = feed(begin({ ...matt, waits: false }, electric), curve(0, 12_700, early));
    expect(stagedAlerts(fed)).toEqual([]);
  });

  it('is none of cold air that comes as a climb has slowed, once the couple comes back', () => {
    // A minute and more without a climb, seven degrees down at once, and back by three in half a minute.
    const off = [0, -0.3, -0.7, -1, -1.3, -1.7, -2, -2.3, -2.7, -9.7, -9.7, -9.7, -8.7, -7.7, -6.7, -6.3, -5.9, -5.5];
    const air = curve(0, 11_400, (s) => climbOfMatt(s) + (s < 11_200 ? 0 : (off[(s - 11_200) / 10] ?? -5)), 10);
    expect(told(feed(begin(), air))).toEqual([]);
  });

  it('is none in a climb as planned, a hold and a fall', () => {
    expect(
      told(
        feed(
          begin(),
          fallenMatt((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });

  it('is told of a fall that a controller guided and no longer does', () => {
    const guided = {
      ...matt,
      segments: [...matt.segments.slice(0, 3), { kind: 'ramp' as const, toC: 450, rateCPerH: 60 }],
    };
    const cut = (s: number): number => {
      if (s < 13_700) return climbOfMatt(s);
      return s < 16_000 ? 660 - (s - 13_700) / 60 : 621.7 - (s - 16_000) / 9;
    };
    const [first] = told(feed(begin(guided, electric), curve(0, 16_300, cut, 5)));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(16_120_000);
    expect(told(feed(begin(guided), curve(0, 16_300, cut, 5)))).toEqual([]);
  });

  it('is not told of a look through the spyhole in a hold, nor of the first swing of a controller', () => {
    const look = (s: number): number => (s < 13_300 ? 0 : 6 * Math.exp(-(((s - 13_318) / 10) ** 2)));
    expect(
      told(
        feed(
          begin(matt, electric),
          curve(0, 13_500, (s) => climbOfMatt(s) - look(s), 5),
        ),
      ),
    ).toEqual([]);
    const swing = (s: number): number => (s < 12_760 || s > 12_960 ? 0 : 10 * Math.sin(((s - 12_760) / 200) * Math.PI));
    expect(
      told(
        feed(
          begin(matt, electric),
          curve(0, 13_500, (s) => climbOfMatt(s) - swing(s), 5),
        ),
      ),
    ).toEqual([]);
  });

  it('is not told of what an open door took, once its switch says that it is shut', () => {
    const door = (s: number): number =>
      s < 8250 ? 0 : s < 8310 ? (s - 8250) / 1.7 : 35 * Math.exp(-Math.max(s - 8330, 0) / 200);
    const open = feed(begin(), [
      ...curve(0, 8248, climbOfMatt, 2),
      lid(8249, true),
      ...curve(8250, 8310, (s) => climbOfMatt(s) - door(s), 2),
      lid(8311, false),
      ...curve(8312, 8700, (s) => climbOfMatt(s) - door(s), 2),
    ]);
    expect(stagedAlerts(open).some((a) => a.alert === 'lid-open-hot')).toBe(true);
    expect(told(open)).toEqual([]);
  });

  it('is not told of a controller that ran far ahead of this plan and has let go at its own end', () => {
    const ahead = (s: number): number => {
      if (s < 6450) return climbOfMatt(s);
      const c = 450 + (s - 6450) / 12;
      return s < 8250 ? c : 600 - (s - 8250) / 8;
    };
    expect(told(feed(begin(matt, electric), curve(0, 9200, ahead)))).toEqual([]);
  });

  it('is none of what ran too hot and was turned off for that, also once it has come down through its hold', () => {
    // On at 2 °C a minute to 680, with half of the hold to go; then off, at 16 a minute.
    const up = (s: number): number => (s < 6450 ? climbOfMatt(s) : 450 + (s - 6450) / 30);
    const off = curve(0, 13_650, (s) => (s < 13_350 ? up(s) : 680 - (s - 13_350) / 3.75));
    const fed = feed(begin(), off);
    expect(stagedAlerts(fed).map((a) => a.alert)).toContain('overshoot');
    expect(told(fed)).toEqual([]);
  });

  describe('in a hold on the way down', () => {
    const [first, second, third] = matt.segments;
    if (first === undefined || second === undefined || third === undefined) throw new Error('no climb');
    const caught = (toC: number, minutes: number) => ({
      ...matt,
      segments: [
        first,
        second,
        third,
        { kind: 'ramp' as const, toC, rateCPerH: 'let-fall' as const },
        { kind: 'hold' as const, minutes },
        { kind: 'ramp' as const, toC: 50, rateCPerH: 'let-fall' as const },
      ],
    });
    /** 660 °C, off after the hold, caught at `atC` for so many seconds, by the other couple drifting by `driftC` in them. */
    const catches = (atC: number, forS: number, driftC = 0) => {
      const caughtAtS = 13_700 + (660 - atC) * 6;
      return curve(0, caughtAtS + forS + 400, (s) => {
        if (s < 13_700) return climbOfMatt(s);
        if (s < caughtAtS) return 660 - (s - 13_700) / 6;
        const restsS = Math.min(s - caughtAtS, forS);
        return atC - (driftC * restsS) / forS - Math.max(s - caughtAtS - forS, 0) / 6;
      });
    };

    it('is none where a hand has held it above, and is done with it as it comes down to the hold', () => {
      expect(told(feed(begin(caught(530, 11)), catches(560, 660)))).toEqual([]);
    });

    it('is none where nobody has caught it', () => {
      expect(told(feed(begin(caught(530, 11)), catches(530, 0)))).toEqual([]);
    });

    it('is told where the flame goes out that held it there', () => {
      expect(told(feed(begin(caught(530, 30)), catches(530, 600)))).not.toEqual([]);
    });

    it('is none where a hand that caught it some degrees below turns off as its minutes are over by the clock', () => {
      expect(told(feed(begin(caught(545, 20)), catches(531, 1190)))).toEqual([]);
      expect(told(feed(begin(caught(545, 30)), catches(533, 900)))).not.toEqual([]);
    });

    it('is none where a controller that goes by another couple has held it for its minutes', () => {
      expect(told(feed(begin(caught(540, 25), electric), catches(550, 1600, 11)))).toEqual([]);
    });
  });

  it('is none where a climb that has come to rest, and ought to be over for an hour, is given up', () => {
    const rests = (offS: number) =>
      curve(0, offS + 300, (s) => climbOfMatt(Math.min(s, 10_000)) - Math.max(s - offS, 0) / 6);
    for (const kiln of [kilnOf(), electric]) {
      expect(told(feed(begin(matt, kiln), rests(18_000)))).toEqual([]);
      expect(told(feed(begin(matt, kiln), rests(11_500)))).not.toEqual([]);
    }
  });

  it('is none where a kiln that comes late to its top has had its hold by the couple of its controller', () => {
    // From 510 °C on at half the pace, and no hotter than 650 °C.
    const late = (s: number): number => Math.min(climbOfMatt(s), 510 + Math.max(s - 8250, 0) / 60, 650);
    const off = (offS: number) => curve(0, offS + 300, (s) => late(s) - Math.max(s - offS, 0) / 6);
    expect(told(feed(begin(matt, electric), off(17_600)))).toEqual([]);
    expect(told(feed(begin(matt, electric), off(16_000)))).not.toEqual([]);
  });

  it('is none where another couple climbs on: this one has slipped', () => {
    const two = kilnOf({
      sensors: [
        { name: 'shelf', letter: 'K' },
        { name: 'top', letter: 'K' },
      ],
    });
    const slips = (s: number): number => climbOfMatt(s) - (s < 8250 ? 0 : 60 * (1 - Math.exp(-(s - 8250) / 120)));
    const both = curve(0, 8400, slips, 30).flatMap((r, i) => [r, reading(i * 30, climbOfMatt(i * 30) + 12, 'top')]);
    expect(told(feed(begin(matt, two), both))).toEqual([]);
    const alone = curve(0, 8400, slips, 30);
    expect(told(feed(begin(), alone))).not.toEqual([]);
  });

  it('does not wait for a thick sheath beside a bare bead to show that the flame is out', () => {
    const two = kilnOf({
      sensors: [
        { name: 'shelf', letter: 'K' },
        { name: 'top', letter: 'K' },
      ],
    });
    const bead = (s: number): number =>
      climbOfMatt(Math.min(s, 8250)) - (s < 8250 ? 0 : 60 * (1 - Math.exp(-(s - 8250) / 15)) + (s - 8250) / 12);
    const sheath = (s: number): number =>
      climbOfMatt(Math.min(s, 8250)) + 10 - (s < 8250 ? 0 : Math.max(s - 8250 - 20, 0) / 14);
    const both = curve(0, 8400, bead, 5).flatMap((r, i) => [r, reading(i * 5, sheath(i * 5), 'top')]);
    const [first] = told(feed(begin(matt, two), both));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(8_300_000);
  });

  it('is none where what was told to be too hot has been turned off, and falls on past its plan', () => {
    const over = (s: number): number => {
      if (s < 12_750) return climbOfMatt(s);
      return s < 13_050 ? 660 + (s - 12_750) / 10 : Math.max(690 - (s - 13_050) / 6, 560);
    };
    const fed = feed(begin(), curve(0, 13_700, over));
    expect(stagedAlerts(fed).map((a) => a.alert)).toContain('overshoot');
    expect(told(fed)).toEqual([]);
  });

  it('is none of the waves of a small flame in a soak, which stay in the band', () => {
    const soak = {
      ...matt,
      segments: [
        { kind: 'ramp' as const, toC: 115, rateCPerH: 120 },
        { kind: 'hold' as const, minutes: 20 },
        ...matt.segments,
      ],
    };
    const waves = (s: number): number => {
      if (s < 2940) return 20 + s / 30;
      return s < 3060 ? 118 : 118 - Math.min((s - 3060) / 15, 8.5);
    };
    expect(told(feed(begin(soak), curve(0, 3400, waves, 5)))).toEqual([]);
  });

  it('is told of a flame that goes out behind a door that stands open all along, as the plan has it', () => {
    const segments = matt.segments.map((segment, i) => (i < 2 ? { ...segment, opening: 'propped' as const } : segment));
    const fed = feed(begin({ ...matt, segments }), [
      reading(0, 20),
      lid(1, true),
      ...curve(5, 9000, (s) => (s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) - (s - 8250) / 5), 5),
    ]);
    const [first] = told(fed);
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(8_250_000 + 150_000);
    expect(first?.message).toMatch(/as if the flame is out, at/);
  });

  it('is not told of a hand that finds a small flame too big, turns down too far, and up again', () => {
    // Again and again up by 15 °C a minute, and down by nearly as much within two minutes.
    const saw = (s: number): number => {
      if (s < 2700) return 20 + s / 27;
      const inS = (s - 2700) % 270;
      const risenC = 12 * Math.floor((s - 2700) / 270);
      return 120 + risenC + (inS < 150 ? inS / 4 : 37.5 - (inS - 150) / 4.7);
    };
    expect(told(feed(begin(), curve(0, 3500, saw, 5)))).toEqual([]);
  });

  it('is none where what heated by itself has been switched off, and stays off', () => {
    const { state } = feed(begin(matt, electric), out);
    const view = viewOf(state);
    const { sinceMs = 0 } = view.change ?? {};
    expect(heatLost.judge(view)).toMatchObject({ phase: 'happening' });
    expect(
      heatLost.judge({ ...view, overAtMs: { [overKey('uncontrolled-heat', '')]: sinceMs + 60_000 } }),
    ).toBeUndefined();
    expect(
      heatLost.judge({ ...view, overAtMs: { [overKey('uncontrolled-heat', '')]: sinceMs - 60_000 } }),
    ).toBeDefined();
  });

  it('is none of a controller whose clock leapt, which is elsewhere in its programme', () => {
    const judged = (heat: 'gas' | 'electric') => {
      const view = viewOf(feed(begin(matt, heat === 'gas' ? undefined : electric), out).state);
      return heatLost.judge({
        ...view,
        overAtMs: { [overKey('clock-trouble', '')]: (view.change?.sinceMs ?? 0) + 60_000 },
      });
    };
    expect(judged('electric')).toBeUndefined();
    expect(judged('gas')).toMatchObject({ phase: 'happening' });
  });
});
