import { describe, expect, it } from 'vitest';
import { begin, climbOfMatt, curve, type Fed, fallenMatt, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'hold-short' && a.phase !== 'over');

describe('a hold too short', () => {
  it('is told before the kiln leaves its band, with the minutes that are done', () => {
    const off = curve(0, 13_400, (s) => (s < 13_000 ? climbOfMatt(s) : 660 - (s - 13_000) / 8));
    const short = told(feed(begin(), off));
    expect(short[0]?.phase).toBe('foreseen');
    expect(short[0]?.message).toMatch(/ of 15 minutes done\. Is the flame as you left it\?/);
    expect(told(feed(begin(matt, electric), off))[0]?.message).toMatch(/Is the controller still in its hold\?/);
  });

  it('is none of a hold that is kept', () => {
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
