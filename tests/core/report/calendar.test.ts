import { describe, expect, it } from 'vitest';
import { calendarByPlan } from '../../../daemon/core/report/calendar.ts';
import { kilnOf, matt, START_MS } from '../feeding.ts';

describe('the calendar of hands by the plan alone', () => {
  const entries = calendarByPlan(matt, kilnOf(), { atMs: START_MS, celsius: 20 });
  const minute = (ms: number | null): number | null => (ms === null ? null : Math.round((ms - START_MS) / 60_000));

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
