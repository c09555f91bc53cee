import { describe, expect, it } from 'vitest';
import { begin, climbOfMatt, curve, type Fed, fallenMatt, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'heat-lost' && a.phase !== 'over');

describe('heat that is gone', () => {
  const out = curve(0, 8700, (s) => (s < 8250 ? climbOfMatt(s) : climbOfMatt(8250) - (s - 8250) / 9));

  it('is told within a minute, with the gas first at a gas kiln', () => {
    const [first] = told(feed(begin(), out));
    expect(first).toMatchObject({ phase: 'happening', priority: 'now' });
    expect((first?.atMs ?? 0) - (begin().state.startedAtMs + 8_250_000)).toBeLessThan(60_000);
    expect(first?.message).toMatch(/Gas off at the bottle, damper open, no flame or sparks/);
  });

  it('is power, fuse or element at an electric one', () => {
    expect(told(feed(begin(matt, electric), out))[0]?.message).toMatch(/^No heat at 5\d\d: power, fuse or element/);
  });

  it('is none in a climb as planned, a hold and a fall', () => {
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
