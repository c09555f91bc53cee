import { describe, expect, it } from 'vitest';
import { begin, curve, type Fed, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : Math.min(450 + (s - 6450) / 30, 660));
const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'cooling-too-fast' && a.phase !== 'over');
/** Left to fall after its hold, and from 520 °C on as `then` says. */
const fallen = (then: (afterS: number) => number) =>
  curve(0, 16_200, (s) => {
    if (s < 13_700) return climb(s);
    const celsius = 660 - (s - 13_700) / 14;
    return celsius > 520 ? celsius : then(s - 15_660);
  });

describe('a fall too fast', () => {
  it('is told where it steepens in the range in which the glass minds', () => {
    const gas = told(
      feed(
        begin(),
        fallen((s) => 520 - s / 8),
      ),
    );
    expect(gas[0]?.message).toMatch(/Once the gas is off: damper and ports shut, spyhole plugged/);
    expect(
      told(
        feed(
          begin(matt, electric),
          fallen((s) => 520 - s / 8),
        ),
      )[0]?.message,
    ).toMatch(/Close lid and peephole/);
  });

  it('is none of a shut kiln that falls as it does', () => {
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
