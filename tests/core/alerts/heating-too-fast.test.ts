import { describe, expect, it } from 'vitest';
import { begin, climbOfMatt, curve, type Fed, feed, stagedAlerts } from '../feeding.ts';

const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'heating-too-fast' && a.phase !== 'over');

describe('a climb too fast', () => {
  const fast = curve(0, 3600, (s) => (s < 2700 ? 20 + s / 15 : 200 + (s - 2700) / 6));

  it('is told while the medium smokes, before five minutes of it have passed', () => {
    const [first] = told(feed(begin(), fast));
    expect(first?.phase).toBe('foreseen');
    expect((first?.atMs ?? 0) - begin().state.startedAtMs).toBeLessThan(3_000_000);
    expect(first?.message).toMatch(/the oil will boil\. Pilot only, vent open\.$/);
  });

  it('is none at the pace of the plan', () => {
    expect(told(feed(begin(), curve(0, 9000, climbOfMatt)))).toEqual([]);
  });
});
