import { describe, expect, it } from 'vitest';
import type { Course } from '../../../daemon/core/forecast/course.ts';
import { bandScale, NO_ERRORS, type OwnErrors, rememberCourse } from '../../../daemon/core/forecast/own-errors.ts';
import { atS } from '../feeding.ts';

function lived(lengthS: number, isC: (s: number) => number, saysPerS: number): OwnErrors {
  let errors = NO_ERRORS;
  for (let s = 0; s <= lengthS; s += 10) {
    const course: Course = {
      atMs: atS(s),
      fromC: isC(s),
      slopePerS: saysPerS,
      slopeSigmaPerS: 0,
      dyingS: 36_000,
      noiseC: 0.2,
    };
    errors = rememberCourse(errors, course, isC(s));
  }
  return errors;
}

describe('a forecast that watches its own errors', () => {
  it('narrows its band while it is right, and widens it while it is wrong', () => {
    const right = bandScale(lived(3600, (s) => 500 + s / 30, 1 / 30));
    const wrong = bandScale(lived(3600, (s) => 500 + s / 30, 1 / 10));
    expect(right).toBeLessThan(0.7);
    expect(wrong).toBeGreaterThan(2);
    expect(wrong).toBeLessThanOrEqual(5);
  });

  it('does not judge what fell due while nothing was heard', () => {
    const before = lived(600, (s) => 500 + s / 30, 1 / 30);
    const course: Course = {
      atMs: atS(7200),
      fromC: 100,
      slopePerS: 0,
      slopeSigmaPerS: 0,
      dyingS: 36_000,
      noiseC: 0.2,
    };
    expect(rememberCourse(before, course, 100).meanSquare).toBe(before.meanSquare);
  });

  it('remembers no more than it needs', () => {
    expect(lived(36_000, () => 500, 0).promised.length).toBeLessThan(15);
  });
});
