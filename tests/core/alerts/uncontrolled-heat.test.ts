import { describe, expect, it } from 'vitest';
import { begin, climbOfMatt, curve, type Fed, fallenMatt, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'uncontrolled-heat' && a.phase !== 'over');

describe('heat that nobody wants', () => {
  it('is told while the plan lets it fall and it climbs', () => {
    const [first] = told(
      feed(
        begin(matt, electric),
        fallenMatt((s) => 520 + s / 9),
      ),
    );
    expect(first).toMatchObject({ phase: 'happening', priority: 'now' });
    expect(first?.message).toMatch(/Off at the wall/);
  });

  it('is told in a hold within a minute of a relay that sticks', () => {
    const stuck = curve(0, 13_200, (s) => (s < 13_000 ? climbOfMatt(s) : 660 + (s - 13_000) / 7));
    const [first] = told(feed(begin(matt, electric), stuck));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(13_060_000);
  });

  it('is none of a kiln that falls by itself', () => {
    expect(
      told(
        feed(
          begin(matt, electric),
          fallenMatt((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });
});
