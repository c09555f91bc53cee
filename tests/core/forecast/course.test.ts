import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  arrivalS,
  type Course,
  coolingTimeS,
  courseC,
  courseOf,
  courseSigmaC,
  courseTimeS,
} from '../../../daemon/core/forecast/course.ts';
import { NO_PACE, paceOf } from '../../../daemon/core/tracking/pace.ts';
import { fileReading, newSensorTrack } from '../../../daemon/core/tracking/sensor-track.ts';
import { atS } from '../feeding.ts';

function courseAfter(lengthS: number, everyS: number, celsiusAt: (s: number) => number): Course {
  let track = newSensorTrack('shelf');
  for (let s = 0; s <= lengthS; s += everyS) track = fileReading(track, { atMs: atS(s), celsius: celsiusAt(s) });
  const course = courseOf(paceOf(track, NO_PACE, null), atS(lengthS));
  if (course === null) throw new Error('no course');
  return course;
}

describe('the course of a kiln that is left alone', () => {
  it.each([1, 5, 10])('is a straight line where it was one, to readings every %d s', (everyS) => {
    const course = courseAfter(1800, everyS, (s) => 500 + s / 30);
    // Ten hours stand for never: half an hour ahead that is a fortieth of the change short.
    for (const aheadS of [60, 300, 900, 1800]) {
      expect(Math.abs(courseC(course, aheadS) - 560 - aheadS / 30)).toBeLessThan(0.026 * (aheadS / 30));
    }
  });

  it.each([1800, 3600, 7200])('is the exponential that it was, of a time constant of %d s', (constantS) => {
    const way = (s: number): number => 700 - 500 * Math.exp(-s / constantS);
    for (const everyS of [1, 5, 10]) {
      const course = courseAfter(2400, everyS, way);
      expect(course.dyingS / constantS).toBeGreaterThan(0.97);
      expect(course.dyingS / constantS).toBeLessThan(1.03);
      // The pace is that of the last two minutes' middle: the end of the course is a degree or two high.
      for (const aheadS of [60, 300, 900, 1800]) {
        expect(Math.abs(courseC(course, aheadS) - way(2400 + aheadS))).toBeLessThan(0.04 * (700 - way(2400)));
      }
    }
  });

  it('says when it passes a temperature, and that it never passes one beyond its end', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -0.2, max: 0.2, noNaN: true }),
        fc.double({ min: 240, max: 36_000, noNaN: true }),
        fc.double({ min: 1, max: 7200, noNaN: true }),
        (slopePerS, dyingS, aheadS) => {
          fc.pre(Math.abs(slopePerS) > 1e-4 && aheadS < 8 * dyingS);
          const course: Course = { atMs: 0, fromC: 600, slopePerS, slopeSigmaPerS: 0, dyingS, noiseC: 0 };
          expect(courseTimeS(course, courseC(course, aheadS)) / aheadS).toBeCloseTo(1, 6);
          expect(courseTimeS(course, 600 + 1.001 * slopePerS * dyingS)).toBe(Number.POSITIVE_INFINITY);
          expect(courseTimeS(course, 600 - slopePerS)).toBe(Number.POSITIVE_INFINITY);
        },
      ),
      { seed: 12, numRuns: 1000 },
    );
  });

  it('of a kiln at rest gets nowhere, and is where it is', () => {
    const still: Course = { atMs: 0, fromC: 600, slopePerS: 0, slopeSigmaPerS: 0, dyingS: 3600, noiseC: 0 };
    expect(courseTimeS(still, 600)).toBe(0);
    expect(courseTimeS(still, 601)).toBe(Number.POSITIVE_INFINITY);
    expect(courseC(still, 3600)).toBe(600);
  });

  it('is less and less sure of what lies ahead', () => {
    const course = courseAfter(1800, 5, (s) => 500 + s / 30);
    const sigmas = [60, 300, 900, 1800].map((s) => courseSigmaC(course, s));
    expect(sigmas).toEqual([...sigmas].sort((a, b) => a - b));
    expect(courseSigmaC(course, 300)).toBeGreaterThan(0.5);
    expect(courseSigmaC(course, 300)).toBeLessThan(5);
  });

  it('hands what lies far ahead to the steadier course', () => {
    const course: Course = { atMs: 0, fromC: 500, slopePerS: 1 / 30, slopeSigmaPerS: 0, dyingS: 36_000, noiseC: 0 };
    const steady: Course = { ...course, slopePerS: 1 / 60 };
    expect(arrivalS(course, steady, 510)).toBeCloseTo(300, -1);
    expect(arrivalS(course, steady, 600)).toBeGreaterThan(5900);
    // The two meet without a step back in time.
    expect(arrivalS(course, steady, 530.5)).toBeGreaterThanOrEqual(900);
  });
});

describe('a kiln that cools by itself', () => {
  it('reaches a temperature when Newton’s law says so', () => {
    const constantS = 9000;
    const nowC = 400;
    const slopePerS = -(nowC - 20) / constantS;
    expect(coolingTimeS(nowC, slopePerS, 150)).toBeCloseTo(constantS * Math.log(380 / 130), 6);
    expect(coolingTimeS(100, slopePerS, 150)).toBe(0);
    expect(coolingTimeS(nowC, 0.01, 150)).toBe(Number.POSITIVE_INFINITY);
    expect(coolingTimeS(nowC, slopePerS, 20)).toBe(Number.POSITIVE_INFINITY);
  });
});
