import { describe, expect, it } from 'vitest';
import type { FiringEvent, SampleEvent } from '../../../daemon/core/events.ts';
import type { KilnSetup, SensorSetup } from '../../../daemon/core/plan/kiln.ts';
import { beginFiring } from '../../../daemon/core/state.ts';
import { passTime, step } from '../../../daemon/core/step.ts';
import { inputEntry, readEvents } from '../../../daemon/runtime/record-lines.ts';

const BEGIN_MS = Date.UTC(2026, 0, 5, 9);
const kilnOf = (sensor: Partial<SensorSetup>, decodings: KilnSetup['decodings']): KilnSetup => ({
  id: 'k',
  name: 'Kiln',
  heat: 'electric',
  closure: 'lid',
  sensors: [{ name: 'shelf', letter: 'K', ...sensor }],
  decodings,
  utcOffsetMinutes: 0,
});
const millivolts = { unit: 'mV', coldEnd: { kind: 'measured', by: 'terminals' } } as const;
const samples = (events: readonly FiringEvent[]): SampleEvent[] => events.filter((e) => e.type === 'reading');

describe('an instrument in a firing', () => {
  it('that tells millivolts and its terminals in one line is read in that line’s own terms', () => {
    const kiln = kilnOf(millivolts, { line: { kind: 'columns', columns: ['shelf', 'terminals'] } });
    const heard = step(beginFiring(kiln, null, BEGIN_MS), {
      kind: 'raw',
      atMs: BEGIN_MS,
      input: 'line',
      text: '22.0;27',
    });
    expect(samples(heard.events)).toMatchObject([{ sensor: 'shelf', celsius: 557.153, quality: 'good' }]);
    expect(heard.state.rejectedCount).toBe(0);
    expect(heard.state.readingCount).toBe(1);
  });

  it('whose terminals come by a topic of their own waits for them, and forgets them when they stay away', () => {
    const channels = { 'k/mv': 'shelf', 'k/cold': 'terminals' };
    const kiln = kilnOf(millivolts, { board: { kind: 'channels', channels } });
    let state = beginFiring(kiln, null, BEGIN_MS);
    const hear = (atS: number, channel: string, text: string, retained = false) => {
      const atMs = BEGIN_MS + atS * 1000;
      const heard = step(passTime(state, atMs).state, { kind: 'raw', atMs, input: 'board', channel, text, retained });
      state = heard.state;
      return samples(heard.events)[0];
    };
    expect(hear(0, 'k/mv', '22.0')).toMatchObject({ quality: 'bad', reason: expect.stringContaining('has not come') });
    expect(hear(1, 'k/cold', '19', true)).toBeUndefined();
    expect(hear(2, 'k/mv', '22.0')).toMatchObject({ quality: 'bad' });
    expect(hear(3, 'k/cold', '27')).toBeUndefined();
    expect(hear(4, 'k/mv', '22.0')).toMatchObject({ quality: 'good', celsius: 557.153 });
    expect(hear(304, 'k/mv', '22.0')).toMatchObject({ quality: 'bad', reason: expect.stringContaining('minutes ago') });
  });

  it('that tells millivolts in a register is read as a voltage', () => {
    const point = { gives: { kind: 'sensor', sensor: 'shelf' }, channel: 'block', place: 0, type: 'int16' } as const;
    const how = { order: 'ABCD', scale: 0.001, offset: 0, degrees: 'C', noValue: [] } as const;
    const setup = { unit: 'mV', coldEnd: { kind: 'fixed', atC: 27, errorC: 1 } } as const;
    const kiln = kilnOf(setup, { bus: { kind: 'registers', points: [{ ...point, ...how }] } });
    const raw = { kind: 'raw', atMs: BEGIN_MS, input: 'bus', channel: 'block', text: '55f0' } as const;
    const heard = step(beginFiring(kiln, null, BEGIN_MS), raw);
    expect(samples(heard.events)).toMatchObject([{ celsius: 557.153, quality: 'good' }]);
  });

  it('is written down with what it showed, what was made of it, and how sure that is', () => {
    const calibration = { points: [{ atC: 600, asFoundC: 603, uncertaintyC: 1 }], dueAtMs: BEGIN_MS };
    const kiln = kilnOf({ calibration, unit: 'F' }, { line: { kind: 'columns', columns: ['shelf'] } });
    const raw = { kind: 'raw', atMs: BEGIN_MS, input: 'line', text: '1117.4' } as const;
    const heard = step(beginFiring(kiln, null, BEGIN_MS), raw);
    const [sample] = samples(heard.events);
    expect(sample).toMatchObject({ celsius: 600, shownC: 603, remark: expect.stringContaining('ran out today') });
    const line = inputEntry(raw, heard.events);
    expect(line).toMatchObject({ raw: '1117.4', v: [{ s: 'shelf', mC: 600_000, shown: 603_000 }] });
    expect(readEvents({ ...line, n: 2, prev: '' } as never)).toEqual([sample]);
  });

  it('whose terminals are said to be hotter than terminals get is told, and shows no temperature meanwhile', () => {
    const kiln = kilnOf(millivolts, { line: { kind: 'columns', columns: ['shelf', 'terminals'] } });
    let state = beginFiring(kiln, null, BEGIN_MS);
    const events: FiringEvent[] = [];
    for (let s = 0; s < 300; s += 5) {
      const atMs = BEGIN_MS + s * 1000;
      const passed = passTime(state, atMs);
      // 85 °C is what some digital thermometers say until they have measured.
      const text = `22.0;${s < 120 ? 27 : 85}`;
      const heard = step(passed.state, { kind: 'raw', atMs, input: 'line', text });
      state = heard.state;
      events.push(...passed.events, ...heard.events);
    }
    const good = samples(events).filter((e) => e.quality === 'good');
    expect(good.every((e) => e.celsius === 557.153)).toBe(true);
    const told = events.filter((e) => e.type === 'alert' && e.alert === 'sensor-fault');
    expect(told[0]).toMatchObject({ cause: 'cold-junction', sensor: 'shelf', phase: 'happening' });
  });

  it('that alone shows a cold kiln as warm is told before the firing begins, and three that agree are well', () => {
    const names = ['shelf', 'arch', 'back'];
    const channels = Object.fromEntries(names.map((n) => [n, n]));
    const kiln: KilnSetup = {
      ...kilnOf({}, { board: { kind: 'channels', channels } }),
      sensors: names.map((name) => ({ name, letter: 'K' })),
    };
    const causesWith = (shelfC: number): unknown[] => {
      let state = beginFiring(kiln, null, BEGIN_MS);
      const told: unknown[] = [];
      for (let s = 0; s < 600; s += 5) {
        for (const channel of names) {
          const atMs = BEGIN_MS + s * 1000;
          const text = String((channel === 'shelf' ? shelfC : 19) + ([0, 0.2, -0.1][(s / 5) % 3] ?? 0));
          const heard = step(passTime(state, atMs).state, { kind: 'raw', atMs, input: 'board', channel, text });
          state = heard.state;
          for (const e of heard.events) if (e.type === 'alert') told.push(e.cause ?? e.alert);
        }
      }
      return told;
    };
    expect(causesWith(33)[0]).toBe('cold-junction');
    expect(causesWith(21)).toEqual([]);
  });
});
