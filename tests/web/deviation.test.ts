import { expect, test } from 'vitest';
import type { CurveView } from '../../web/curve-view.ts';
import { deviations, stripReachC } from '../../web/deviation.ts';

const view: CurveView = {
  traces: [
    {
      name: 'shelf',
      isRuling: true,
      points: [
        { atMs: 0, celsius: 100 },
        { atMs: 1000, celsius: 112 },
        { atMs: 1500, celsius: null },
        { atMs: 2000, celsius: 119 },
        { atMs: 3000, celsius: 140 },
      ],
    },
  ],
  plan: [
    { atMs: 0, celsius: 100, segment: 0 },
    { atMs: 2000, celsius: 120, segment: 0 },
  ],
  toleranceC: 6,
  forecast: [],
  expected: null,
  holds: [],
  acts: [],
  gaps: [],
  alerts: [],
  nowMs: 3000,
  isLive: true,
  utcOffsetMinutes: 0,
  fromMs: 0,
  toMs: 4000,
  lowC: 0,
  highC: 200,
};

test('the strip is the distance from the plan, broken where nothing was measured or planned', () => {
  expect(deviations(view).map(({ deltaC }) => deltaC)).toEqual([0, 2, null, -1, null]);
});

test('the strip’s scale holds the whole line, and lets a small one be seen', () => {
  expect(stripReachC([{ atMs: 0, deltaC: 2 }], 6)).toBe(12);
  expect(stripReachC([{ atMs: 0, deltaC: -20 }], 6)).toBeCloseTo(22);
  expect(stripReachC([{ atMs: 0, deltaC: 400 }], 6)).toBe(24);
});
