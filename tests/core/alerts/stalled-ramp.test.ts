import { describe, expect, it } from 'vitest';
import { isCall, overKey } from '../../../daemon/core/alerts/alert.ts';
import { stalledRamp } from '../../../daemon/core/alerts/stalled-ramp.ts';
import type { AlertKind } from '../../../daemon/core/events.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { viewOf } from '../../../daemon/core/view.ts';
import {
  atS,
  begin,
  curve,
  feed,
  kilnOf,
  lid,
  line,
  matt,
  mattAiredTo,
  reading,
  START_MS,
  soaked,
  stagedAlerts,
  stagesOf as stagesOfAll,
} from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
/** To 450 at 240 °C an hour, on at 120 for half an hour to 510. */
const upTo510 = curve(0, 8250, (s) => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30));
const then = (toS: number, celsiusAt: (minutes: number) => number) =>
  curve(8260, toS, (s) => celsiusAt((s - 8250) / 60));
/** Its pace falls from 120 to 30 °C an hour over twenty minutes, and stays there. */
const dying = (m: number): number =>
  510 + 2 * Math.min(m, 20) - 0.0375 * Math.min(m, 20) ** 2 + 0.5 * Math.max(m - 20, 0);

/** What else is said of such a climb is another rule's matter. */
const stagesOf = (fed: Parameters<typeof stagesOfAll>[0]): string[] =>
  stagesOfAll(fed).filter((stage) => /^(stalled-ramp|lid-open-hot) /.test(stage));

