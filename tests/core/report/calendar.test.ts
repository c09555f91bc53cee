import { describe, expect, it } from 'vitest';
import { logsOf, PARAMETERS } from '../../../daemon/core/kiln-model/kiln-parameters.ts';
import { calendarByKiln, calendarByPlan } from '../../../daemon/core/report/calendar.ts';
import { kilnOf, matt, START_MS } from '../feeding.ts';
import { madeKiln } from '../kiln-model/made-firing.ts';

describe('the calendar of hands by the plan alone', () => {
  const entries = calendarByPlan(matt, kilnOf(), { atMs: START_MS, celsius: 20 });
  const minute = (ms: number | null): number | null => (ms === null ? null : Math.round((ms - START_MS) / 60_000));

  it('by a kiln’s own ways also has the times of its fall, and when to turn down before the top', () => {
    const known = {
      model: madeKiln,
      logs: logsOf(madeKiln),
      covariance: PARAMETERS.map((_, i) => PARAMETERS.map((__, j) => (i === j ? 1e-4 : 0))),
      errorC: 1,
    };
    const own = calendarByKiln(matt, kilnOf(), { atMs: START_MS, celsius: 20, roomC: 20 }, known);
    const unload = own.find((e) => e.do === 'unload');
    expect(unload?.fromMs).toBeGreaterThan(START_MS);
    const down = own.find((e) => /turn down/.test(e.do));
    const top = own.find((e) => /hold 660/.test(e.do) && e !== down);
    expect(down?.fromMs).toBeLessThan(top?.fromMs ?? 0);
    expect(down?.callAtMs).toBeLessThan(down?.fromMs ?? 0);
    expect([...own].sort((a, b) => (a.fromMs ?? 0) - (b.fromMs ?? 0))).toEqual(own);
  });

  it('gives each hand its minute, and when it will be called', () => {
    // 430 °C at 240 an hour, 210 at 120, fifteen minutes of hold.
    expect(entries.map((e) => [e.do, minute(e.fromMs), minute(e.callAtMs)])).toEqual([
      ['turn the valve for 120 °C/h', 108, 103],
      ['turn down to hold 660', 210, 205],
      ['stand at the valve', 225, 223],
      ['hold over: gas off first, damper after', 228, 227],
      ['crack the door', null, null],
      ['unload', null, null],
    ]);
  });
});
