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
});
