import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FiringEvent } from '../../daemon/core/events.ts';
import type { CoreInput, RawMessage } from '../../daemon/core/inputs.ts';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import { beginFiring } from '../../daemon/core/state.ts';
import { passTime, step } from '../../daemon/core/step.ts';
import { fireScenario } from '../../simulators/firing-scenario.ts';
import { lateHand } from '../support/scenarios.ts';
import {
  atS,
  begin,
  curve,
  deed,
  feed,
  kilnOf,
  lid,
  line,
  matt,
  reading,
  START_MS,
  stagedAlerts,
  stagesOf,
  wait,
} from './feeding.ts';

const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
/** A climb past the limit and back: foreseen, happening, over. */
const tooHot = (everyS: number): RawMessage[] =>
  curve(0, 15_000, (s) => (s < 13_100 ? climb(s) : Math.max(climb(13_100) - (s - 13_100) / 30, 655)), everyS);

function deepFreeze<T>(value: T): T {
  if (typeof value !== 'object' || value === null || Object.isFrozen(value)) return value;
  Object.freeze(value);
  for (const inner of Object.values(value)) deepFreeze(inner);
  return value;
}

describe('core', () => {
  it('changes nothing that it was handed, and says the same for the same', () => {
    const rows = tooHot(30);
    const inputs: CoreInput[] = [
      ...rows.slice(0, 150),
      lid(4500, false),
      ...rows.slice(150, 420),
      deed(12_591, { deed: 'act', what: 'valve', value: 'mark 3' }),
      { kind: 'edge', atMs: atS(12_592), edge: 'input-lost', input: 'rows', sentence: 'The cable is out.' },
      { kind: 'edge', atMs: atS(12_593), edge: 'restarted', awayS: 1 },
      { kind: 'edge', atMs: atS(12_594), edge: 'record-lost', sentence: 'The disk is full.' },
      ...rows.slice(420),
      deed(15_001, { deed: 'plan', schedule: { ...matt, name: 'Another' } }),
    ];
    let state = deepFreeze(beginFiring(kilnOf({ sampleS: 30 }), matt, START_MS));
    for (const input of inputs) {
      state = passTime(state, input.atMs).state;
      const frozen = deepFreeze(state);
      const once = step(frozen, deepFreeze(input));
      expect(step(frozen, input)).toEqual(once);
      state = once.state;
    }
    expect(Object.keys(state.alertCounts)).toContain('overshoot');
  });

  it('ticks once for each second, and never twice for one', () => {
    const fed = feed(begin(), [reading(0, 20), reading(2.5, 20), reading(2.9, 20), reading(10, 20)]);
    expect(fed.state.nowMs).toBe(atS(10));
    const passed = passTime(fed.state, atS(10));
    expect(passed).toEqual({ state: fed.state, events: [] });
    expect(passTime(fed.state, atS(9)).state.nowMs).toBe(atS(10));
  });

  it('says the same however the time between two inputs is cut', () => {
    const rows = tooHot(30).slice(0, 440);
    const whole = feed(begin(), rows);
    const cut = rows.reduce(
      (fed, row) => feed(wait(wait(fed, (row.atMs - START_MS) / 1000 - 7.3), (row.atMs - START_MS) / 1000 - 2), [row]),
      begin(),
    );
    expect(cut.state).toEqual(whole.state);
    expect(cut.events).toEqual(whole.events);
  });
});

