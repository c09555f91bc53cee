import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { atS, begin, curve, feed, kilnOf, lid, line, matt, stagedAlerts, stagesOf } from '../feeding.ts';

const cool = (s: number): number => 20 + 640 * Math.exp(-(s - 13_800) / 7200);
const whole = (toS: number, everyS = 5) =>
  curve(
    0,
    toS,
    (s) => (s < 12_750 ? (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30) : s < 13_800 ? 660 : cool(s)),
    everyS,
  );
/** 310 °C is passed at 19 500 s. */
const OPENED_S = 19_500;
const dip = (s: number): number =>
  cool(s) -
  40 * (1 - Math.exp(-Math.min(Math.max(s - OPENED_S, 0), 40) / 25)) * Math.exp(-Math.max(s - OPENED_S - 40, 0) / 120);
const cooling = (toS: number) => [...whole(OPENED_S - 5), ...curve(OPENED_S, toS, dip, 5)];

describe('a door open at 310 °C', () => {
  it('is told by its switch within six seconds, with until when to leave it shut', () => {
    const fed = feed(begin(), [
      lid(0, false),
      ...whole(OPENED_S),
      lid(OPENED_S + 1, true),
      ...curve(OPENED_S + 5, OPENED_S + 60, dip, 5),
    ]);
    const alert = stagedAlerts(fed).find((a) => a.alert === 'lid-open-hot');
    expect(alert?.atMs).toBeLessThanOrEqual(atS(OPENED_S + 7));
    expect(alert).toMatchObject({ phase: 'happening', priority: 'now' });
    // 150 °C: 13 800 + 7200·ln(640/130) = 25 275 s, at 16:01.
    expect(alert?.message).toMatch(/^The door is open at 3\d\d\. Close it gently.* not before 1(5:[45]|6:[01])\d\.$/);
  });

  it('is over fifteen seconds after it was closed, and says for how long it stood open', () => {
    const fed = feed(begin(), [
      lid(0, false),
      ...whole(OPENED_S),
      lid(OPENED_S + 1, true),
      lid(OPENED_S + 41, false),
      ...curve(OPENED_S + 45, OPENED_S + 120, dip, 5),
    ]);
    const over = stagedAlerts(fed).find((a) => a.alert === 'lid-open-hot' && a.phase === 'over');
    expect(over?.atMs).toBe(atS(OPENED_S + 41 + 15));
    expect(over?.life).toBe('over-unseen');
    expect(over?.message).toContain('Look at the pieces when they are cold.');
  });

  it('is told without a switch within a minute, by the fall of the temperature', () => {
    const fed = feed(begin(), cooling(OPENED_S + 400));
    const stages = stagedAlerts(fed).filter((a) => a.alert === 'lid-open-hot');
    expect(stages.map((a) => a.phase)).toEqual(['happening', 'over']);
    expect(stages[0]?.atMs).toBeLessThan(atS(OPENED_S + 60));
    expect(stages[0]?.message).toMatch(/^Fell \d+ at once from 3\d\d: the door seems open\. Close it gently\.$/);
  });

  it('is not looked for in the fall where a switch says closed', () => {
    const fed = feed(begin(), [lid(0, false), ...cooling(OPENED_S + 400)]);
    expect(stagesOf(fed).filter((s) => s.startsWith('lid'))).toEqual([]);
  });

  it('is a lid at a top loader', () => {
    const electric = kilnOf({ heat: 'electric', closure: 'lid' });
    const fed = feed(begin(matt, electric), [
      ...whole(OPENED_S),
      lid(OPENED_S + 1, true),
      ...curve(OPENED_S + 5, OPENED_S + 30, dip, 5),
    ]);
    expect(stagedAlerts(fed).find((a) => a.alert === 'lid-open-hot')?.message).toMatch(/^The lid is open/);
  });

  it('of an electric kiln without a switch is told by the pace of its fall, and no lost heat before it', () => {
    const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
    const fallen = (s: number): number => climb(9000) - 150 * (1 - Math.exp(-(s - 9000) / 60));
    const electric = kilnOf({ heat: 'electric', closure: 'lid' });
    const fed = feed(begin(matt, electric), [...curve(0, 8995, climb, 5), ...curve(9000, 9120, fallen, 5)]);
    const told = stagedAlerts(fed);
    expect(told.map((a) => a.alert)).toEqual(['lid-open-hot']);
    expect(told[0]?.atMs).toBeLessThanOrEqual(atS(9030));
  });

  it('while a gas kiln is heated is taken for the flame that is out, the worse of the two, and both are named', () => {
    const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
    const fallen = (s: number): number => climb(9000) - 40 * (1 - Math.exp(-(s - 9000) / 25));
    const fed = feed(begin(), [...curve(0, 8995, climb, 5), ...curve(9000, 9060, fallen, 5)]);
    const told = stagedAlerts(fed);
    expect(told.filter((a) => a.alert === 'lid-open-hot')).toEqual([]);
    expect(told.find((a) => a.alert === 'heat-lost')?.message).toMatch(/as if the flame is out or the door open, at/);
  });
});

