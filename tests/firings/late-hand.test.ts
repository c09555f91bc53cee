import { describe, expect, it } from 'vitest';
import { lateHand } from '../support/scenarios.ts';
import { fired, minutesBetween, onTheDay } from './firing-words.ts';

describe('the late hand', () => {
  it('is told at 13:58, at 648, that it heads for 672 at 14:10: one alert, averted, never happening', () => {
    const { stages, alert, ran } = fired(lateHand({ comes: true }), { logsActs: true });
    expect(stages).toEqual(['overshoot foreseen', 'overshoot over']);
    const foreseen = alert('overshoot', 'foreseen');
    expect(Math.abs(minutesBetween(onTheDay(13, 58), foreseen?.atMs))).toBeLessThan(1);
    expect(Math.abs((foreseen?.forecast ?? 0) - 672)).toBeLessThan(2);
    expect(foreseen?.message).toMatch(
      /^Turn down now: 648, heading for 67[1-3] about 14:(09|10|11)\. Gas first, damper after\.$/,
    );
    expect(ran.state.sensors.shelf?.peakC).toBeCloseTo(664, 0);
    expect(ran.state.alertCounts).toEqual({ overshoot: 1 });
  });

  it('was called to turn down at 13:52, before any alarm', () => {
    const { ran } = fired(lateHand({ comes: true }), { logsActs: true });
    const call = ran.calls.find((c) => c.call.do === 'turn the gas down' && c.call.state === 'due');
    expect(Math.abs(minutesBetween(onTheDay(13, 52), call?.atMs))).toBeLessThan(2);
    expect(ran.calls.find((c) => c.call.do === 'turn the gas down' && c.call.state === 'done')).toBeDefined();
  });

  it('that never comes makes it happen, under the same id, nine minutes later', () => {
    const { stages, alert, truth } = fired(lateHand({ comes: false }), { logsActs: true });
    expect(stages.slice(0, 2)).toEqual(['overshoot foreseen', 'overshoot happening']);
    // One alert on this; that the gas is still on when the hold is over is another.
    expect(stages.filter((s) => s === 'overshoot foreseen')).toHaveLength(1);
    const [foreseen, happening] = [alert('overshoot', 'foreseen'), alert('overshoot', 'happening')];
    expect(happening?.id).toBe(foreseen?.id);
    // Foreseen well before the glass itself is too hot.
    expect(minutesBetween(foreseen?.atMs, truth.faults[0]?.harmMs ?? undefined)).toBeGreaterThan(7);
    // The harm comes when it was said to.
    expect(Math.abs(minutesBetween(foreseen?.atMs, happening?.atMs) - (foreseen?.leadS ?? 0) / 60)).toBeLessThan(1);
  });

  it('that never writes down what it does is told as it comes too near, once, and that before it is too hot', () => {
    const { stages, alert, truth } = fired(lateHand({ comes: false }));
    expect(stages.slice(0, 2)).toEqual(['overshoot foreseen', 'overshoot happening']);
    expect(stages.filter((s) => s === 'overshoot foreseen')).toHaveLength(1);
    expect(alert('overshoot', 'foreseen')?.atMs).toBeLessThan(truth.faults[0]?.harmMs ?? 0);
  });

  it.each([1, 2, 5, 8, 13])(
    'is told within a minute and a half of 648 °C, and once, in other firings too (seed %i)',
    (seed) => {
      const helped = fired(lateHand({ comes: true, seed }), { logsActs: true });
      expect(helped.stages).toEqual(['overshoot foreseen', 'overshoot over']);
      const at648Ms = helped.truth.rows.find((r) => (r.celsius ?? 0) >= 648)?.atMs;
      expect(Math.abs(minutesBetween(at648Ms, helped.alert('overshoot')?.atMs))).toBeLessThan(1.5);
      const alone = fired(lateHand({ comes: false, seed }), { logsActs: true });
      expect(alone.stages.slice(0, 2)).toEqual(['overshoot foreseen', 'overshoot happening']);
      // The same words for the same firing, until the hand is there.
      expect(alone.alert('overshoot')?.message).toBe(helped.alert('overshoot')?.message);
    },
  );
});
