import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import {
  begin,
  climbOfMatt,
  curve,
  type Fed,
  fallenMatt,
  feed,
  kilnOf,
  matt,
  START_MS,
  stagedAlerts,
} from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'hold-short' && a.phase !== 'over');

describe('a hold too short', () => {
  it('is told before the kiln leaves its band, with the minutes that are done', () => {
    const off = curve(0, 13_400, (s) => (s < 13_000 ? climbOfMatt(s) : 660 - (s - 13_000) / 8));
    const short = told(feed(begin(), off));
    expect(short[0]?.phase).toBe('foreseen');
    expect(short[0]?.message).toMatch(/ of 15 minutes done\. Is the flame as you left it\?/);
    expect(told(feed(begin(matt, electric), off))[0]?.message).toMatch(/Is the controller still in its hold\?/);
  });

  it('is told as soon as it is out of its band, where it rested a little below and falls as what has no heat', () => {
    const rests = (s: number): number =>
      s < 12_800 ? Math.min(climbOfMatt(s), 657) : 657 + Math.sin((s - 12_800) / 25);
    const falls = (s: number): number => rests(Math.min(s, 13_100)) - (Math.max(s - 13_100, 0) * 1.3 * 660) / 3600;
    const [first] = told(feed(begin(), curve(0, 13_200, falls, 3)));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - START_MS).toBeLessThan(13_120_000);
  });

  it('is none of a hold on the way down: the paint has been fired by then', () => {
    const annealed: Schedule = {
      ...matt,
      segments: [
        ...matt.segments.slice(0, 3),
        { kind: 'ramp', toC: 520, rateCPerH: 300 },
        { kind: 'hold', minutes: 30 },
        { kind: 'ramp', toC: 150, rateCPerH: 'let-fall' },
      ],
    };
    const left = fallenMatt((s) => (s < 120 ? 520 : 520 - (s - 120) / 8));
    expect(told(feed(begin(annealed, electric), left))).toEqual([]);
  });

  it('is none of a flame turned down a little too far, that is turned up again', () => {
    const dip = (s: number): number => (s < 240 ? -s / 30 : Math.min(-8 + (s - 240) / 30, 0));
    const dipped = curve(0, 13_500, (s) => (s < 12_900 ? climbOfMatt(s) : 660 + dip(s - 12_900)));
    expect(told(feed(begin(), dipped))).toEqual([]);
  });

  it('is none of a plug that is drawn for a look, nor of a kiln that rests a little below', () => {
    const look = (s: number): number => (s < 0 ? 0 : s < 20 ? -s / 1.6 : Math.min(-12.5 + (s - 20) / 3, 0));
    const looked = curve(0, 13_300, (s) => (s < 12_900 ? climbOfMatt(s) : 660 + look(s - 12_900)));
    expect(told(feed(begin(), looked))).toEqual([]);
    const rested = curve(0, 13_500, (s) => (s < 12_900 ? climbOfMatt(s) : 660 - Math.min((s - 12_900) / 18, 10)));
    expect(told(feed(begin(), rested))).toEqual([]);
  });

  it('is none where by another couple, a little ahead of this one, the hold was done', () => {
    const behind = (s: number): number => Math.min(climbOfMatt(s), 652 + Math.max(s - 12_600, 0) / 100);
    const done = curve(0, 13_800, (s) => (s < 13_500 ? behind(s) : behind(13_500) - (s - 13_500) / 5));
    expect(told(feed(begin(), done))).toEqual([]);
  });

  it('is counted by the kiln where a hand fires, whose top may come when a plan by the clock is over', () => {
    // 25 minutes late: by the clock the hold is done ten minutes before the top.
    const cut = (heldS: number) =>
      curve(0, 14_250 + heldS + 120, (s) =>
        s < 14_250 + heldS ? climbOfMatt(Math.max(s - 1500, 0)) : 660 - (s - 14_250 - heldS) / 5,
      );
    const byClock = { ...matt, waits: false };
    expect(told(feed(begin(byClock), cut(420)))[0]?.phase).toBe('foreseen');
    expect(told(feed(begin(byClock), cut(840)))).toEqual([]);
  });

  it('is none where nothing was heard while the hold may have been kept', () => {
    const off = (s: number): number => climbOfMatt(s) - Math.max(s - 13_660, 0) / 8;
    expect(told(feed(begin(), [...curve(0, 13_000, off), ...curve(13_920, 14_200, off)]))).toEqual([]);
  });

  it('is none of a controller that has held by its clock, before a kiln that lags a few minutes behind', () => {
    const lags = (s: number): number => (s < 6450 ? climbOfMatt(s) : Math.min(450 + (s - 6450) / 31.4, 660));
    const off = curve(0, 13_800, (s) => lags(s) - Math.max(s - 13_630, 0) / 8);
    expect(told(feed(begin(matt, electric), off))).toEqual([]);
    expect(told(feed(begin(), off))).not.toEqual([]);
  });

  it('is none of the first degrees that a couple shows less once the flame is turned down', () => {
    const turned = curve(0, 13_200, (s) =>
      s < 12_780 ? climbOfMatt(s) : 660 - Math.min((s - 12_780) / 5, 4) + Math.max(s - 12_850, 0) / 100,
    );
    expect(told(feed(begin(), turned))).toEqual([]);
  });

  it('is not foreseen of one couple while the other beside it stays', () => {
    const two = kilnOf({
      sensors: [
        { name: 'shelf', letter: 'K', rules: true },
        { name: 'top', letter: 'K' },
      ],
    });
    const dip = (s: number): number => Math.max(s < 40 ? -s / 8 : -5 + (s - 40) / 20, -5);
    const shelf = curve(0, 13_200, (s) => climbOfMatt(s) + (s < 13_080 ? 0 : Math.min(dip(s - 13_080), 0)), 5);
    const withTop = (fallsToo: boolean) =>
      shelf.flatMap((r) => {
        const s = (r.atMs - START_MS) / 1000;
        return [r, { ...r, channel: 'top', text: String((fallsToo ? Number(r.text) : climbOfMatt(s)) + 4) }];
      });
    expect(told(feed(begin(matt, two), withTop(true)))[0]?.phase).toBe('foreseen');
    expect(told(feed(begin(matt, two), withTop(false)))).toEqual([]);
  });

  it('is none of a soak far below the top, where a flame burns low and nothing is fired', () => {
    const dried: Schedule = {
      ...matt,
      segments: [{ kind: 'ramp', toC: 115, rateCPerH: 120 }, { kind: 'hold', minutes: 10 }, ...matt.segments],
    };
    // At 115 °C after 2850 s; six minutes later down by a degree each ten seconds.
    const soaked = curve(0, 3400, (s) => (s < 3200 ? Math.min(20 + s / 30, 115) : 115 - (s - 3200) / 10));
    expect(told(feed(begin(dried), soaked))).toEqual([]);
  });

  it('is none of a controller that goes its rounds as it comes up to its hold from below', () => {
    // By the clock the hold has begun at 12 750 s; the kiln comes up to it by a degree a minute, three up and down.
    const rounds = (s: number): number => 646 + (s - 12_600) / 60 + 3 * Math.sin((2 * Math.PI * s) / 75);
    const fed = curve(0, 13_300, (s) => (s < 12_480 ? climbOfMatt(s) - 5 : Math.min(rounds(s), 657)), 2);
    const wide = { ...matt, toleranceC: 8, waits: false };
    expect(told(feed(begin(wide, kilnOf({ heat: 'electric', toleranceC: 8 })), fed))).toEqual([]);
  });

  it('is none of a hold that is kept', () => {
    expect(
      told(
        feed(
          begin(),
          fallenMatt((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });
});
