import { describe, expect, it } from 'vitest';
import { reconnect, waitS } from '../../daemon/inputs/reconnect.ts';
import { manualWaits } from '../support/manual-waits.ts';

describe('trying again', () => {
  it('waits 1 s at first, twice as long each time, and never more than 30 s', () => {
    expect([0, 1, 2, 3, 4, 5, 6, 5000].map((n) => waitS(n, 0))).toEqual([1, 2, 4, 8, 16, 30, 30, 30]);
  });

  it('leaves a fifth of the wait to chance', () => {
    expect(waitS(3, 1)).toBeCloseTo(6.4);
  });

  it('never gives up', () => {
    const clock = manualWaits();
    let tries = 0;
    const again = reconnect(
      clock,
      () => 0,
      () => {
        tries += 1;
        again.later();
      },
    );
    again.later();
    for (let i = 0; i < 500; i++) clock.pass(30_000);
    expect(tries).toBe(500);
  });

  it('begins at 1 s again once the connection has stood for half a minute', () => {
    const clock = manualWaits();
    const again = reconnect(
      clock,
      () => 0,
      () => {},
    );
    again.later();
    clock.pass(1000);
    again.later();
    clock.pass(2000);
    again.connected();
    clock.pass(30_000);
    expect(again.later()).toBe(1);
  });

  it('goes on doubling while the connection only flickers', () => {
    const clock = manualWaits();
    const again = reconnect(
      clock,
      () => 0,
      () => {},
    );
    const waits = [0, 0, 0].map(() => {
      again.connected();
      clock.pass(500);
      const seconds = again.later();
      clock.pass(seconds * 1000);
      return seconds;
    });
    expect(waits).toEqual([1, 2, 4]);
  });

  it('tries no more once it is stopped', () => {
    const clock = manualWaits();
    let tries = 0;
    const again = reconnect(
      clock,
      () => 0,
      () => {
        tries += 1;
      },
    );
    again.later();
    again.stop();
    clock.pass(60_000);
    expect(tries).toBe(0);
  });
});
