import { describe, expect, it } from 'vitest';
import { judgeLeap } from '../../../daemon/core/tracking/leap.ts';
import { fileReading, newSensorTrack, type SensorTrack } from '../../../daemon/core/tracking/sensor-track.ts';
import { atS, begin, feed, line, reading } from '../feeding.ts';

const at600 = (leaptC?: number): SensorTrack => ({
  ...fileReading(newSensorTrack('shelf'), { atMs: atS(0), celsius: 600 }),
  leapt: leaptC === undefined ? null : { atMs: atS(1), celsius: leaptC },
});

describe('a reading that leaps', () => {
  it('further than a kiln moves waits for a second one', () => {
    expect(judgeLeap(at600(), atS(1), 1536)).toBe('wait');
    expect(judgeLeap(at600(), atS(1), 0)).toBe('wait');
    expect(judgeLeap(at600(), atS(1), 640)).toBe('wait');
  });

  it('is believed when the second one agrees, and not when it says something else', () => {
    expect(judgeLeap(at600(560), atS(2), 556)).toBe('confirmed');
    expect(judgeLeap(at600(256), atS(2), 1024)).toBe('wait');
  });

  it('is none where a lit burner or an open door can do it', () => {
    expect(judgeLeap(at600(), atS(1), 615)).toBe('no');
    expect(judgeLeap(at600(), atS(1), 572)).toBe('no');
    expect(judgeLeap(at600(), atS(30), 510)).toBe('no');
  });

  it('is none for the first reading of all', () => {
    expect(judgeLeap(newSensorTrack('shelf'), atS(0), 1200)).toBe('no');
  });

  it('leaves peak, plan and alerts alone while it stands alone: 0, 256, 1024 and 1536 between good readings', () => {
    const good = line({ fromS: 0, toS: 1200, fromC: 300, rateCPerH: 240, everyS: 1 });
    const glitched = good.map((r, i) =>
      i % 11 === 5 ? { ...r, text: ['0', '256', '1024', '1536'][i % 4] ?? '0' } : r,
    );
    const fed = feed(begin(), glitched);
    expect(fed.state.sensors.shelf?.peakC).toBe(380);
    expect(fed.events.filter((e) => e.type === 'alert')).toEqual([]);
    const doubted = fed.events.filter((e) => e.type === 'reading' && e.quality !== 'good');
    expect(doubted).toHaveLength(fed.state.rejectedCount);
    expect(doubted.length).toBeGreaterThan(9);
  });

  it('that was true is followed from its second reading on', () => {
    const fed = feed(begin(), [
      ...line({ fromS: 0, toS: 600, fromC: 300, rateCPerH: 0, everyS: 1 }),
      reading(601, 260),
      reading(602, 259),
    ]);
    expect(fed.state.sensors.shelf?.last?.celsius).toBe(259);
  });
});
