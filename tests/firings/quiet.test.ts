import { describe, expect, it } from 'vitest';
import { quietElectric, quietGas } from '../support/scenarios.ts';
import { fired } from './firing-words.ts';

describe('a quiet electric firing', () => {
  it.each([61, 1, 2, 3, 4, 5])('has no alert at all (seed %i)', (seed) => {
    const { stages, ran } = fired(quietElectric(seed));
    expect(stages).toEqual([]);
    expect(ran.state.alertCounts).toEqual({});
  });

  it('has its hold proven in band, and its plan followed to the end', () => {
    const { ran } = fired(quietElectric());
    const holds = ran.state.track?.holds;
    expect(holds?.[2]?.inBandS).toBeGreaterThanOrEqual(595);
    expect(holds?.[4]?.inBandS).toBeGreaterThanOrEqual(895);
    expect(ran.state.track?.segment).toBeGreaterThanOrEqual(6);
  });

  it('calls the hand to the lid, to the end of each hold and to the pieces, each time before it is needed', () => {
    const { ran } = fired(quietElectric());
    const due = ran.calls.filter((c) => c.call.state === 'due').map((c) => c.call.do);
    expect(due).toEqual(['close the lid', 'check that it lets go', 'check that it lets go', 'crack the lid', 'unload']);
  });
});

describe('a quiet gas firing', () => {
  /**
   * Its painter turns down six degrees under the top, at 654 and two degrees a minute: later than the walk of the late
   * hand lets anybody be without a word (648). So one word to the valve is right, averted, and there is no other, where
   * calls are answered; where none is, nobody knows of the hand but by the kiln, and there is none.
   */
  it.each([11, 1, 2, 3, 4, 5])(
    'has but one word to the valve, averted, or none, and it never gets too hot (seed %i)',
    (seed) => {
      const { stages, alert, ran } = fired(quietGas(seed), { logsActs: true });
      expect(stages).toEqual(['overshoot foreseen', 'overshoot over']);
      expect(ran.state.alertCounts).toEqual({ overshoot: 1 });
      expect(alert('overshoot', 'over')?.message).toMatch(/^Averted/);
      expect(fired(quietGas(seed)).stages).toEqual([]);
    },
  );

  it('calls every act of the hand before it is due, and answers those that were logged', () => {
    const { ran } = fired(quietGas(), { logsActs: true });
    const due = ran.calls.filter((c) => c.call.state === 'due');
    expect(due.map((c) => c.call.do)).toEqual([
      'close the door',
      'turn the gas down',
      'gas off, damper after',
      'crack the door',
      'unload',
    ]);
    for (const { atMs, call } of due) expect((call.dueAtMs ?? 0) - atMs).toBeGreaterThan(100_000);
    const done = ran.calls.filter((c) => c.call.state === 'done').map((c) => c.call.do);
    expect(done).toContain('turn the gas down');
  });

  it('finds its hold in band and its peak within the tolerance', () => {
    const { ran } = fired(quietGas());
    expect(ran.state.sensors.shelf?.peakC).toBeLessThan(666);
    expect(ran.state.track?.holds[3]?.inBandS).toBeGreaterThan(14 * 60);
  });
});
