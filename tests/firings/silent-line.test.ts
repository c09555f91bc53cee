import { describe, expect, it } from 'vitest';
import { silentLine } from '../support/scenarios.ts';
import { fired } from './firing-words.ts';

describe('a line that goes silent at 600 °C for four minutes', () => {
  it.each([51, 1, 2, 3])(
    'is told after three missed readings, once, and over when it speaks again (seed %i)',
    (seed) => {
      const { stages, alert, truth, ran } = fired(silentLine({ seed }));
      const { onsetMs = 0, endsMs = 0 } = truth.faults[0] ?? {};
      expect(stages.filter((s) => s.startsWith('silence'))).toEqual(['silence happening', 'silence over']);
      // A reading every 10 s; the last one came as it went silent.
      expect((alert('silence')?.atMs ?? 0) - onsetMs).toBeGreaterThan(30_000);
      expect((alert('silence')?.atMs ?? 0) - onsetMs).toBeLessThanOrEqual(35_000);
      expect((alert('silence', 'over')?.atMs ?? 0) - (endsMs ?? 0)).toBeLessThanOrEqual(15_000);
      expect(ran.events.filter((e) => e.type === 'gap')).toHaveLength(1);
      // Nothing was made up of the hole; and its hand, who answers no call, turns down in time.
      expect(stages.filter((s) => /^(overshoot|heat-lost|lid|stalled|cooling|heating)/.test(s))).toEqual([]);
    },
  );

  it('for eleven seconds is nothing to speak of', () => {
    expect(fired(silentLine({ forS: 11 })).stages.filter((s) => s.startsWith('silence'))).toEqual([]);
  });
});
