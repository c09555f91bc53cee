import { describe, expect, it } from 'vitest';
import { sinceToldS, TOO_MUCH_HEAT } from '../../../daemon/core/alerts/lately.ts';
import type { AlertEvent } from '../../../daemon/core/events.ts';

const nowMs = 10_000_000;

function told(alert: AlertEvent['alert'], phase: AlertEvent['phase']): AlertEvent {
  return {
    type: 'alert',
    id: 'a1',
    alert,
    phase,
    priority: 'now',
    life: phase === 'over' ? 'over-unseen' : 'calling',
    atMs: nowMs - 60_000,
    sinceMs: nowMs - 60_000,
    message: '',
    because: '',
  };
}

describe('what was told a little earlier', () => {
  it('is never, where nothing was', () => {
    expect(sinceToldS({ standing: [], overAtMs: {}, nowMs }, TOO_MUCH_HEAT)).toBe(Number.POSITIVE_INFINITY);
  });

  it('is now, while one of the kinds stands', () => {
    expect(sinceToldS({ standing: [told('overshoot', 'foreseen')], overAtMs: {}, nowMs }, TOO_MUCH_HEAT)).toBe(0);
    expect(sinceToldS({ standing: [told('silence', 'happening')], overAtMs: {}, nowMs }, TOO_MUCH_HEAT)).toBe(
      Number.POSITIVE_INFINITY,
    );
  });

  it('counts from the last of them that was over', () => {
    const overAtMs = { overshoot: nowMs - 500_000, 'hold-long': nowMs - 90_000, silence: nowMs - 1000 };
    expect(sinceToldS({ standing: [told('hold-long', 'over')], overAtMs, nowMs }, TOO_MUCH_HEAT)).toBe(90);
  });
});
