import { describe, expect, it } from 'vitest';
import { readingAt } from '../../../daemon/core/numbers/timed-list.ts';
import { fileReading, newSensorTrack, type SensorTrack } from '../../../daemon/core/tracking/sensor-track.ts';
import { atS } from '../feeding.ts';

const heardAt = (...seconds: number[]): SensorTrack =>
  seconds.reduce((t, s) => fileReading(t, { atMs: atS(s), celsius: s }), newSensorTrack('shelf'));

describe('what is known of a sensor', () => {
  it('learns how often it speaks, and is not taught by a pause', () => {
    expect(heardAt(0).intervalS).toBeNull();
    expect(heardAt(0, 30).intervalS).toBe(30);
    expect(heardAt(0, 10, 20, 30, 130, 140).intervalS).toBeLessThan(14);
    expect(heardAt(0, 10, 20, 3620).intervalS).toBe(10);
  });

  it('keeps at least twenty minutes of readings, and no more than half an hour', () => {
    const track = heardAt(...Array.from({ length: 7200 }, (_, s) => s));
    const spanS = ((track.last?.atMs ?? 0) - (readingAt(track.recent, 0)?.atMs ?? 0)) / 1000;
    expect(spanS).toBeGreaterThanOrEqual(1200);
    expect(spanS).toBeLessThanOrEqual(1800);
  });

  it('remembers the hottest', () => {
    const up = fileReading(newSensorTrack('shelf'), { atMs: atS(0), celsius: 664 });
    expect(fileReading(up, { atMs: atS(1), celsius: 660 }).peakC).toBe(664);
  });
});
