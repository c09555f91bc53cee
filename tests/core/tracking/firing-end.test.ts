import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { begin, curve, type Fed, feed, kilnOf, matt, START_MS } from '../feeding.ts';

const endOf = ({ events }: Fed) => events.find((e) => e.type === 'ended');
const endMinute = (fed: Fed): number => ((endOf(fed)?.atMs ?? Number.NaN) - START_MS) / 60_000;
/** Up in two hours, fifteen minutes at the top, down with a time constant of an hour. */
const firing = (topC: number, lengthS: number, roomC = 20) =>
  curve(
    0,
    lengthS,
    (s) =>
      s < 7200
        ? roomC + ((topC - roomC) * s) / 7200
        : s < 8160
          ? topC
          : roomC + (topC - roomC) * Math.exp(-(s - 8160) / 3600),
    30,
  );

describe('a firing ends by itself', () => {
  it('five minutes after the kiln is cool enough to unload and its plan is done', () => {
    const fed = feed(begin(matt, kilnOf({ sampleS: 30 })), firing(660, 6 * 3600));
    // 50 °C is reached 3600·ln(640/30) s after the heat was off: minute 319.
    expect(endOf(fed)).toMatchObject({ by: 'by itself', why: 'the kiln is cool again' });
    expect(endMinute(fed)).toBeGreaterThan(323);
    expect(endMinute(fed)).toBeLessThan(326);
    expect(fed.state.ended).toBe(true);
  });

  it('without a plan too, and a drying at 50 °C as well', () => {
    expect(endOf(feed(begin(null, kilnOf({ sampleS: 30 })), firing(660, 7 * 3600)))).toBeDefined();
    const drying: Schedule = {
      name: 'Drying',
      segments: [
        { kind: 'ramp', toC: 50, rateCPerH: 60 },
        { kind: 'hold', minutes: 14 },
      ],
    };
    expect(endOf(feed(begin(drying, kilnOf({ sampleS: 30 })), firing(50, 5 * 3600)))).toBeDefined();
  });

  it('not while it is warming, nor before it was ever warm', () => {
    expect(endOf(feed(begin(matt, kilnOf({ sampleS: 30 })), firing(660, 8000)))).toBeUndefined();
    const cold = curve(0, 6 * 3600, () => 20, 30);
    expect(endOf(feed(begin(matt, kilnOf({ sampleS: 30 })), cold))).toBeUndefined();
  });

  it('later where it was given up half-way, since it may be lit again', () => {
    const given = curve(0, 5 * 3600, (s) => (s < 1800 ? 20 + s / 15 : 20 + 120 * Math.exp(-(s - 1800) / 1800)), 30);
    // 50 °C: minute 30 + 30·ln 4 = 71.6; three quarters of an hour later.
    expect(endMinute(feed(begin(matt, kilnOf({ sampleS: 30 })), given))).toBeGreaterThan(115);
    expect(endMinute(feed(begin(matt, kilnOf({ sampleS: 30 })), given))).toBeLessThan(119);
  });

  it('and after that says nothing more', () => {
    const fed = feed(begin(matt, kilnOf({ sampleS: 30 })), firing(660, 8 * 3600));
    expect(fed.events[fed.events.length - 1]?.type).toBe('ended');
  });
});
