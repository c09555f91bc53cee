import { describe, expect, it } from 'vitest';
import { evenPlan } from '../../../daemon/core/plan/even-plan.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';

const schedule: Schedule = {
  name: 'Test plate',
  waits: false,
  segments: [
    { acts: [{ when: 'end', do: 'close the lid' }], opening: 'propped', toC: 450, rateCPerH: 90, kind: 'ramp' },
    { kind: 'ramp', toC: 590, rateCPerH: 'flat-out' },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' },
  ],
};

describe('a plan as core keeps it', () => {
  it('says what it said', () => {
    expect(evenPlan(schedule)).toEqual(schedule);
    expect(JSON.parse(JSON.stringify(evenPlan(schedule)))).toEqual(schedule);
  });

  it('has the same fields in the same order in each segment, ramp or hold', () => {
    const orders = evenPlan(schedule).segments.map((segment) => Object.keys(segment).join(' '));
    expect(new Set(orders).size).toBe(1);
  });
});