describe('a climb that dies away', () => {
  it('is foreseen while the kiln still climbs, and does not happen while it creeps on', () => {
    const fed = feed(begin(), [...upTo510, ...then(12_000, dying)]);
    expect(stagesOf(fed)).toEqual(['stalled-ramp foreseen']);
    const [alert] = stagedAlerts(fed);
    expect(alert?.atMs).toBeGreaterThan(atS(8250));
    // Told within sixteen minutes; the goal of twelve asks for a better forecast.
    expect(alert?.atMs).toBeLessThan(atS(8250 + 16 * 60));
    expect(alert?.message).toContain('Frosted or empty? Never warm it with a flame.');
  });

  it('is none of a spurt of the valve that dies away to seven tenths of the wanted pace until the hand comes again', () => {
    // Each quarter of an hour the hand opens the valve: 2.7 °C a minute, that go down to 1.4.
    const spurts = (m: number): number => {
      const t = m % 15;
      return 510 + Math.floor(m / 15) * 29 + 2.7 * t - 0.051 * t * t;
    };
    expect(stagesOf(feed(begin(), [...upTo510, ...then(12_000, spurts)]))).toEqual([]);
  });

  it('waits longer for the hand far below 500 °C, where to come late harms nothing yet', () => {
    // 4 °C a minute as planned to 300 °C, then less than half of it; the hand comes after ten minutes, or never: by then it is three quarters of an hour late.
    const slow = (m: number): number => 300 + 1.7 * m;
    const handAfter = (minutes: number) =>
      curve(0, 9600, (s) => {
        const m = (s - 4200) / 60;
        return m < 0 ? 20 + s / 15 : slow(Math.min(m, minutes)) + 4.6 * Math.max(m - minutes, 0);
      });
    expect(stagesOf(feed(begin(), handAfter(10)))).toEqual([]);
    const never = feed(begin(), handAfter(90));
    expect(stagesOf(never)).toEqual([]);
    expect(stagesOfAll(never)).toContain('running-late foreseen');
  });

  it('is none of ten minutes of rest at a corner of the plan, where the hand looks and airs', () => {
    const rests = curve(0, 12_000, (s) =>
      s < 6300 ? 20 + s / 15 : Math.min(440 + Math.max(s - 6900, 0) / 15, 450 + Math.max(s - 7050, 0) / 30),
    );
    expect(stagesOf(feed(begin(), rests))).toEqual([]);
  });

  it('is none of a kiln that has rested since the smoke was let off, once it plainly climbs again', () => {
    const [first, ...rest] = matt.segments;
    if (first === undefined) throw new Error('no climb');
    const smoked: Schedule = { ...matt, segments: [first, { kind: 'hold', minutes: 8 }, ...rest] };
    const sunkC = (s: number): number => Math.min(Math.max(s - 7000, 0) / 100, 4);
    const rests = (s: number): number => Math.min(20 + s / 15, 449) - sunkC(s) + Math.max(s - 7600, 0) / 25;
    expect(stagesOf(feed(begin(smoked), curve(0, 8600, rests)))).toEqual([]);
  });

  it('is none of a step of the valve each thirteen minutes, between which the pace dies away to a third', () => {
    const step = (m: number): number => Math.floor(m / 13) * 26 + 29.4 * (1 - Math.exp(-(m % 13) / 6));
    const steps = (m: number): number => 510 + (m < 3 ? m / 2 : 1.5 + step(m - 3));
    expect(stagesOf(feed(begin(), [...upTo510, ...then(12_000, steps)]))).toEqual([]);
  });

  it('is none where another couple climbs on as the plan wants: then the ruling one is to be looked at', () => {
    const two = kilnOf({
      sensors: [
        { name: 'shelf', letter: 'K', rules: true },
        { name: 'top', letter: 'K' },
      ],
    });
    const asPlanned = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
    const fired = (topC: (s: number, ownC: number) => number) =>
      feed(
        begin(matt, two),
        [...upTo510, ...then(11_000, dying)].flatMap((r) => {
          const s = (r.atMs - START_MS) / 1000;
          return [r, { ...r, channel: 'top', text: String(topC(s, Number(r.text))) }];
        }),
      );
    const besidePlan = fired((s) => asPlanned(s) + 8);
    expect(stagesOf(besidePlan)).toEqual([]);
    expect(stagesOfAll(besidePlan)).toContain('sensors-disagree happening');
    expect(stagesOf(fired((_s, ownC) => ownC + 8))).toEqual(['stalled-ramp foreseen']);
  });

  it('is none of a controller without power to spare that comes ten minutes late to its top', () => {
    const sags = (m: number): number => 510 + (m < 55 ? 2 * m : 110 + 1.2 * (m - 55));
    expect(stagesOf(feed(begin(matt, electric), [...upTo510, ...then(12_700, sags)]))).toEqual([]);
  });

  it('happens once the kiln no longer climbs, and is over when it does again', () => {
    const fed = feed(begin(), [
      ...upTo510,
      ...then(10_000, () => 510),
      ...line({ fromS: 10_010, toS: 12_500, fromC: 510, rateCPerH: 120 }),
    ]);
    expect(stagesOf(fed)).toEqual(['stalled-ramp foreseen', 'stalled-ramp happening', 'stalled-ramp over']);
    expect(new Set(stagedAlerts(fed).flatMap((a) => (a.alert === 'stalled-ramp' ? [a.id] : []))).size).toBe(1);
    expect(fed.state.alertCounts['stalled-ramp']).toBe(1);
  });

  it('asks for flame and bottle at a gas kiln, for fuse and elements at an electric one', () => {
    const gas = stagedAlerts(feed(begin(), [...upTo510, ...then(10_000, () => 510)]));
    const power = stagedAlerts(feed(begin(matt, electric), [...upTo510, ...then(10_000, () => 510)]));
    for (const { message } of gas) expect(message).toMatch(/flame and the bottle/);
    for (const { message } of power) expect(message).toMatch(/element/);
    for (const { message } of power) expect(message).not.toMatch(/bottle|gas|flame/);
  });

  it('is none where the kiln keeps its plan’s pace, or three quarters of it', () => {
    for (const rateCPerH of [120, 100, 90]) {
      expect(
        stagesOf(feed(begin(), [...upTo510, ...line({ fromS: 8260, toS: 11_000, fromC: 510, rateCPerH })])),
      ).toEqual([]);
    }
  });

  it('is none of a controller that was late before and keeps the pace of its plan since, swinging as it does', () => {
    // A quarter of an hour late at 273 °C, and at the plan's 240 °C an hour since, nine up and nine down every six minutes.
    const late = (s: number): number => (s < 4800 ? 20 + s * (190 / 3600) : 273 + (s - 4800) / 15);
    const swings = curve(0, 7800, (s) => late(s) + 9 * Math.sin((s / 360) * 2 * Math.PI));
    expect(stagesOf(feed(begin(matt, electric), swings))).toEqual([]);
  });

  it('is none of one wild value of an instrument that speaks each half a minute', () => {
    const slow = kilnOf({ heat: 'electric', closure: 'lid', sampleS: 30 });
    const propped: Schedule = { ...matt, segments: matt.segments.map((s) => ({ ...s, opening: 'propped' })) };
    const sparse = curve(0, 5400, (s) => (s === 4800 ? 230 : 20 + s / 15), 30);
    expect(stagesOf(feed(begin(propped, slow), sparse))).toEqual([]);
  });

  it('is none while the hand eases the last degrees into the top', () => {
    const eased = curve(0, 15_000, (s) => {
      if (s < 12_390) return s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30;
      return 648 + 12 * (1 - Math.exp(-(s - 12_390) / 500));
    });
    expect(stagesOf(feed(begin(), eased)).filter((s) => s.startsWith('stalled'))).toEqual([]);
  });

  it('is not foreseen where it was said already that the firing comes late', () => {
    const slow = (m: number): number => 510 + (m < 64 ? 1.5 * m : 96 + 0.9 * (m - 64));
    const fed = feed(begin(), [...upTo510, ...then(14_000, slow)]);
    expect(stagesOfAll(fed)[0]).toBe('running-late foreseen');
    expect(stagesOf(fed)).toEqual([]);
  });

  it('is none of the minutes in which a lost flame is lit again', () => {
    // Out for ten minutes, then up again at twice the plan's pace.
    const relit = then(12_000, (m) =>
      m < 10 ? 510 - 6 * m : 450 + 4 * Math.min(m - 10, 20) + 2 * Math.max(m - 30, 0),
    );
    const stages = stagesOfAll(feed(begin(), [...upTo510, ...relit]));
    expect(stages).toContain('heat-lost over');
    expect(stages.filter((s) => s.startsWith('stalled'))).toEqual([]);
  });

  it('is none in a hold, in a fall, before the kiln is lit, or in its first minutes', () => {
    const fed = feed(
      begin(),
      curve(0, 30_000, (s) => {
        if (s < 3600) return 20;
        if (s < 16_350) return s < 10_050 ? 20 + (s - 3600) / 15 : 450 + (s - 10_050) / 30;
        return s < 17_300 ? 660 : 20 + 640 * Math.exp(-(s - 17_300) / 7200);
      }),
    );
    expect(stagesOf(fed).filter((s) => s.startsWith('stalled'))).toEqual([]);
  });

  it('is none while an open door explains it', () => {
    const open = feed(begin(), [...upTo510, lid(8255, true), ...then(10_000, () => 500)]);
    expect(stagesOf(open)).toEqual(['lid-open-hot happening']);
  });

  it('is none of the first minutes after a door was shut that the plan had open', () => {
    // It comes to rest a few degrees below, as it must with its lid up.
    const rests = (s: number): number => Math.min(20 + s / 15, 446) + Math.max(s - 6390, 0) / 900;
    const shutS = 7500;
    const fed = feed(begin(mattAiredTo(450), electric), [
      reading(5, 'open', 'lid'),
      ...curve(0, shutS, rests),
      lid(shutS + 1, false),
      ...curve(shutS + 10, shutS + 600, (s) => rests(shutS) + Math.max(s - shutS - 180, 0) / 30),
    ]);
    expect(stagesOf(fed)).toEqual([]);
  });

  it('is none of a kiln that nobody could steer, as its couple was not heard for half an hour', () => {
    const fed = feed(begin(), [...upTo510, ...curve(10_050, 12_000, () => 508)]);
    expect(stagesOfAll(fed)).toContain('silence over');
    expect(stagesOf(fed)).toEqual([]);
  });

  it('is told all the same while another couple cannot be believed, or two of them part', () => {
    const { state } = feed(begin(), [...upTo510, ...then(9300, dying)]);
    const view = { ...viewOf(state), standing: [] };
    const overFor = (kind: AlertKind, key: string) =>
      stalledRamp.judge({ ...view, overAtMs: { [overKey(kind, key)]: view.nowMs - 60_000 } });
    expect(overFor('sensor-fault', 'top')).toMatchObject({ phase: 'foreseen' });
    expect(overFor('sensors-disagree', '')).toMatchObject({ phase: 'foreseen' });
    expect(overFor('sensor-fault', view.ruling?.name ?? '')).toBeUndefined();
  });

  it('is none of a controller that takes ten minutes to come up from a hold to a steep climb', () => {
    const steep: Schedule = {
      ...matt,
      segments: [
        { kind: 'ramp', toC: 620, rateCPerH: 180 },
        { kind: 'hold', minutes: 16 },
        { kind: 'ramp', toC: 800, rateCPerH: 365 },
        { kind: 'hold', minutes: 16 },
      ],
    };
    const comesUp = (m: number): number => 620 + (m < 10 ? 0.06 * m * m : 6 + 6 * (m - 10));
    const climbs = curve(0, 14_400, (s) => (s < 12_000 ? 20 + s / 20 : comesUp(Math.max(s - 12_960, 0) / 60)));
    expect(stagesOf(feed(begin(steep, electric), climbs))).toEqual([]);
  });

  it('is none of a controller that swings in to a soak of little heat and counts it from then', () => {
    /** At 110 °C after an hour, on and off between 108 and 122 °C, a quarter of an hour a round. */
    const rounds = (s: number): number => 115 - 7 * Math.cos((2 * Math.PI * (s - 3500)) / 900);
    const leftAt = (leavesS: number) =>
      curve(0, leavesS + 3000, (s) => {
        if (s < 3600) return 20 + s / 40;
        return s < leavesS ? rounds(s) : rounds(leavesS) + (s - leavesS) / 30;
      });
    expect(stagesOf(feed(begin(soaked, electric), leftAt(5980)))).toEqual([]);
    expect(stagesOf(feed(begin(soaked, electric), leftAt(8000)))[0]).toBe('stalled-ramp happening');
  });

  it('is told of an electric kiln that climbs at full power once that has fallen to a fifth, not as it fades with the heat', () => {
    const fullPower: Schedule = {
      ...matt,
      segments: [
        { kind: 'ramp', toC: 430, rateCPerH: 240 },
        { kind: 'ramp', toC: 660, rateCPerH: 'flat-out' },
        { kind: 'hold', minutes: 15 },
      ],
    };
    const failsS = 6700;
    const upTo = (s: number): number => (s < 6150 ? 20 + s / 15 : 430 + (s - 6150) / 6);
    const broken = curve(0, 7600, (s) => upTo(Math.min(s, failsS)) + Math.max(s - failsS, 0) / 32);
    expect(stagesOf(feed(begin(fullPower, electric), broken))).toEqual(['stalled-ramp foreseen']);
    const fades = curve(0, 8000, (s) => (s < 6150 ? upTo(s) : 430 + 260 * (1 - Math.exp(-(s - 6150) / 1700))));
    expect(stagesOf(feed(begin(fullPower, electric), fades))).toEqual([]);
  });

  it('is none of a kiln ahead of its plan that waits for it', () => {
    const ahead = [
      ...line({ fromS: 0, toS: 3000, fromC: 20, rateCPerH: 480 }),
      ...line({ fromS: 3010, toS: 5000, fromC: 420, rateCPerH: 0 }),
    ];
    expect(stagesOf(feed(begin(), ahead))).toEqual([]);
  });

  it('is not judged while nothing is heard: it stays as it is, marked as not known', () => {
    const stalled = feed(begin(), [...upTo510, ...then(10_000, () => 510)]);
    const silent = feed(stalled, [{ kind: 'tick', atMs: atS(11_000) }]);
    expect(silent.state.alerts.live.find((a) => a.rule === 'stalled-ramp')?.told).toMatchObject({
      phase: 'happening',
      unknown: true,
    });
    // After the pause it is judged afresh: twelve minutes of readings first.
    const later = feed(silent, line({ fromS: 11_010, toS: 11_300, fromC: 510, rateCPerH: 0 }));
    expect(
      later.events.filter((e) => e.type === 'alert' && e.alert === 'stalled-ramp' && e.atMs > atS(11_000) && isCall(e)),
    ).toEqual([]);
  });
});

