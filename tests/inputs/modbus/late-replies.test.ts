/** The one mistake that cannot be seen on the page: a setpoint, or another couple, read as the temperature. */
import { describe, expect, it } from 'vitest';
import { ALIKE, holding, pollLate, pollTrustingly } from '../../support/late-polls.ts';

const different = [holding(0, 1), holding(10, 2)];
const slow = { kind: 'time', slowestMs: 3000, slowRatio: 0.05 } as const;

describe('a slave that answers late', () => {
  it.each([1, 2, 3, 4, 5])('by up to %i questions never gives a value to the wrong register', async (most) => {
    const polls = await pollLate(400, ALIKE, { kind: 'questions', most }, 100 + most);
    expect(polls.wrong).toBe(0);
    expect(polls.right).toBeGreaterThan(100);
    expect(polls.refused).toBeGreaterThan(5);
  });

  it.each([
    ['one after the other', true],
    ['each by itself, as a gateway does', false],
  ])('in time, %s, never gives a value to the wrong register', async (_, inTurn) => {
    const polls = await pollLate(400, ALIKE, { ...slow, inTurn }, 7);
    expect(polls.wrong).toBe(0);
    expect(polls.right).toBeGreaterThan(300);
    expect(polls.refused).toBeGreaterThan(5);
  });

  it('is told by the length of its answers where they differ', async () => {
    const polls = await pollLate(400, different, { kind: 'questions', most: 1 }, 5);
    expect(polls.wrong).toBe(0);
    expect(polls.right).toBeGreaterThan(100);
  });

  it('would give wrong values to a master that takes the next frame that fits', async () => {
    const polls = await pollTrustingly(400, ALIKE, { kind: 'questions', most: 1 }, 101);
    expect(polls.wrong).toBeGreaterThan(50);
  });
});
