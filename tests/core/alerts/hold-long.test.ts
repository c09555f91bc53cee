import { describe, expect, it } from 'vitest';
import { begin, curve, type Fed, feed, stagedAlerts } from '../feeding.ts';

const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : Math.min(450 + (s - 6450) / 30, 660));
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'hold-long' && a.phase !== 'over');
/** Left to fall after its hold, and from 520 °C on as `then` says. */
const fallen = (then: (afterS: number) => number) =>
  curve(0, 16_200, (s) => {
    if (s < 13_700) return climb(s);
    const celsius = 660 - (s - 13_700) / 14;
    return celsius > 520 ? celsius : then(s - 15_660);
  });

describe('a hold too long', () => {
  it('is told before five minutes are over, and happens after them', () => {
    const stays = told(feed(begin(), curve(0, 14_600, climb)));
    expect(stays.map((a) => a.phase)).toEqual(['foreseen', 'happening']);
    expect(stays[0]?.message).toMatch(/^The hold ended \d minutes ago and it's still hot\. Gas off\.$/);
    expect(stays[0]?.leadS).toBeGreaterThan(60);
  });

  it('is none where the gas goes off with the hold', () => {
    expect(
      told(
        feed(
          begin(),
          fallen((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });
});
