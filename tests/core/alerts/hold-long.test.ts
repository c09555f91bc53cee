import { describe, expect, it } from 'vitest';
import { begin, climbOfMatt, curve, type Fed, fallenMatt, feed, stagedAlerts } from '../feeding.ts';

const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'hold-long' && a.phase !== 'over');

describe('a hold too long', () => {
  it('is told before five minutes are over, and happens after them', () => {
    const stays = told(feed(begin(), curve(0, 14_600, climbOfMatt)));
    expect(stays.map((a) => a.phase)).toEqual(['foreseen', 'happening']);
    expect(stays[0]?.message).toMatch(/^The hold ended \d minutes ago and it's still hot\. Gas off\.$/);
    expect(stays[0]?.leadS).toBeGreaterThan(60);
  });

  it('is none where the gas goes off with the hold', () => {
    expect(
      told(
        feed(
          begin(),
          fallenMatt((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });
});
