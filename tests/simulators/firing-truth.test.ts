import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { truthKeeper } from '../../simulators/firing-truth.ts';

const plan: Schedule = {
  name: '660',
  segments: [
    { kind: 'ramp', toC: 660, rateCPerH: 120 },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
  ],
};

describe('the truth of a firing', () => {
  it('tells a fault that never harmed with its onset and its end', () => {
    const truth = truthKeeper(plan, 6);
    truth.watch(0, 600);
    const fault = truth.begins('overshoot', 1000);
    truth.watch(2000, 664);
    truth.ends(fault, 3000);
    truth.watch(4000, 660);
    expect(truth.faults()).toEqual([{ class: 'overshoot', onsetMs: 1000, harmMs: null, endsMs: 3000 }]);
  });

  it('dates the harm from the second in which the glass leaves its tolerance, also when the fault has just been mended', () => {
    const truth = truthKeeper(plan, 6);
    const fault = truth.begins('overshoot', 1000);
    truth.ends(fault, 2000);
    truth.watch(600_000, 667);
    truth.watch(601_000, 668);
    expect(truth.faults()[0]).toMatchObject({ harmMs: 600_000, endsMs: 2000 });
  });

  it('does not blame a fault for what happens long after it was mended', () => {
    const truth = truthKeeper(plan, 6);
    truth.ends(truth.begins('overshoot', 1000), 2000);
    truth.watch(2000 + 21 * 60_000, 680);
    expect(truth.faults()[0]?.harmMs).toBeNull();
  });

  it('blames each kind only for what it does: no lost record makes glass too hot', () => {
    const truth = truthKeeper(plan, 6);
    truth.begins('record-trouble', 0);
    truth.begins('uncontrolled-heat', 0);
    truth.watch(1000, 700);
    expect(truth.faults().map((f) => f.harmMs)).toEqual([null, 1000]);
  });

  it('keeps apart two faults of the same kind', () => {
    const truth = truthKeeper(plan, 6);
    const first = truth.begins('silence', 1000);
    const second = truth.begins('silence', 2000);
    truth.ends(second, 3000);
    truth.ends(second, 9000);
    truth.ends(first, 5000);
    expect(truth.faults().map((f) => f.endsMs)).toEqual([5000, 3000]);
  });
});
