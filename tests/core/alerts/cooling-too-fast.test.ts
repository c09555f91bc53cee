import { describe, expect, it } from 'vitest';
import { begin, type Fed, fallenMatt, feed, kilnOf, matt, stagedAlerts } from '../feeding.ts';

const electric = kilnOf({ heat: 'electric', closure: 'lid' });
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'cooling-too-fast' && a.phase !== 'over');

describe('a fall too fast', () => {
  it('is told where it steepens in the range in which the glass minds', () => {
    const gas = told(
      feed(
        begin(),
        fallenMatt((s) => 520 - s / 8),
      ),
    );
    expect(gas[0]?.message).toMatch(/Once the gas is off: damper and ports shut, spyhole plugged/);
    expect(
      told(
        feed(
          begin(matt, electric),
          fallenMatt((s) => 520 - s / 8),
        ),
      )[0]?.message,
    ).toMatch(/Close lid and peephole/);
  });

  it('is none of a shut kiln that falls as it does', () => {
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