describe('a door open in peace', () => {
  const propped: Schedule = {
    ...matt,
    segments: matt.segments.map((s, i) => (i === 0 ? { ...s, opening: 'propped' as const } : s)),
  };
  const climb = (toS: number) => curve(0, toS, (s) => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30), 5);

  it('is none of a look through the spyhole that takes some degrees for ten seconds', () => {
    const look = (s: number): number =>
      15 * Math.min(Math.max(s - 8000, 0) / 10, 1) * Math.exp(-Math.max(s - 8010, 0) / 6);
    const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
    const fed = feed(
      begin(matt, kilnOf({ heat: 'electric', closure: 'lid' })),
      curve(0, 8300, (s) => climb(s) - look(s), 2),
    );
    expect(stagesOf(fed)).toEqual([]);
  });

  it('is none where a quick oven falls as its plan does, nor while it comes to the hold that is to catch it', () => {
    const soldering: Schedule = {
      name: 'soldering',
      toleranceC: 6,
      waits: false,
      segments: [
        { kind: 'ramp', toC: 240, rateCPerH: 1600 },
        { kind: 'ramp', toC: 50, rateCPerH: 7000 },
        { kind: 'hold', minutes: 10 },
      ],
    };
    const falls = (s: number): number => Math.max(20 + 220 * Math.exp(-(s - 500) / 170), 50);
    const run = (plan: Schedule) =>
      feed(
        begin(plan, kilnOf({ heat: 'electric', closure: 'lid' })),
        curve(0, 900, (s) => (s < 500 ? 20 + s * 0.44 : falls(s)), 1),
      );
    expect(stagesOf(run(soldering)).filter((s) => s.startsWith('lid'))).toEqual([]);
    const [climb, , hold] = soldering.segments;
    const slow = { ...soldering, segments: [climb, { kind: 'ramp', toC: 50, rateCPerH: 400 }, hold] } as Schedule;
    expect(stagesOf(run(slow))).toContain('lid-open-hot happening');
  });

  it('may be propped where the plan says so, and closed in the first minutes after', () => {
    const shut = (atSeconds: number) =>
      feed(begin(propped), [
        lid(0, true),
        ...climb(atSeconds),
        lid(atSeconds + 1, false),
        ...line({ fromS: atSeconds + 5, toS: atSeconds + 60, fromC: 455, rateCPerH: 120, everyS: 5 }),
      ]);
    // The ramp to 450 °C is over at 6390 s, within 2 °C of it.
    expect(stagesOf(shut(6950))).toEqual([]);
    expect(stagesOf(shut(7050)).filter((stage) => stage.startsWith('lid'))).toEqual([
      'lid-open-hot happening',
      'lid-open-hot over',
    ]);
  });

  it('may stand propped for as long as a plan by the clock is ahead of a kiln that is not yet as hot', () => {
    const slow = (fromS: number, toS: number) => curve(fromS, toS, (s) => 20 + s / 17, 5);
    // 450 °C by the plan at 6450 s, in this kiln at 7310 s.
    const shut = feed(begin({ ...propped, waits: false }), [
      lid(0, true),
      ...slow(0, 7500),
      lid(7501, false),
      ...slow(7505, 7600),
    ]);
    expect(stagesOf(shut).filter((stage) => stage.startsWith('lid'))).toEqual([]);
    const left = feed(begin({ ...propped, waits: false }), [lid(0, true), ...slow(0, 8000)]);
    expect(stagesOf(left).filter((stage) => stage.startsWith('lid'))).toEqual(['lid-open-hot happening']);
  });

  describe('while it cools', () => {
    const free: Schedule = {
      ...matt,
      segments: [...matt.segments.slice(0, 3), { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' }],
    };
    /** When it is as cold as that, by `cool`. */
    const atC = (celsius: number): number => Math.round((13_800 + 7200 * Math.log(640 / (celsius - 20))) / 5) * 5;
    const openedFor = (plan: Schedule, celsius: number, seconds: number) => {
      const fromS = atC(celsius);
      const fed = feed(begin(plan), [
        lid(0, false),
        ...whole(fromS),
        lid(fromS + 1, true),
        ...curve(fromS + 5, fromS + seconds, cool, 5),
        lid(fromS + seconds + 1, false),
        ...curve(fromS + seconds + 5, fromS + seconds + 60, cool, 5),
      ]);
      return stagesOf(fed).filter((s) => s.startsWith('lid'));
    };

    it('may be looked into for less than a minute below 300 °C', () => {
      expect(openedFor(matt, 280, 45)).toEqual([]);
      expect(openedFor(matt, 280, 90)).toContain('lid-open-hot happening');
      expect(openedFor(matt, 310, 45)).toContain('lid-open-hot happening');
    });

    it('is free from the glass on by a plan that lets it fall to cold with the lid free, and not before', () => {
      expect(openedFor(free, 600, 45)).toContain('lid-open-hot happening');
      expect(openedFor(free, 400, 300)).toEqual([]);
    });
  });

  it('is no harm under the temperature at which it may be cracked, or cold', () => {
    expect(
      stagesOf(feed(begin(), [lid(0, true), ...line({ fromS: 1, toS: 1800, fromC: 20, rateCPerH: 240, everyS: 5 })])),
    ).toEqual([]);
    const late = feed(begin(), [lid(0, false), ...whole(25_600), lid(25_601, true), ...curve(25_605, 25_700, cool, 5)]);
    expect(stagesOf(late).filter((s) => s.startsWith('lid'))).toEqual([]);
  });

  it('takes the temperature from the schedule before the kiln, and from the kiln before the usual', () => {
    const at = (safeOpenC: number | undefined, ofKiln: number | undefined) => {
      const { safeOpenC: _, ...plain } = matt;
      const plan = safeOpenC === undefined ? plain : { ...matt, safeOpenC };
      const fed = feed(begin(plan, kilnOf(ofKiln === undefined ? {} : { safeOpenC: ofKiln })), [
        lid(0, false),
        ...line({ fromS: 1, toS: 2701, fromC: 20, rateCPerH: 240, everyS: 5 }),
        lid(2702, true),
        ...line({ fromS: 2706, toS: 2760, fromC: 200, rateCPerH: 0, everyS: 5 }),
      ]);
      return stagesOf(fed).length > 0;
    };
    expect([at(250, 100), at(100, 250), at(undefined, 250), at(undefined, 100), at(undefined, undefined)]).toEqual([
      false,
      true,
      false,
      true,
      true,
    ]);
  });
});
