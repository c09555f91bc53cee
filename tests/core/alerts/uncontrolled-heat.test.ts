import { describe, expect, it } from 'vitest';
import { begin, curve, type Fed, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : Math.min(450 + (s - 6450) / 30, 660));
const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'uncontrolled-heat' && a.phase !== 'over');
/** Left to fall after its hold, and from 520 °C on as `then` says. */
const fallen = (then: (afterS: number) => number) =>
  curve(0, 16_200, (s) => {
    if (s < 13_700) return climb(s);
    const celsius = 660 - (s - 13_700) / 14;
    return celsius > 520 ? celsius : then(s - 15_660);
  });

describe('heat that nobody wants', () => {
  it('is told while the plan lets it fall and it climbs', () => {
    const [first] = told(
      feed(
        begin(matt, electric),
        fallen((s) => 520 + s / 9),
      ),
    );
    expect(first).toMatchObject({ phase: 'happening', priority: 'now' });
    expect(first?.message).toMatch(/Off at the wall/);
  });

  it('is told in a hold within a minute of a relay that sticks', () => {
    const stuck = curve(0, 13_200, (s) => (s < 13_000 ? climb(s) : 660 + (s - 13_000) / 7));
    const [first] = told(feed(begin(matt, electric), stuck));
    expect((first?.atMs ?? Number.POSITIVE_INFINITY) - begin().state.startedAtMs).toBeLessThan(13_060_000);
  });

  it('is none of a kiln that falls by itself', () => {
    expect(
      told(
        feed(
          begin(matt, electric),
          fallen((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });
});
