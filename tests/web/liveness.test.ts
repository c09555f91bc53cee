import { describe, expect, test } from 'vitest';
import { isCurrent, judgeLiveness, NOT_LIVE_AFTER_S, silenceClock } from '../../web/liveness.ts';

const heard = { heardMs: 50_000, ageS: 1, staleAfterS: 15 };

describe('whether the number may be believed', () => {
  test('a heartbeat a moment ago and a fresh reading are live', () => {
    expect(judgeLiveness(heard, 50_800)).toEqual({ kind: 'live', ageS: 1.8 });
  });

  test('after three silent seconds the number is grey, before ten it is covered', () => {
    expect(judgeLiveness(heard, 53_500).kind).toBe('grey');
    expect(judgeLiveness(heard, 50_000 + NOT_LIVE_AFTER_S * 1000).kind).toBe('not-live');
    // The page looks once a second, and the heartbeat may have been a second old: still within ten.
    expect(NOT_LIVE_AFTER_S + 2).toBeLessThanOrEqual(10);
  });

  test('a reading that is too old covers the number though the daemon speaks', () => {
    expect(judgeLiveness({ ...heard, ageS: 42 }, 50_200)).toEqual({ kind: 'no-reading', ageS: 42.2 });
  });

  test('a sensor that never spoke is no reading of nought seconds', () => {
    expect(judgeLiveness({ ...heard, ageS: null }, 50_200)).toEqual({ kind: 'no-reading', ageS: null });
  });

  test('a silent daemon is not told as a dumb sensor', () => {
    expect(judgeLiveness({ ...heard, ageS: 12 }, 54_500).kind).toBe('grey');
    expect(judgeLiveness({ ...heard, ageS: 42 }, 70_000).kind).toBe('not-live');
  });

  test('before anything is heard nothing is current', () => {
    expect(isCurrent(judgeLiveness({ ...heard, heardMs: null }, 1000))).toBe(false);
  });
});

describe('the clock for silence', () => {
  test('a wall clock that is an hour wrong changes nothing', () => {
    let monotonic = 1000;
    const nowMs = silenceClock(
      () => monotonic,
      () => monotonic + 3_600_000,
    );
    monotonic += 5000;
    expect(nowMs()).toBe(6000);
  });

  test('time that the machine slept through counts as silence', () => {
    let monotonic = 1000;
    let wall = 9_000_000;
    const nowMs = silenceClock(
      () => monotonic,
      () => wall,
    );
    monotonic += 1000;
    wall += 1_800_000;
    expect(nowMs()).toBe(1_801_000);
  });

  test('a wall clock that is set back does not turn time back', () => {
    let monotonic = 1000;
    let wall = 9_000_000;
    const nowMs = silenceClock(
      () => monotonic,
      () => wall,
    );
    monotonic += 1000;
    wall -= 3_600_000;
    expect(nowMs()).toBe(2000);
  });
});
