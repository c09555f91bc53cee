import { describe, expect, test } from 'vitest';
import { curveOfWatch, roundStep } from '../../web/curve-view.ts';
import { hear } from '../../web/dashboard-state.ts';
import { type Moment, scriptedDesk } from '../support/scripted-desk.ts';

/** The curve near now, as the page would draw it at this moment of a made-up firing. */
function curveAt(moment: Moment) {
  const desk = scriptedDesk({ moment, kilns: 1 });
  const [kiln] = hear(null, desk.snapshot(true))?.kilns ?? [];
  if (kiln === undefined) throw new Error('the desk has no kiln');
  const nowMs = desk.nowMs();
  return { nowMs, kiln, view: curveOfWatch(kiln, { nowMs, utcOffsetMinutes: 60, reach: 'near', isLive: true }) };
}

describe('the curve on Watch', () => {
  test('goes where a warning says that it is heading: from now to that temperature at that time', () => {
    const { nowMs, kiln, view } = curveAt('overshoot');
    const nowC = kiln.now.readings[0]?.celsius;
    expect(kiln.now.alerts[0]?.message).toContain('heading for 672 about 14:10');
    expect(view.expected).toEqual({ atMs: nowMs + 720_000, celsius: 672, from: { atMs: nowMs, celsius: nowC } });
    expect(view.highC).toBeGreaterThan(672);
  });

  test.each(['overshoot', 'holding', 'cooling', 'climbing'] as const)(
    'of a kiln that is %s has an axis that begins and ends on one of its own lines',
    (moment) => {
      const { lowC, highC } = curveAt(moment).view;
      const stepC = roundStep(highC - lowC);
      expect([lowC % stepC, highC % stepC]).toEqual([0, 0]);
    },
  );

  test('draws no such way where nothing warns', () => {
    expect(curveAt('holding').view.expected?.from ?? null).toBeNull();
  });
});
