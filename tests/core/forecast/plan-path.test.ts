import { describe, expect, it } from 'vitest';
import { pathReader, planPath } from '../../../daemon/core/forecast/plan-path.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { startPlan, trackPlan } from '../../../daemon/core/tracking/plan-track.ts';
import { atS } from '../feeding.ts';

const schedule: Schedule = {
  name: 'up, hold, fall',
  segments: [
    { kind: 'ramp', toC: 500, rateCPerH: 200 },
    { kind: 'hold', minutes: 20 },
    { kind: 'ramp', toC: 100, rateCPerH: 'let-fall' },
  ],
};
const ability = { climbPerS: 0.1, fallS: 7200 };

function trackTo(s: number, celsiusAt: (s: number) => number, plan = schedule) {
  let track = startPlan({ atMs: atS(0), celsius: celsiusAt(0) });
  for (let at = 10; at <= s; at += 10) track = trackPlan(plan, track, { atMs: atS(at), celsius: celsiusAt(at) }, 6);
  return track;
}

describe('the plan ahead as temperatures', () => {
  it('goes on as planned, or from where the kiln is now', () => {
    const late = (s: number): number => 20 + (s * 150) / 3600;
    const track = trackTo(3600, late);
    const now = { atMs: atS(3600), celsius: late(3600) };
    const planned = pathReader(planPath(schedule, track, now, ability, 'plan'), ability.fallS);
    const own = pathReader(planPath(schedule, track, now, ability, 'kiln'), ability.fallS);
    // The first ramp begins when the kiln has warmed by two degrees.
    expect(planned(atS(3600))).toBeGreaterThan(215);
    expect(own(atS(3600))).toBe(170);
    expect(own(atS(5400))).toBeCloseTo(270, 6);
  });

  it('waits for a kiln that is late', () => {
    const late = (s: number): number => 20 + (s * 150) / 3600;
    const track = trackTo(10_800, late);
    const now = { atMs: atS(10_800), celsius: late(10_800) };
    const planned = pathReader(planPath(schedule, track, now, ability, 'plan'), ability.fallS);
    expect(planned(atS(10_800))).toBe(500);
    expect(planned(atS(11_900))).toBe(500);
    expect(planned(atS(12_100))).toBeLessThan(500);
  });

  it('falls as the kiln has shown that it falls, to the plan’s end and beyond it', () => {
    const track = trackTo(600, () => 500, { ...schedule, segments: schedule.segments.slice(2) });
    const now = { atMs: atS(600), celsius: 500 };
    const plan = { ...schedule, segments: schedule.segments.slice(2) };
    const path = pathReader(planPath(plan, track, now, ability, 'plan'), ability.fallS);
    for (const s of [1800, 7200, 20_000, 40_000]) {
      const fallenC = 20 + 480 * Math.exp(-s / 7200);
      expect(Math.abs(path(atS(600 + s)) - fallenC)).toBeLessThan(8);
    }
  });
});