describe('readings that come oddly', () => {
  const stages = stagesOf(feed(begin(), tooHot(10)));

  it('twice change no alert (seed 6)', () => {
    expect(stages.filter((s) => s.startsWith('overshoot'))).toEqual([
      'overshoot foreseen',
      'overshoot happening',
      'overshoot over',
    ]);
    const random = seededRandom(6);
    const doubled = tooHot(10).flatMap((row) => (random.next() < 0.3 ? [row, row, row] : [row]));
    expect(stagesOf(feed(begin(), doubled))).toEqual(stages);
  });

  it('in the wrong order are shown as late, and not judged (seed 7)', () => {
    const random = seededRandom(7);
    const rows = tooHot(10);
    for (let i = 1; i < rows.length; i++) {
      const [a, b] = [rows[i - 1], rows[i]];
      if (a !== undefined && b !== undefined && random.next() < 0.1) [rows[i - 1], rows[i]] = [b, a];
    }
    const fed = feed(begin(), rows);
    expect(stagesOf(fed)).toEqual(stages);
    const late = fed.events.filter((e) => e.type === 'reading' && e.quality === 'late');
    expect(late.length).toBe(fed.state.rejectedCount);
    expect(late.length).toBeGreaterThan(50);
  });

  it('in a burst after a lost connection raise no false alarm: only the newest is now', () => {
    const rows = line({ fromS: 0, toS: 3000, fromC: 20, rateCPerH: 240 });
    const burst = line({ fromS: 2000, toS: 3000, fromC: 153, rateCPerH: 240, everyS: 5 });
    const fed = feed(feed(begin(), rows), [...burst, ...line({ fromS: 3010, toS: 3600, fromC: 220, rateCPerH: 240 })]);
    expect(stagesOf(fed)).toEqual([]);
    expect(fed.state.sensors.shelf?.last?.celsius).toBeCloseTo(259.33, 1);
  });

  it('with a clock that went back an hour are late until it has caught up, and time never runs backwards', () => {
    const back = tooHot(30).map((row, i) => (i > 100 && i < 160 ? { ...row, atMs: row.atMs - 3_600_000 } : row));
    const fed = feed(begin(), back);
    let lastMs = 0;
    for (const event of fed.events) {
      if (event.type !== 'position') continue;
      expect(event.atMs).toBeGreaterThanOrEqual(lastMs);
      lastMs = event.atMs;
    }
    expect(stagesOf(fed)).toContain('clock-trouble happening');
    expect(stagesOf(fed).filter((s) => !/^(silence|clock)/.test(s))).toEqual(stages);
  });

  it.each([0.5, 1, 5, 30])('every %d s lead to the same alerts, told within a sample of the same moment', (everyS) => {
    const other = stagedAlerts(feed(begin(), tooHot(everyS)));
    const usual = stagedAlerts(feed(begin(), tooHot(10)));
    expect(other.map((a) => `${a.alert} ${a.phase}`)).toEqual(stages);
    for (const [i, alert] of other.entries()) {
      expect(Math.abs(alert.atMs - (usual[i]?.atMs ?? 0))).toBeLessThanOrEqual(45_000 + everyS * 1000);
    }
  });

  it('after ten hours of nothing mark the gap, and nothing is made up of what lay between', () => {
    const before = line({ fromS: 0, toS: 5400, fromC: 20, rateCPerH: 240 });
    const after = line({ fromS: 41_400, toS: 44_000, fromC: 120, rateCPerH: -30 });
    const fed = feed(feed(begin(), before), after);
    expect(stagesOf(fed).slice(0, 2)).toEqual(['silence happening', 'silence over']);
    expect(stagesOf(fed).filter((s) => s.startsWith('overshoot') || s.startsWith('lid'))).toEqual([]);
    expect(fed.events.filter((e) => e.type === 'gap')).toEqual([
      { type: 'gap', fromMs: atS(5400), atMs: atS(41_400), why: 'no readings' },
    ]);
    const forecasts = fed.events.filter((e) => e.type === 'forecast' && e.atMs >= atS(41_400));
    for (const f of forecasts) if (f.type === 'forecast') expect(f.expectedPeakC).toBeLessThan(125);
  });
});

