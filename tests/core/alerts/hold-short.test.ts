import { describe, expect, it } from 'vitest';
import { begin, curve, type Fed, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : Math.min(450 + (s - 6450) / 30, 660));
const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'hold-short' && a.phase !== 'over');
/** Left to fall after its hold, and from 520 °C on as `then` says. */
const fallen = (then: (afterS: number) => number) =>
  curve(0, 16_200, (s) => {
    if (s < 13_700) return climb(s);
    const celsius = 660 - (s - 13_700) / 14;
    return celsius > 520 ? celsius : then(s - 15_660);
  });

describe('a hold too short', () => {
  it('is told before the kiln leaves its band, with the minutes that are done', () => {
    const off = curve(0, 13_400, (s) => (s < 13_000 ? climb(s) : 660 - (s - 13_000) / 8));
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
          fallen((s) => 520 - s / 14),
        ),
      ),
    ).toEqual([]);
  });
});
