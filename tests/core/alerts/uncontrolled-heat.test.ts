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

  it('is told of a climb that runs away from a plan that it had kept, and not of one by hand', () => {
    const runaway = curve(0, 5100, (s) => (s < 4800 ? climbOfMatt(s) : climbOfMatt(4800) + (s - 4800) / 4));
    const [first] = told(feed(begin(matt, electric), runaway));
    expect(first?.message).toMatch(/^Running away from its plan at \d+\. Off at the wall/);
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(4_890_000);
    expect(told(feed(begin(matt, kilnOf()), runaway))).toEqual([]);
  });

  it('is none where an open lid was told and shut again: the couple comes up to the walls', () => {
    // Sixty degrees down within two minutes while it falls, and back again.
    const air = (s: number): number => (s < 120 ? -s / 2 : s < 300 ? -60 : Math.min(-60 + (s - 300) / 2, 0));
    const fed = feed(
      begin(matt, electric),
      fallenMatt((s) => 520 - s / 20 + (s > 60 ? air(s - 60) : 0)),
    );
    expect(stagedAlerts(fed).some((a) => a.alert === 'lid-open-hot')).toBe(true);
    expect(told(fed)).toEqual([]);
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
