import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { perHour } from '../../../daemon/core/numbers/units.ts';
import { presentRate, rateAgo, rateOver } from '../../../daemon/core/tracking/heating-rate.ts';
import { fileReading, newSensorTrack, type SensorTrack } from '../../../daemon/core/tracking/sensor-track.ts';
import { atS } from '../feeding.ts';

function trackOf(
  lengthS: number,
  everyS: number,
  celsiusAt: (s: number) => number,
  jitterS = (): number => 0,
): SensorTrack {
  let track = newSensorTrack('shelf');
  for (let s = 0; s <= lengthS; s += everyS) {
    const t = s + jitterS();
    track = fileReading(track, { atMs: atS(t), celsius: celsiusAt(t) });
  }
  return track;
}
const climb = (s: number): number => 300 + s / 30;

describe('the pace of the kiln', () => {
  it.each([0.5, 1, 5, 10, 30, 60])('is 120 °C an hour to a reading every %d s', (everyS) => {
    expect(perHour(presentRate(trackOf(1200, everyS, climb))?.slopePerS ?? 0)).toBeCloseTo(120, 3);
  });

  it('stands within 15 °C an hour in noise of half a degree, and knows it (seed 7)', () => {
    const random = seededRandom(7);
    const fit = presentRate(trackOf(1200, 1, (s) => climb(s) + 0.5 * random.gaussian()));
    expect(Math.abs(perHour(fit?.slopePerS ?? 0) - 120)).toBeLessThan(15);
    expect(perHour(fit?.slopeSigmaPerS ?? 0)).toBeGreaterThan(2);
    expect(perHour(fit?.slopeSigmaPerS ?? 0)).toBeLessThan(8);
  });

  it('stands in coarse steps of one degree', () => {
    const fit = presentRate(trackOf(1200, 1, (s) => Math.round(climb(s))));
    expect(Math.abs(perHour(fit?.slopePerS ?? 0) - 120)).toBeLessThan(15);
  });

  it('stands when the readings come unevenly (seed 8)', () => {
    const random = seededRandom(8);
    const fit = presentRate(trackOf(1200, 5, climb, () => 4 * random.next()));
    expect(perHour(fit?.slopePerS ?? 0)).toBeCloseTo(120, 3);
  });

  it('of four and eight minutes is not told before they are there to four fifths', () => {
    expect(rateOver(trackOf(190, 1, climb), 240)).toBeUndefined();
    expect(rateOver(trackOf(193, 1, climb), 240)).toBeDefined();
    expect(rateOver(trackOf(380, 1, climb), 480)).toBeUndefined();
  });

  it('of ten minutes ago is that of then', () => {
    const turned = trackOf(1200, 1, (s) => (s < 600 ? climb(s) : climb(600)));
    expect(perHour(rateAgo(turned, 600, 300)?.slopePerS ?? 0)).toBeCloseTo(120, 3);
    expect(perHour(presentRate(turned)?.slopePerS ?? 1)).toBeCloseTo(0, 6);
    expect(rateAgo(trackOf(700, 1, climb), 600, 300)).toBeUndefined();
  });
});
