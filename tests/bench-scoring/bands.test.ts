import { describe, expect, it } from 'vitest';
import type { ForecastEvent } from '../../daemon/core/events.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { addBands, bandWatch, pointAt } from '../bench/alerts-bands.ts';

const plan: Schedule = {
  name: '660',
  segments: [
    { kind: 'ramp', toC: 660, rateCPerH: 120 },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
  ],
};

function forecast(atMs: number, celsius: number): ForecastEvent {
  const points = [60, 120, 300, 600].map((s) => {
    return { atMs: atMs + s * 1000, celsius, lowC: celsius - 5, highC: celsius + 5 };
  });
  return { type: 'forecast', atMs, points, expectedPeakC: null, expectedPeakAtMs: null, targetAtMs: null };
}

describe('the forecast held against what came', () => {
  it('counts the first reading at or after the instant, within the band or not', () => {
    const bands = bandWatch(plan);
    bands.read(0, 500);
    bands.foresee(forecast(0, 510), 0);
    bands.read(119_000, 0);
    bands.read(121_000, 514);
    bands.read(302_000, 516);
    expect(bands.counts()).toEqual([
      { stretch: 'climb', aheadS: 120, count: 1, within: 1, squaredC: 16, stillSquaredC: 196 },
      { stretch: 'climb', aheadS: 300, count: 1, within: 0, squaredC: 36, stillSquaredC: 256 },
    ]);
  });

  it('judges no reading that comes a minute late, as after a silence', () => {
    const bands = bandWatch(plan);
    bands.foresee(forecast(0, 510), 1);
    bands.read(700_000, 510);
    expect(bands.counts()).toEqual([]);
  });

  it('judges one forecast a minute', () => {
    const bands = bandWatch(plan);
    for (let s = 0; s < 120; s += 10) bands.foresee(forecast(s * 1000, 510), 2);
    for (let s = 0; s <= 240; s += 10) bands.read(s * 1000, 510);
    expect(bands.counts()).toMatchObject([{ stretch: 'fall', aheadS: 120, count: 2 }]);
  });

  it('reads between two points, and nothing beyond the last', () => {
    const event = forecast(0, 510);
    const points = event.points.map((p, i) => ({ ...p, celsius: 500 + 10 * i }));
    expect(pointAt({ ...event, points }, 210_000)?.celsius).toBe(515);
    expect(pointAt({ ...event, points }, 601_000)).toBeNull();
  });

  it('adds up firing by firing', () => {
    const one = { stretch: 'hold', aheadS: 120, count: 2, within: 1, squaredC: 3, stillSquaredC: 4 } as const;
    expect(addBands([[one], [one], []])).toEqual([
      { stretch: 'hold', aheadS: 120, count: 4, within: 2, squaredC: 6, stillSquaredC: 8 },
    ]);
  });
});
