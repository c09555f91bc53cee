import { describe, expect, it } from 'vitest';
import { judgeLeap, keepLeapt } from '../../../daemon/core/tracking/leap.ts';
import { fileReading, newSensorTrack, type SensorTrack } from '../../../daemon/core/tracking/sensor-track.ts';
import { atS, begin, feed, line, reading } from '../feeding.ts';

/** After the first, and after each of those that leapt away since. */
function at600(...leaptC: readonly number[]): SensorTrack {
  let track: SensorTrack = fileReading(newSensorTrack('shelf'), { atMs: atS(0), celsius: 600 });
  for (const [i, celsius] of leaptC.entries()) {
    track = { ...track, leapt: keepLeapt(track, { atMs: atS(i + 1), celsius }) };
  }
  return track;
}

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

  it('upwards is believed with the third, for two spoilt lines in a row agree often enough', () => {
    expect(judgeLeap(at600(640), atS(2), 642)).toBe('wait');
    expect(judgeLeap(at600(640, 642), atS(3), 645)).toBe('confirmed');
    expect(judgeLeap(at600(640, 700), atS(3), 645)).toBe('wait');
    // One of them that a network brought twice is one.
    const twice = { ...at600(660), intervalS: 10 };
    const again = { ...twice, leapt: keepLeapt(twice, { atMs: atS(1) + 40, celsius: 660 }) };
    expect(judgeLeap(again, atS(11), 661)).toBe('wait');
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

  it('upwards because one bit is flipped in two lines in a row is not believed, whichever bit it is', () => {
    const GOOD_C = 648.5;
    const good = line({ fromS: 0, toS: 30, fromC: GOOD_C, rateCPerH: 0, everyS: 1 });
    const before = feed(begin(null), good);
    const text = GOOD_C.toFixed(1);
    const believedC: number[] = [];
    for (let byte = 0; byte < text.length; byte++) {
      for (let bit = 0; bit < 7; bit++) {
        const bytes = Buffer.from(text);
        bytes[byte] = (bytes[byte] ?? 0) ^ (1 << bit);
        const spoilt = [31, 32].map((s) => ({ ...reading(s, 0), text: bytes.toString() }));
        const { events } = feed({ ...before, events: [] }, [...spoilt, reading(33, GOOD_C), reading(34, GOOD_C)]);
        believedC.push(
          ...events.flatMap((e) => (e.type === 'reading' && e.quality === 'good' ? [e.celsius ?? 0] : [])),
        );
      }
    }
    expect(believedC.length).toBeGreaterThan(50);
    // What a kiln may do within two seconds.
    expect(Math.max(...believedC)).toBeLessThanOrEqual(GOOD_C + 12 + 3 * 2);
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
