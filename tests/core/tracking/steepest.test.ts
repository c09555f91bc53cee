import { describe, expect, it } from 'vitest';
import { begin, climbOfMatt, curve, feed, kilnOf } from '../feeding.ts';

const steepestAfter = (untilS: number, way: (s: number) => number, kiln = kilnOf()): number | null =>
  feed(begin(undefined, kiln), curve(0, untilS, way)).state.heat.steepestRatio;

describe('the steepest that a hand has climbed', () => {
  it('is the pace of the plan where the climb was even, and nothing yet in the first quarter of an hour', () => {
    expect(steepestAfter(850, climbOfMatt)).toBeNull();
    expect(steepestAfter(4000, climbOfMatt)).toBeCloseTo(1, 2);
  });

  it('is as steep as the hand’s waves over five minutes', () => {
    const waves = (s: number): number => 20 + s / 15 + 8 * Math.sin(s / 80);
    expect(steepestAfter(4000, waves)).toBeGreaterThan(1.4);
  });

  it('counts nothing of the last ten minutes, that what begins may be held against it', () => {
    const turnsUp = (s: number): number => climbOfMatt(Math.min(s, 4000)) + Math.max(s - 4000, 0) / 5;
    expect(steepestAfter(4500, turnsUp)).toBeCloseTo(1, 2);
    expect(steepestAfter(5000, turnsUp)).toBeGreaterThan(2);
  });

  it('does not count the pace of one ramp for that of the next', () => {
    expect(steepestAfter(9000, climbOfMatt)).toBeCloseTo(1, 1);
  });

  it('is not asked of a controller', () => {
    expect(steepestAfter(4000, climbOfMatt, kilnOf({ heat: 'electric', closure: 'lid' }))).toBeNull();
  });
});
