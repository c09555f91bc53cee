import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { type CorpusFiring, LID_CLOSED, LID_OPEN, NO_VALUE } from '../bench/alerts-corpus.ts';
import type { Told } from '../bench/alerts-feed.ts';
import { hearRival, type Rival } from '../bench/alerts-rival-feed.ts';

const EACH_S = 10;
const STARTED_AT_MS = 1_790_000_000_000;

/** Up by 300 °C/h to 650 °C, 20 minutes there, and down; the lid stays shut. */
const SCHEDULE: Schedule = {
  name: 'matt 650',
  segments: [
    { kind: 'ramp', toC: 650, rateCPerH: 300 },
    { kind: 'hold', minutes: 20 },
    { kind: 'ramp', toC: 60, rateCPerH: 'let-fall' },
  ],
};

/** As planned, at so many minutes since the start: the climb from 20 °C takes 126. No couple stands quite still. */
function plannedC(atMin: number): number {
  const wanderC = 0.2 * Math.sin(40 * atMin);
  if (atMin < 126) return 20 + 5 * atMin + wanderC;
  return wanderC + (atMin < 146 ? 650 : Math.max(20, 650 - 3 * (atMin - 146)));
}

interface Row {
  readonly atMin: number;
  readonly celsius: number | null;
  readonly sensor?: 0 | 1;
  readonly lid?: number;
  readonly stampOffMs?: number;
}

function rowsUntil(untilMin: number, celsius: (atMin: number) => number | null): Row[] {
  const count = (untilMin * 60) / EACH_S;
  return Array.from({ length: count }, (_, i) => ({ atMin: (i * EACH_S) / 60, celsius: celsius((i * EACH_S) / 60) }));
}

function firing(rows: readonly Row[], schedule = SCHEDULE): CorpusFiring {
  return {
    ...{ number: 1, fault: null, heat: 'gas', sampleS: EACH_S, couple: 'bare', lagS: 5, hasLidSwitch: false },
    ...{ toleranceC: 6, faults: [], harms: [], edges: [], schedule },
    kiln: {
      ...{ id: 'a', name: 'A', heat: 'gas', closure: 'lid', decodings: {}, utcOffsetMinutes: 0 },
      sensors: [
        { name: 'shelf', letter: 'K', rules: true },
        { name: 'arch', letter: 'K' },
      ],
    },
    rows: {
      ...{ startedAtMs: STARTED_AT_MS, sensors: ['shelf', 'arch'] },
      stampMs: Int32Array.from(rows, ({ atMin, stampOffMs }) => atMin * 60_000 + (stampOffMs ?? 0)),
      cameMs: Int32Array.from(rows, ({ atMin }) => atMin * 60_000),
      milliC: Int32Array.from(rows, ({ celsius }) => (celsius === null ? NO_VALUE : Math.round(celsius * 1000))),
      flags: Uint8Array.from(rows, ({ sensor, lid }) => (sensor ?? 0) | (lid ?? 0)),
    },
  };
}

/** Both couples are heard unless `rows` says otherwise; the second shows what the first does. */
function heard(rival: Rival, rows: readonly Row[], schedule = SCHEDULE): readonly Told[] {
  const hasOwn = rows.some((row) => row.sensor === 1);
  const all = hasOwn ? rows : rows.flatMap((row) => [row, { ...row, sensor: 1 } as const]);
  return hearRival(rival, firing(all, schedule)).told;
}

const beginnings = (told: readonly Told[]): string[] =>
  told.filter((t) => t.phase !== 'over').map(({ kind, sensor }) => (sensor === undefined ? kind : `${kind} ${sensor}`));
const toldBy = (untilMin: number, celsius: (atMin: number) => number): string[] =>
  beginnings(heard('thresholds', rowsUntil(untilMin, celsius)));
/** As planned until then, after that by minutes since. */
const from = (fromMin: number, celsius: (sinceMin: number) => number) => (atMin: number) =>
  atMin < fromMin ? plannedC(atMin) : celsius(atMin - fromMin);
const firstMin = (told: readonly Told[], kind: Told['kind']): number =>
  (told.find((t) => t.kind === kind)?.atS ?? Number.NaN) / 60;