describe('names', () => {
  const { rows } = fireScenario(lateHand({ comes: false }));
  const shown = rows.filter((r) => r.atMs > (rows[0]?.atMs ?? 0) + 2.5 * 3_600_000);

  /** Three couples, one of which falls silent; the first rules. */
  function eventsWith(names: readonly [string, string, string], kilnName: string, scheduleName: string): FiringEvent[] {
    const kiln: KilnSetup = {
      ...kilnOf(),
      id: 'gas-kiln',
      name: kilnName,
      sensors: names.map((name) => ({ name, letter: 'K' })),
      decodings: { rows: { kind: 'channels', channels: Object.fromEntries(names.map((n) => [n, n])) } },
    };
    const startMs = shown[0]?.atMs ?? 0;
    let state = beginFiring(kiln, { ...matt, name: scheduleName }, startMs);
    const events: FiringEvent[] = [];
    for (const row of shown) {
      const age = row.atMs - startMs;
      for (const [i, name] of names.entries()) {
        if (i > 0 && age > 1_200_000) continue;
        const passed = passTime(state, row.atMs);
        const stepped = step(passed.state, {
          kind: 'raw',
          atMs: row.atMs,
          input: 'rows',
          channel: name,
          text: String(row.celsius),
        });
        state = stepped.state;
        events.push(...passed.events, ...stepped.events);
      }
    }
    return events;
  }
  const renamed = (events: readonly FiringEvent[], names: readonly string[]): unknown[] =>
    events.map((event) => {
      const plain = 'sensor' in event ? { ...event, sensor: `#${names.indexOf(event.sensor ?? '')}` } : event;
      if (!('message' in plain)) return plain;
      return {
        ...plain,
        message: names.reduce((text, name, i) => text.replace(` of ${name} for`, ` of #${i} for`), plain.message),
      };
    });

  it('of kiln, sensors and schedule change nothing but themselves, whatever they are', () => {
    const plain = renamed(eventsWith(['shelf', 'top', 'door'], 'Gas kiln', 'Matt'), ['shelf', 'top', 'door']);
    expect(plain.length).toBeGreaterThan(1000);
    for (const names of [
      ['zeta', 'alpha', 'mid'],
      ['9', '5', '1'],
      ['constructor', 'lid 2', 'Ärmel'],
    ] as const) {
      const other = renamed(eventsWith(names, 'Ofen 4', 'Another'), names);
      expect(other).toHaveLength(plain.length);
      const firstOther = other.findIndex((event, i) => JSON.stringify(event) !== JSON.stringify(plain[i]));
      expect([names, other[firstOther]]).toEqual([names, plain[firstOther]]);
    }
  });
});

describe('whatever a person or an instrument does (seed 99)', () => {
  const seconds = fc.integer({ min: -50, max: 400 });
  const inputs: fc.Arbitrary<(s: number) => CoreInput> = fc.oneof(
    { weight: 8, arbitrary: fc.double({ min: -300, max: 1500, noNaN: true }).map((c) => (s: number) => reading(s, c)) },
    { weight: 2, arbitrary: fc.string({ maxLength: 12 }).map((text) => (s: number) => reading(s, text)) },
    { weight: 1, arbitrary: fc.boolean().map((open) => (s: number) => lid(s, open)) },
    {
      weight: 1,
      arbitrary: fc
        .string({ minLength: 1, maxLength: 12 })
        .map((what) => (s: number) => deed(s, { deed: 'act', what, value: what })),
    },
    {
      weight: 1,
      arbitrary: fc
        .constantFrom(matt, { ...matt, waits: false })
        .map((schedule) => (s: number) => deed(s, { deed: 'plan', schedule })),
    },
    {
      weight: 1,
      arbitrary: fc
        .nat(5)
        .map((n) => (s: number) => deed(s, { deed: 'seen', alertId: `gas-kiln-${START_MS.toString(36)}-a${n}` })),
    },
    {
      weight: 1,
      arbitrary: fc.constant((s: number) => ({ kind: 'edge', atMs: atS(s), edge: 'restarted', awayS: 30 }) as const),
    },
  );

  it('core neither breaks nor says a figure that is none', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(seconds, inputs), { maxLength: 60 }), (moves) => {
        let s = 0;
        const fed = feed(
          begin(),
          moves.map(([stepS, make]) => {
            s += stepS;
            return make(Math.max(s, 0));
          }),
        );
        for (const event of fed.events) {
          expect(JSON.stringify(event)).not.toContain('Infinity');
          for (const [key, value] of Object.entries(event)) {
            if (typeof value === 'number') expect([key, Number.isFinite(value)]).toEqual([key, true]);
          }
        }
        const ids = stagedAlerts(fed).map((a) => `${a.id} ${a.phase}`);
        expect(new Set(ids).size).toBe(ids.length);
      }),
      { seed: 99, numRuns: 200 },
    );
  });
});
