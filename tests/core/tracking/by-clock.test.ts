import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { minutesBehindClock, plannedByClockC } from '../../../daemon/core/tracking/by-clock.ts';
import { startPlan } from '../../../daemon/core/tracking/plan-track.ts';
import { atS, START_MS } from '../feeding.ts';

const begun = startPlan({ atMs: START_MS, celsius: 20 });

describe('a plan kept to the minute since the firing began', () => {
  it('wants what its clock says, whatever the kiln does, and nothing once it is over', () => {
    const shelf: Schedule = {
      name: 'clock',
      segments: [
        { kind: 'ramp', toC: 220, rateCPerH: 200 },
        { kind: 'hold', minutes: 30 },
        { kind: 'ramp', toC: 120, rateCPerH: 100 },
      ],
    };
    const at = (min: number) => plannedByClockC(shelf, begun, atS(min * 60));
    expect(at(30)).toBeCloseTo(120, 6);
    expect(at(75)).toBeCloseTo(220, 6);
    expect(at(120)).toBeCloseTo(170, 6);
    expect(at(151)).toBe(Number.NEGATIVE_INFINITY);
  });

  it('was as hot as this so many minutes ago, on its way up, holds and all', () => {
    const soaked: Schedule = {
      name: 'Soaked',
      segments: [
        { kind: 'ramp', toC: 320, rateCPerH: 300 },
        { kind: 'hold', minutes: 20 },
        { kind: 'ramp', toC: 620, rateCPerH: 300 },
      ],
    };
    // 320 °C after 60 minutes, 420 °C after 100.
    expect(minutesBehindClock(soaked, begun, atS(90 * 60), 270, 6)).toBeCloseTo(40);
    expect(minutesBehindClock(soaked, begun, atS(130 * 60), 420, 6)).toBeCloseTo(30);
    expect(minutesBehindClock(soaked, begun, atS(90 * 60), 420, 6)).toBe(0);
    // A couple that shows a little less than the controller's has held with it.
    expect(minutesBehindClock(soaked, begun, atS(82 * 60), 317, 6)).toBeCloseTo(2);
  });

  it('cannot be told past a segment without a planned length', () => {
    const flat: Schedule = { name: 'flat', segments: [{ kind: 'ramp', toC: 500, rateCPerH: 'flat-out' }] };
    expect(plannedByClockC(flat, begun, atS(600))).toBeNull();
  });
});
