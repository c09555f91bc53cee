import { describe, expect, it } from 'vitest';
import { climbLimit, fallLimit, limitAhead } from '../../../daemon/core/alerts/rate-limits.ts';
import type { RateLimit, Schedule } from '../../../daemon/core/plan/schedule.ts';
import { startPlan } from '../../../daemon/core/tracking/plan-track.ts';
import { atS } from '../feeding.ts';

const UP: RateLimit = { fromC: 420, toC: 600, maxCPerH: 400, why: 'the shelf must keep up' };
const DOWN: RateLimit = { fromC: 560, toC: 430, maxCPerH: 150, why: 'annealing range' };

const scheduleOf = (...limits: readonly RateLimit[]): Schedule => ({
  name: 'Up and down',
  segments: [
    { kind: 'ramp', toC: 660, rateCPerH: 120 },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
  ],
  limits,
});

const climbAt = (schedule: Schedule, celsius: number) => {
  const track = { ...startPlan({ atMs: atS(0), celsius: 20 }), hasMoved: true };
  return climbLimit({ schedule, track, toleranceC: 6, nowMs: atS(3600) }, celsius, celsius)?.maxCPerH;
};
const fallAt = (schedule: Schedule, celsius: number) =>
  fallLimit(schedule, schedule.segments[1] ?? null, celsius)?.maxCPerH;

describe('a limit of the schedule', () => {
  it('counts on the way down alone where it is written downwards', () => {
    expect(climbAt(scheduleOf(DOWN), 500)).toBe(climbAt(scheduleOf(), 500));
    expect(fallAt(scheduleOf(DOWN), 500)).toBe(150);
    expect(fallAt(scheduleOf(DOWN), 600)).toBeUndefined();
    expect(limitAhead(scheduleOf(DOWN), 560)?.maxCPerH).toBe(150);
  });

  it('of the way up counts on the way down as well only where none is written for that', () => {
    expect(climbAt(scheduleOf(UP, DOWN), 500)).toBe(400);
    expect(fallAt(scheduleOf(UP), 500)).toBe(400);
    expect(fallAt(scheduleOf(UP, DOWN), 500)).toBe(150);
    expect(fallAt(scheduleOf(UP, DOWN), 590)).toBeUndefined();
  });

  it('for the medium never counts on the way down', () => {
    expect(fallAt(scheduleOf({ fromC: 100, toC: 400, maxCPerH: 300, why: 'the oil boils' }), 300)).toBeUndefined();
  });
});
