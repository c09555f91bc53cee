import { describe, expect, it } from 'vitest';
import { begin, climbOfMatt, curve, type Fed, fallenMatt, feed, matt, stagedAlerts } from '../feeding.ts';

const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'hold-long' && a.phase !== 'over');

describe('a hold too long', () => {
  it('is told before five minutes are over, and happens after them', () => {
    const stays = told(feed(begin(), curve(0, 14_600, climbOfMatt)));
    expect(stays.map((a) => a.phase)).toEqual(['foreseen', 'happening']);
    expect(stays[0]?.message).toMatch(/^The hold ended \d minutes ago and it's still hot\. Gas off\.$/);
    expect(stays[0]?.leadS).toBeGreaterThan(45);
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

  /** `matt` fired so many seconds late, and let fall so many seconds after its top was reached. */
  const fired = (lateS: number, heldS: number) => {
    const topS = 12_750 + lateS;
    return curve(0, topS + heldS + 900, (s) =>
      s < topS + heldS ? climbOfMatt(Math.max(s - lateS, 0)) : 660 - (s - topS - heldS) / 14,
    );
  };

  it('is none where the hand comes two minutes late to its end: the kiln comes into the top and leaves it in as much', () => {
    expect(told(feed(begin(), fired(0, 1020)))).toEqual([]);
  });

  it('is told before it has been five minutes too long at its top, though it came to rest a little below and the clock began late', () => {
    const eased = (s: number): number => {
      if (s < 12_630) return climbOfMatt(s);
      return s < 12_870 ? 656 : Math.min(656 + (s - 12_870) / 30, 660);
    };
    const fed = feed(begin(), curve(0, 14_200, eased));
    const harmS = 12_570 + 180 + 900 + 300;
    expect((told(fed)[0]?.atMs ?? Number.POSITIVE_INFINITY) - fed.state.startedAtMs).toBeLessThan(harmS * 1000);
  });

  it('is counted from the top by whoever comes late to it, whatever a plan by the clock says', () => {
    const byClock = { ...matt, waits: false };
    expect(told(feed(begin(byClock), fired(1500, 960)))).toEqual([]);
    expect(told(feed(begin(byClock), fired(1500, 1300))).map((a) => a.phase)).toEqual(['foreseen', 'happening']);
  });
});
