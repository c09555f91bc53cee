import { describe, expect, it } from 'vitest';
import { segmentTimes } from '../../../daemon/core/forecast/arrival.ts';
import { atS, begin, curve, type Fed, feed, lastPosition, line, matt, START_MS } from '../feeding.ts';

const timesOf = ({ state }: Fed) =>
  state.track === null || state.schedule === null ? [] : segmentTimes(state.schedule, state.track, state, state.nowMs);
const minutes = (atMs: number | null | undefined): number => ((atMs ?? Number.NaN) - START_MS) / 60_000;

describe('when the kiln will be there', () => {
  it('is told by its own pace: 450 at half the plan’s pace takes twice as long', () => {
    const planned = timesOf(feed(begin(), line({ fromS: 0, toS: 3600, fromC: 20, rateCPerH: 240 })));
    expect(minutes(planned[0]?.endsAtMs)).toBeCloseTo(107.5, 0);
    const half = timesOf(feed(begin(), line({ fromS: 0, toS: 3600, fromC: 20, rateCPerH: 120 })));
    expect(minutes(half[0]?.endsAtMs)).toBeGreaterThan(205);
    expect(minutes(half[0]?.endsAtMs)).toBeLessThan(225);
    // What comes after is counted at the plan's pace from there.
    expect(minutes(half[1]?.endsAtMs) - minutes(half[0]?.endsAtMs)).toBeCloseTo(105, 0);
    expect(minutes(half[2]?.endsAtMs) - minutes(half[1]?.endsAtMs)).toBeCloseTo(15, 0);
  });

  it('cannot be said of a kiln that is let fall, before it falls', () => {
    const times = timesOf(feed(begin(), line({ fromS: 0, toS: 3600, fromC: 20, rateCPerH: 240 })));
    expect(times.map((t) => t.endsAtMs === null)).toEqual([false, false, false, true, true]);
  });

  it('is Newton’s law for one that falls: crack it, and unload it', () => {
    const constantS = 7200;
    const firing = curve(0, 20_000, (s) =>
      s < 6450
        ? 20 + s / 15
        : s < 12_750
          ? 450 + (s - 6450) / 30
          : s < 13_680
            ? 660
            : 20 + 640 * Math.exp(-(s - 13_680) / constantS),
    );
    const position = lastPosition(feed(begin(), firing));
    const crackS = 13_680 + constantS * Math.log(640 / 130);
    const unloadS = 13_680 + constantS * Math.log(640 / 30);
    expect(Math.abs(minutes(position.crackAtMs) - crackS / 60)).toBeLessThan(8);
    expect(Math.abs(minutes(position.unloadAtMs) - unloadS / 60)).toBeLessThan(15);
  });

  it('by the clock is what the clock says, wherever the kiln is', () => {
    const fed = feed(begin({ ...matt, waits: false }), line({ fromS: 0, toS: 3600, fromC: 20, rateCPerH: 120 }));
    expect(minutes(timesOf(fed)[0]?.endsAtMs)).toBeCloseTo(107.5, 1);
  });

  it('draws the plan from the firing’s start to where it can be said, never back in time', () => {
    const fed = feed(
      begin(),
      curve(0, 14_400, (s) => Math.min(20 + s / 15, s < 6450 ? 450 : 450 + (s - 6450) / 30, 660)),
    );
    const corners = lastPosition(fed).planLine;
    expect(corners[0]).toEqual({ atMs: expect.any(Number), celsius: 20, segment: 0 });
    expect(corners[0]?.atMs).toBeLessThan(atS(60));
    for (const [i, corner] of corners.entries()) {
      if (i > 0) expect(corner.atMs).toBeGreaterThanOrEqual(corners[i - 1]?.atMs ?? 0);
    }
    expect(corners.map((c) => c.celsius)).toContain(660);
  });
});
