import { describe, expect, it } from 'vitest';
import { doorOpened } from '../support/scenarios.ts';
import { fired } from './firing-words.ts';

describe('kiln 4, cooling, opened at 310 °C for 40 s', () => {
  it.each([41, 1, 2, 3])('is told by its switch within one sample and five seconds (seed %i)', (seed) => {
    const scenario = doorOpened({ lidSwitch: true, seed });
    const { stages, alert, truth } = fired(scenario);
    const openedMs = truth.faults.find((f) => f.class === 'lid-open-hot')?.onsetMs ?? Number.NaN;
    const told = alert('lid-open-hot');
    expect((told?.atMs ?? Number.NaN) - openedMs).toBeGreaterThanOrEqual(0);
    expect((told?.atMs ?? Number.NaN) - openedMs).toBeLessThanOrEqual((scenario.instrument.sampleS + 5) * 1000);
    expect(told?.message).toMatch(/^The door is open at 3[01]\d\. Close it gently.* not before 15:[12]\d\.$/);
    expect(stages.filter((s) => s.startsWith('lid'))).toEqual(['lid-open-hot happening', 'lid-open-hot over']);
    expect(stages.filter((s) => !s.startsWith('lid') && !s.startsWith('overshoot'))).toEqual([]);
  });

  it.each([41, 1, 2, 3])(
    'is told without a switch within a minute, and stays on the page once it is shut (seed %i)',
    (seed) => {
      const { stages, alert, truth, ran } = fired(doorOpened({ lidSwitch: false, seed }));
      const openedMs = truth.faults.find((f) => f.class === 'lid-open-hot')?.onsetMs ?? Number.NaN;
      const told = alert('lid-open-hot', 'happening');
      expect((told?.atMs ?? Number.NaN) - openedMs).toBeGreaterThan(0);
      expect((told?.atMs ?? Number.NaN) - openedMs).toBeLessThanOrEqual(60_000);
      expect(told?.message).toMatch(/seems open\. Close it gently\.$/);
      const over = alert('lid-open-hot', 'over');
      expect(over).toMatchObject({ life: 'over-unseen', id: told?.id });
      expect(over?.message).toMatch(/^It was open while hot/);
      expect(stages.filter((s) => s.startsWith('lid'))).toHaveLength(2);
      expect(ran.state.alertCounts['lid-open-hot']).toBe(1);
    },
  );

  it('is not taken for one where nobody opens it', () => {
    const shut = { ...doorOpened({ lidSwitch: false }), happenings: [] };
    expect(fired(shut).stages.filter((s) => s.startsWith('lid'))).toEqual([]);
  });
});
