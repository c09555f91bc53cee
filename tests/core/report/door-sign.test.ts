import { describe, expect, it } from 'vitest';
import { doorSign } from '../../../daemon/core/report/door-sign.ts';
import { atS, begin, curve, feed, lid, line, matt } from '../feeding.ts';

/** Up at 240 an hour, 15 minutes at 660, and down with a time constant of two hours. */
const way = (s: number): number =>
  s < 9600 ? 20 + s / 15 : s < 10_500 ? 660 : 20 + 640 * Math.exp(-(s - 10_500) / 7200);
const plan = { ...matt, segments: [{ kind: 'ramp', toC: 660, rateCPerH: 240 } as const, ...matt.segments.slice(2)] };
const at = (seconds: number) => feed(begin(plan), curve(0, seconds, way, 20)).state;
const minutesFrom = (seconds: number, untilMs: number | null): number => ((untilMs ?? 0) - atS(seconds)) / 60_000;

describe('the sign at the door', () => {
  it('says firing while heat goes in, also while the kiln is still cold', () => {
    expect(doorSign(at(400), true)).toMatchObject({ word: 'firing' });
    expect(doorSign(at(10_000), true)).toMatchObject({ word: 'firing', untilMs: null });
  });

  it('says propped where the plan wants it propped', () => {
    const propped = {
      ...plan,
      segments: plan.segments.map((s, i) => (i === 0 ? { ...s, opening: 'propped' as const } : s)),
    };
    expect(doorSign(feed(begin(propped), curve(0, 2000, way, 20)).state, true).word).toBe('propped');
  });

  it('says while it falls until when it stays shut, then that it may be cracked, then that it may be unloaded', () => {
    const hot = doorSign(at(14_000), true);
    expect(hot.word).toBe('hot');
    // 150 °C comes 7200·ln(640/130) = 11 475 s after the top.
    expect(Math.abs(minutesFrom(10_500 + 11_475, hot.untilMs))).toBeLessThan(10);
    expect(doorSign(at(23_000), true)).toMatchObject({ word: 'crack' });
    expect(doorSign(at(33_000), true)).toMatchObject({ word: 'unload', untilMs: null });
  });

  it('says that it stands open while hot', () => {
    const open = feed({ state: at(14_000), events: [] }, [lid(14_001, false), lid(14_002, true)]).state;
    expect(doorSign(open, true).word).toBe('open-hot');
  });

  it('of a resting kiln goes by its temperature alone, and knows nothing before the first reading', () => {
    expect(doorSign(begin(null).state, false)).toEqual({ word: 'unknown', celsius: null, untilMs: null });
    const rests = (fromC: number) => feed(begin(null), line({ fromS: 0, toS: 60, fromC, rateCPerH: 0 })).state;
    expect(doorSign(rests(300), false).word).toBe('hot');
    expect(doorSign(rests(90), false).word).toBe('crack');
    expect(doorSign(rests(24), false).word).toBe('unload');
  });

  it('of a firing without a plan tells a climb from a fall', () => {
    const up = feed(begin(null), curve(0, 3000, way, 20)).state;
    expect(doorSign(up, true).word).toBe('firing');
    const down = feed(begin(null), curve(0, 14_000, way, 20)).state;
    expect(doorSign(down, true)).toMatchObject({ word: 'hot', untilMs: expect.any(Number) });
  });
});