describe('thresholds', () => {
  it('keep quiet in a firing that goes as planned, and stop when it is cool', () => {
    const rows = rowsUntil(500, plannedC);
    expect(heard('thresholds', rows)).toEqual([]);
    // 50 °C after 346 minutes; five minutes later nobody watches any more, the last ramp being done.
    expect(hearRival('thresholds', firing(rows)).watchedS / 60).toBeLessThan(400);
  });

  it('tell an overshoot once it is there, and once only though it wanders about the threshold', () => {
    const rows = rowsUntil(142, (m) => (m < 130 ? plannedC(m) : 656 + 2 * Math.sin(m)));
    const told = heard('thresholds', rows);
    expect(beginnings(told).filter((kind) => kind === 'overshoot')).toHaveLength(1);
    expect(firstMin(told, 'overshoot')).toBeGreaterThan(130);
  });

  it('tell a climb that stands, and one that is late', () => {
    expect(
      toldBy(
        100,
        from(76, (m) => 400 + Math.sin(m)),
      ),
    ).toEqual(['stalled-ramp']);
    expect(
      toldBy(
        180,
        from(86, (m) => 450 + 1.6 * m),
      ),
    ).toEqual(['running-late']);
  });

  it('tell heat that is lost, and say when it is back', () => {
    const rows = rowsUntil(125, (m) => plannedC(m) - 11 * Math.min(Math.max(m - 80, 0), 6));
    const told = heard('thresholds', rows).map(({ kind, phase }) => `${kind} ${phase}`);
    expect(told).toEqual(['heat-lost happening', 'heat-lost over']);
  });

  it('tell a hold that is left too early, and one that goes on', () => {
    expect(
      toldBy(
        140,
        from(134, (m) => 650 - 2 * m),
      ),
    ).toEqual(['hold-short']);
    expect(
      toldBy(
        170,
        from(140, (m) => 650 + Math.sin(m)),
      ),
    ).toEqual(['hold-long']);
  });

  it('tell a climb that is too fast, and a fall', () => {
    const [limited, falls] = [
      { fromC: 400, toC: 600, maxCPerH: 340, why: 'glass' },
      { fromC: 560, toC: 430, maxCPerH: 100, why: 'glass' },
    ];
    const fast = rowsUntil(
      90,
      from(60, (m) => 320 + 9 * m),
    );
    expect(beginnings(heard('thresholds', fast))).toEqual([]);
    expect(beginnings(heard('thresholds', fast, { ...SCHEDULE, limits: [limited] }))).toEqual(['heating-too-fast']);
    const fallen = heard('thresholds', rowsUntil(250, plannedC), { ...SCHEDULE, limits: [limited, falls] });
    expect(beginnings(fallen)).toEqual(['cooling-too-fast']);
    expect(firstMin(fallen, 'cooling-too-fast')).toBeCloseTo(146 + 31, 0);
  });

  it('tell heat that is on in a fall', () => {
    expect(toldBy(240, (m) => plannedC(Math.min(m, 200)) + 2 * Math.max(0, m - 200))).toEqual(['uncontrolled-heat']);
  });

  it('tell a lid by its switch, and without one by a fall', () => {
    const shut = rowsUntil(140, plannedC).map((row) => ({ ...row, lid: LID_CLOSED }));
    const open = shut.map((row) => (row.atMin > 100 && row.atMin < 102 ? { ...row, lid: LID_OPEN } : row));
    expect(beginnings(heard('thresholds', shut))).toEqual([]);
    expect(beginnings(heard('thresholds', open))).toEqual(['lid-open-hot']);
    const fallen = rowsUntil(105, (m) => plannedC(m) - Math.min(90, 45 * Math.max(0, m - 100)));
    expect(beginnings(heard('thresholds', fallen))).toContain('lid-open-hot');
  });

  it('tell a couple that shows nothing, one figure for ever, or another one all at once, but no lonely odd figure', () => {
    const causes = (celsius: (m: number) => number | null): (string | undefined)[] =>
      heard('thresholds', rowsUntil(120, celsius)).flatMap((t) =>
        t.kind === 'sensor-fault' && t.phase !== 'over' ? [t.cause] : [],
      );
    expect(causes((m) => (m > 60 && m < 60.2 ? 900 : plannedC(m)))).toEqual([]);
    expect(causes((m) => (m > 60 ? null : plannedC(m)))).toEqual(['open-circuit', 'open-circuit']);
    expect(causes((m) => (m > 60 ? 1372 : plannedC(m)))).toEqual(['out-of-range', 'out-of-range']);
    expect(causes((m) => plannedC(Math.min(m, 60)))).toEqual(['frozen', 'frozen']);
    expect(causes((m) => plannedC(m) - (m > 60 ? 120 : 0))).toEqual(['jump', 'jump']);
    expect(causes((m) => (m < 30 ? 20 - m : plannedC(m - 50)))).toEqual(['reversed', 'reversed']);
  });

  it('tell two couples apart, a couple that is silent, and a clock that leaps', () => {
    const rows = rowsUntil(120, plannedC);
    const both = (other: (row: Row) => Row[]): Row[] => rows.flatMap((row) => [row, ...other({ ...row, sensor: 1 })]);
    const apart = both((row) => [{ ...row, celsius: (row.celsius ?? 0) - (row.atMin > 60 ? row.atMin - 60 : 0) }]);
    expect(beginnings(heard('thresholds', apart))).toEqual(['sensors-disagree arch']);
    const cut = both((row) => (row.atMin > 60 ? [] : [row]));
    const silent = heard('thresholds', cut);
    expect(beginnings(silent)).toEqual(['silence arch']);
    expect(firstMin(silent, 'silence')).toBeCloseTo(62, 0);
    const leapt = rows.map((row) => (row.atMin > 60 ? { ...row, stampOffMs: 3_600_000 } : row));
    expect(beginnings(heard('thresholds', leapt))).toEqual(['clock-trouble']);
  });
});

describe('thresholds with a straight line', () => {
  it('foresee the overshoot that thresholds tell when it is there', () => {
    const rows = rowsUntil(140, (m) => 20 + 5 * m);
    expect(firstMin(heard('thresholds', rows), 'overshoot')).toBeGreaterThan(127);
    const told = heard('line', rows);
    expect(told.find((t) => t.kind === 'overshoot')?.phase).toBe('foreseen');
    expect(firstMin(told, 'overshoot')).toBeLessThan(120);
  });

  it('foresee an overshoot in every climb, though it will bend', () => {
    expect(beginnings(heard('line', rowsUntil(146, plannedC)))).toEqual(['overshoot']);
  });
});
