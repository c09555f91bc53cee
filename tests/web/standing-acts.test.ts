import { describe, expect, test } from 'vitest';
import {
  handReadingC,
  nextOfLastTime,
  STRUCK_OUT,
  standingActs,
  wasBellHeard,
  watcherOf,
} from '../../web/standing-acts.ts';
import type { ActEvent } from '../../web/wire-types.ts';

function act(atMs: number, what: string, value?: string, more: Partial<ActEvent> = {}): ActEvent {
  return {
    type: 'act',
    atMs,
    by: 'Ada',
    deed: 'act',
    what,
    celsius: null,
    ...(value !== undefined && { value }),
    ...more,
  };
}

describe('acts as they stand', () => {
  test('a correction shows what was really done, at its own instant, and what was logged first', () => {
    const acts = [act(1, 'valve', 'mark 4'), act(2, 'gloss seen'), act(3, 'damper', 'mark 3', { correctsAtMs: 1 })];
    expect(standingActs(acts)).toMatchObject([
      { atMs: 1, what: 'damper', value: 'mark 3', first: { what: 'valve', value: 'mark 4' } },
      { atMs: 2, what: 'gloss seen' },
    ]);
  });

  test('the last correction counts, and what was not done at all stands nowhere', () => {
    const twice = [
      act(1, 'valve', 'mark 4'),
      act(2, 'valve', 'mark 5', { correctsAtMs: 1 }),
      act(3, 'valve', 'mark 6', { correctsAtMs: 1 }),
    ];
    expect(standingActs(twice)).toMatchObject([{ atMs: 1, value: 'mark 6' }]);
    expect(standingActs([...twice, act(4, STRUCK_OUT, undefined, { correctsAtMs: 1 })])).toEqual([]);
  });

  test('what the hand pyrometer showed is a temperature of its own', () => {
    expect(handReadingC(act(1, 'hand pyrometer', '641 °C'))).toBe(641);
    expect(handReadingC(act(1, 'valve', 'mark 3'))).toBeNull();
  });

  test('the watch is kept by whom it was handed to last; a bell that was heard is known', () => {
    const acts = [act(1, 'watch handed to', 'Ben'), act(2, 'watch handed to', 'Cleo'), act(3, 'bell heard')];
    expect(watcherOf(acts)?.value).toBe('Cleo');
    expect(wasBellHeard(acts)).toBe(true);
    expect(wasBellHeard(acts.slice(0, 2))).toBe(false);
  });

  test('of last time the act at the next higher temperature comes next on the way up, at the next lower on the way down', () => {
    const acts = [
      act(1, 'valve', 'mark 4', { celsius: 300 }),
      act(2, 'valve', 'mark 3', { celsius: 648 }),
      act(3, 'gloss seen', undefined, { celsius: 661 }),
      act(4, 'flame', 'out', { celsius: 660 }),
      act(5, 'door', 'open', { celsius: 140 }),
    ];
    expect(nextOfLastTime(acts, [], 640, false)).toMatchObject({ value: 'mark 3' });
    expect(nextOfLastTime(acts, [], 664, false)).toMatchObject({ what: 'gloss seen' });
    expect(nextOfLastTime(acts, [], 400, true)).toMatchObject({ what: 'door' });
    expect(nextOfLastTime(acts, [], 100, true)).toBeNull();
    expect(nextOfLastTime([], [], 100, true)).toBeNull();
  });

  test('of last time, what was just passed is still told to a late hand, until it is logged', () => {
    const last = [act(1, 'valve', 'mark 3', { celsius: 648 }), act(2, 'gloss seen', undefined, { celsius: 661 })];
    const early = act(9, 'valve', 'mark 5', { celsius: 500 });
    expect(nextOfLastTime(last, [early], 655, false)).toMatchObject({ value: 'mark 3' });
    const late = act(10, 'valve', 'mark 3', { celsius: 655 });
    expect(nextOfLastTime(last, [early, late], 656, false)).toMatchObject({ what: 'gloss seen' });
    expect(nextOfLastTime(last, [early], 670, false)).toMatchObject({ what: 'gloss seen' });
  });
});