describe('a flame that seemed out and burns small after all', () => {
  /** Turned low at 510 °C: 9 °C a minute down at first as if it were out, 1 °C a minute from the fourth minute on. */
  const turnedLow = (m: number): number => 510 - 9 * 1.5 * (1 - Math.exp(-m / 1.5)) - m;
  const out = (m: number): number => 510 - 8 * m;

  it('is told as a climb that stands five minutes after, and no more as a flame that is out', () => {
    const fed = feed(begin(), [...upTo510, ...then(8250 + 900, turnedLow)]);
    expect(stagesOfAll(fed).slice(0, 3)).toEqual(['heat-lost happening', 'heat-lost over', 'stalled-ramp happening']);
    const stall = stagedAlerts(fed).find((a) => a.alert === 'stalled-ramp');
    expect(stall?.atMs).toBeLessThan(atS(8250 + 330));
    expect(stall?.message).toContain('Look at the flame and the bottle');
  });

  it('is not told of a flame that is out', () => {
    const fed = feed(begin(), [...upTo510, ...then(8250 + 900, out)]);
    expect(stagesOfAll(fed)).toContain('heat-lost happening');
    expect(stagesOfAll(fed)).not.toContain('heat-lost over');
    expect(stagesOf(fed)).toEqual([]);
  });
});
