import { describe, expect, it } from 'vitest';
import type { Saying } from '../../../daemon/core/alerts/rule.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { alertStatistics } from '../../../daemon/core/report/alert-statistics.ts';
import { found, Story } from './story.ts';

const LIMIT_C = 666;

/** As a rule should: found above the limit, over only below the deadband of four sigma. */
function judged(celsius: number, noiseC: number): Saying {
  if (celsius > LIMIT_C) return found('happening');
  return celsius > LIMIT_C - 4 * noiseC ? 'unsure' : undefined;
}

describe('a kiln that hangs at the limit for two hours (requirement A4, seeds 41 to 45)', () => {
  const cases = [0.5, 1, 2, 3, 5].map((noiseC, i) => ({ noiseC, seed: 41 + i }));

  it.each(cases)('calls once at most with $noiseC °C of noise (seed $seed)', ({ noiseC, seed }) => {
    const random = seededRandom(seed);
    for (const [onDelayS, offDelayS] of [
      [0, 3],
      [2, 15],
      [10, 45],
    ] as const) {
      const story = new Story({ onDelayS, offDelayS });
      for (let s = 0; s < 7200; s++) story.finds(judged(LIMIT_C + noiseC * random.gaussian(), noiseC), 1);
      expect(alertStatistics(story.said, 0, 7_200_000)).toMatchObject({ chattering: [] });
      expect(story.calls().length).toBeLessThanOrEqual(1);
    }
  });

  it('and is told to be over once it has plainly left it', () => {
    const story = new Story().finds(judged(670, 1), 60).finds(judged(664, 1), 600);
    expect(story.of('overshoot')).toMatchObject({ phase: 'happening' });
    story.finds(judged(661, 1), 30);
    expect(story.of('overshoot')).toMatchObject({ phase: 'over' });
  });
});
