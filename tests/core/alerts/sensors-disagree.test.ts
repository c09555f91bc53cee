import { describe, expect, it } from 'vitest';
import type { RawMessage } from '../../../daemon/core/inputs.ts';
import { begin, climbOfMatt, curve, type Fed, feed, kilnOf, matt, START_MS, stagedAlerts } from '../feeding.ts';

const two = (heat: 'gas' | 'electric') =>
  kilnOf({
    heat,
    sensors: [
      { name: 'shelf', letter: 'K', rules: true },
      { name: 'top', letter: 'K' },
    ],
  });
/** Both couples of a kiln fired as planned; the upper one is warmer by `apartC`. */
function pair(toS: number, apartC: (s: number) => number): RawMessage[] {
  return curve(0, toS, climbOfMatt).flatMap((r) => {
    const s = (r.atMs - START_MS) / 1000;
    const topC = Math.round(100 * (climbOfMatt(s) + apartC(s))) / 100;
    return [r, { ...r, channel: 'top', text: String(topC) }];
  });
}
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'sensors-disagree');
const PARTS_S = 8000;
const drifting = (perH: number) => (s: number) => 8 + (Math.max(s - PARTS_S, 0) / 3600) * perH;

describe('two couples of one kiln', () => {
  it.each([-30, 30])('that part by %d °C an hour are told before they are fifteen degrees off', (perH) => {
    const [alert] = told(feed(begin(matt, two('electric')), pair(11_000, drifting(perH))));
    expect(alert).toMatchObject({ phase: 'happening', priority: 'soon', sensor: 'top' });
    const offC = Math.abs(drifting(perH)(((alert?.atMs ?? 0) - START_MS) / 1000) - 8);
    expect(offC).toBeLessThan(15);
    expect(alert?.because).toContain('nobody knows which of them is right');
  });

  it('that part through a short hold on the way up are told before they are fifteen degrees off', () => {
    const [first, second, ...rest] = matt.segments;
    if (first === undefined || second === undefined) throw new Error('matt has segments');
    const soaked = { ...matt, segments: [first, { kind: 'hold' as const, minutes: 5 }, second, ...rest] };
    const climb = (s: number) => climbOfMatt(Math.min(s, 6450) + Math.max(s - 6750, 0));
    const parts = (s: number) => 8 + Math.max(s - 6400, 0) / 60;
    const rows = curve(0, 8400, climb).flatMap((r) => {
      const s = (r.atMs - START_MS) / 1000;
      return [r, { ...r, channel: 'top', text: String(climb(s) + parts(s)) }];
    });
    const [alert] = told(feed(begin(soaked, two('gas')), rows));
    expect(parts(((alert?.atMs ?? Number.NaN) - START_MS) / 1000) - 8).toBeLessThan(15);
  });

  it('are told of once, in other words at a gas kiln and at an electric one', () => {
    const [gas, electric] = (['gas', 'electric'] as const).map((heat) =>
      told(feed(begin(matt, two(heat)), pair(12_500, drifting(30)))).filter((a) => a.phase !== 'over'),
    );
    expect(gas).toHaveLength(1);
    expect(gas?.[0]?.message).toContain('the flame has changed');
    expect(electric?.[0]?.message).toContain('an element has changed');
  });

  it('are said to part or to come together, whichever it is', () => {
    const saidOf = (apartC: (s: number) => number) =>
      told(feed(begin(matt, two('electric')), pair(11_000, apartC)))[0]?.message;
    expect(saidOf(drifting(30))).toMatch(/^shelf and top part: \d+ °C more between them than before\./);
    const closing = (s: number): number => 40 - (Math.max(s - PARTS_S, 0) / 3600) * 40;
    expect(saidOf(closing)).toMatch(/^shelf and top come together: \d+ °C less between them than before\./);
  });

  it('leave nobody sure of a hold that the plan’s own figure ends too soon: that is listed under them', () => {
    const apart = (s: number) => 8 + 0.018 * Math.min(Math.max(s - 11_000, 0), 1700);
    const falls = curve(13_110, 13_300, (s) => 660 - (s - 13_100) / 8).flatMap((r) => [
      r,
      { ...r, channel: 'top', text: String(Number(r.text) + apart(13_100)) },
    ]);
    const fed = feed(begin(matt, two('gas')), [...pair(13_100, apart), ...falls]);
    expect(told(fed)[0]).toMatchObject({ phase: 'happening', priority: 'now' });
    expect(stagedAlerts(fed).map((a) => a.alert)).not.toContain('hold-short');
    const sound = feed(begin(matt, two('gas')), [...pair(13_100, () => 8), ...falls]);
    expect(stagedAlerts(sound).map((a) => a.alert)).toContain('hold-short');
  });

  it('leave nobody sure that heat is lost where by the other one, far off by then, a controller is done', () => {
    const lowC = (s: number) => (Math.max(s - PARTS_S, 0) / 3600) * 60;
    const ends = (doneS: number) => {
      const kilnC = (s: number) => climbOfMatt(s) - Math.max(s - doneS, 0) / 8;
      const rows = curve(0, doneS + 400, (s) => kilnC(s) - lowC(s)).flatMap((r) => {
        const s = (r.atMs - START_MS) / 1000;
        return [r, { ...r, channel: 'top', text: String(kilnC(s) + 8) }];
      });
      return stagedAlerts(feed(begin(matt, two('electric')), rows)).filter((a) => a.heldBackBy === undefined);
    };
    const kinds = (doneS: number) => ends(doneS).map((a) => a.alert);
    expect(kinds(12_900)).not.toContain('heat-lost');
    expect(kinds(10_000)).toContain('heat-lost');
  });

  it('leave nobody sure of a climb that comes late by one of them alone', () => {
    const late = (topFalls: number) => {
      const lostC = (s: number) => (Math.max(s - PARTS_S, 0) / 3600) * 50;
      const rows = curve(0, 12_500, (s) => climbOfMatt(s) - lostC(s)).flatMap((r) => {
        const s = (r.atMs - START_MS) / 1000;
        return [r, { ...r, channel: 'top', text: String(climbOfMatt(s) + 8 - topFalls * lostC(s)) }];
      });
      return stagedAlerts(feed(begin(matt, two('gas')), rows)).map((a) => a.alert);
    };
    expect(late(0)).not.toContain('running-late');
    expect(late(1)).toContain('running-late');
  });

  it('are not told of where it is known which of them jumped', () => {
    const fed = feed(
      begin(matt, two('gas')),
      pair(9500, (s) => (s < PARTS_S ? 8 : -30)),
    );
    const kinds = stagedAlerts(fed).map((a) => `${a.alert} ${a.cause}`);
    expect(kinds).toEqual(['sensor-fault jump']);
  });

  it('are well with their usual spread, however wide, that grows as the kiln grows hot', () => {
    for (const spread of [() => 0, () => 45, (s: number) => climbOfMatt(s) * 0.04]) {
      expect(told(feed(begin(matt, two('gas')), pair(13_500, spread)))).toEqual([]);
    }
  });

  it('may part as they like once the heat is off', () => {
    const rows = pair(13_600, () => 8);
    const fall = curve(13_610, 18_000, (s) => 660 - (s - 13_600) / 14).flatMap((r) => {
      const s = (r.atMs - START_MS) / 1000 - 13_600;
      return [r, { ...r, channel: 'top', text: String(Math.round(668 - s / 14 - 40 * (1 - Math.exp(-s / 60)))) }];
    });
    const fed = feed(begin(matt, two('gas')), [...rows, ...fall]);
    expect(told(fed)).toEqual([]);
    expect(stagedAlerts(fed).filter((a) => a.alert === 'sensor-fault')).toEqual([]);
  });
});
