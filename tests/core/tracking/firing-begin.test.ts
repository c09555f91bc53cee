import { describe, expect, it } from 'vitest';
import type { TimedC } from '../../../daemon/core/numbers/line-fit.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { FRESH_WATCH, IDLE_WATCH, type IdleWatch, watchForBegin } from '../../../daemon/core/tracking/firing-begin.ts';
import { atS, START_MS } from '../feeding.ts';

/** @returns seconds at which it was known, and those from which on it is recorded */
function watched(watch: IdleWatch, lengthS: number, celsiusAt: (s: number) => number): [number, number] | null {
  let now = watch;
  for (let s = 0; s <= lengthS; s += 10) {
    const reading: TimedC = { atMs: atS(s), celsius: celsiusAt(s) };
    const sign = watchForBegin(now, reading);
    if (sign.beganAtMs !== null) return [s, (sign.beganAtMs - START_MS) / 1000];
    now = sign.watch;
  }
  return null;
}

describe('a kiln that is lit while nobody chose a plan', () => {
  it('is recorded from its first warm reading', () => {
    const [knownS, fromS] = watched(IDLE_WATCH, 7200, (s) => (s < 1200 ? 20 : 20 + (s - 1200) / 15)) ?? [0, 0];
    expect(fromS).toBe(1200);
    // 35 °C is fifteen above the room: 225 s at 240 °C an hour.
    expect(knownS).toBeGreaterThanOrEqual(1425);
    expect(knownS).toBeLessThan(1500);
  });

  it('is none on a summer’s day, nor in noise, nor at one leaping reading (seed 4)', () => {
    const random = seededRandom(4);
    expect(watched(IDLE_WATCH, 8 * 3600, (s) => 28 + (8 * s) / (8 * 3600) + random.gaussian())).toBeNull();
    expect(watched(IDLE_WATCH, 3600, (s) => (s === 1800 ? 400 : 20))).toBeNull();
  });

  it('is none while it cools from yesterday', () => {
    expect(watched(FRESH_WATCH, 6 * 3600, (s) => 20 + 130 * Math.exp(-s / 9000))).toBeNull();
  });

  it('is being fired already when the daemon starts at 480 °C and it does not cool', () => {
    const [knownS, fromS] = watched(FRESH_WATCH, 3600, (s) => 480 + s / 30) ?? [0, 0];
    expect(fromS).toBe(0);
    expect(knownS).toBe(120);
    expect(watched(FRESH_WATCH, 3600, () => 660)?.[1]).toBe(0);
  });
});
