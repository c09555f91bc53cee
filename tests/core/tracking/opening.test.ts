import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { type HeatState, type OpeningSign, watchOpening } from '../../../daemon/core/tracking/opening.ts';
import { fileReading, newSensorTrack } from '../../../daemon/core/tracking/sensor-track.ts';
import { atS, START_MS } from '../feeding.ts';

interface Seen {
  readonly sinceS: number;
  readonly sign: OpeningSign;
  readonly overS: number | null;
}

function watchKiln(
  lengthS: number,
  everyS: number,
  heat: HeatState,
  celsiusAt: (s: number) => number,
  fuel: 'gas' | 'electric' = 'gas',
  climbPerS = 0,
): Seen[] {
  let track = newSensorTrack('shelf');
  let sign: OpeningSign | null = null;
  const seen: Seen[] = [];
  for (let s = 0; s <= lengthS; s += everyS) {
    track = fileReading(track, { atMs: atS(s), celsius: celsiusAt(s) });
    const next = watchOpening(sign, track, heat, 0, fuel, climbPerS);
    if (sign === null && next !== null)
      seen.push({ sinceS: (next.sinceMs - START_MS) / 1000, sign: next, overS: null });
    const last = seen[seen.length - 1];
    if (sign !== null && next === null && last !== undefined) seen[seen.length - 1] = { ...last, overS: s };
    sign = next;
  }
  return seen;
}

/** Cooling from 310 °C; the door is open from minute 20 for 40 s, and takes 40 °C with it that come back by half. */
const opened = (s: number): number => {
  const shut = 310 * Math.exp(-s / 14_000);
  if (s < 1200) return shut;
  const openS = Math.min(s - 1200, 40);
  return shut - 40 * (1 - Math.exp(-openS / 25)) * (0.5 + 0.5 * Math.exp(-Math.max(s - 1240, 0) / 60));
};

describe('a door opened that no switch tells of', () => {
  it.each([0.5, 1, 5, 10])(
    'shows within a minute in the fall of readings every %d s, and is over when it is shut',
    (everyS) => {
      const seen = watchKiln(3000, everyS, 'cooling', opened);
      expect(seen).toHaveLength(1);
      expect(seen[0]?.sinceS).toBeGreaterThanOrEqual(1200);
      expect(seen[0]?.sinceS).toBeLessThanOrEqual(1230);
      expect(seen[0]?.overS).toBeLessThan(1400);
      expect(seen[0]?.sign.beforeC).toBeCloseTo(310 * Math.exp(-1155 / 14_000), 0);
    },
  );

  it('is none where the kiln falls by itself, however fast (seed 3)', () => {
    const random = seededRandom(3);
    for (const constantS of [2000, 4000, 14_000]) {
      expect(
        watchKiln(4 * 3600, 5, 'cooling', (s) => 20 + 560 * Math.exp(-s / constantS) + 0.3 * random.gaussian()),
      ).toEqual([]);
    }
  });

  it('is none where the heat goes off and the couple falls with it, if it is known that it went off', () => {
    // A bare couple loses 30 °C with the flame.
    const off = (s: number): number => (s < 1200 ? 660 : 630 - (s - 1200) / 30 + 30 * Math.exp(-(s - 1200) / 40));
    expect(watchKiln(2400, 5, 'just-off', off)).toEqual([]);
    expect(watchKiln(2400, 5, 'heated', off)).toHaveLength(1);
  });

  it('is none in the ripple of a relay, nor in one lost reading', () => {
    expect(watchKiln(3600, 5, 'heated', (s) => 590 + 5 * Math.sin(s / 20))).toEqual([]);
  });

  it.each([1, 5, 15, 30])(
    'is none where the couple shows less at once and goes on as before, read every %d s',
    (everyS) => {
      // A spot weld that gives, a terminal that works loose: forty degrees between two readings.
      const jumped = (s: number): number => 400 + s / 30 - (s > 1203 ? 40 : 0);
      expect(watchKiln(2400, everyS, 'heated', jumped)).toEqual([]);
    },
  );

  it('is not told from a pause in the readings', () => {
    let track = newSensorTrack('shelf');
    for (let s = 0; s <= 600; s += 5) track = fileReading(track, { atMs: atS(s), celsius: 600 });
    track = fileReading(track, { atMs: atS(1200), celsius: 540 });
    expect(watchOpening(null, track, 'cooling')).toBeNull();
  });

  it('is none where a light chamber falls no faster than it has climbed', () => {
    // 2.2 °C/s, as the chamber of the reference sets falls when its burner goes off; it had climbed by 1.4
    // (gas-compartment-e119, NIST experimental database).
    const off = (s: number): number => (s < 1200 ? 690 : 20 + 670 * Math.exp(-(s - 1200) / 280));
    expect(watchKiln(1500, 15, 'heated', off)).toHaveLength(1);
    expect(watchKiln(1500, 15, 'flame-just-off', off)).toHaveLength(1);
    expect(watchKiln(1500, 15, 'flame-just-off', off, 'gas', 1.37)).toEqual([]);
  });

  it.each([2, 5, 10])(
    'is none of elements that go off, and is of a lid within half a minute, read every %d s',
    (everyS) => {
      // The lightest kiln: 25 °C in its first minute. A lid takes a hundred.
      const off = (s: number): number => 770 - 60 * (1 - Math.exp(-Math.max(s - 1200, 0) / 120));
      const lid = (s: number): number => 770 - 150 * (1 - Math.exp(-Math.max(s - 1200, 0) / 60));
      for (const heat of ['heated', 'just-off', 'settling'] as const) {
        expect(watchKiln(1500, everyS, heat, off, 'electric')).toEqual([]);
      }
      const [seen] = watchKiln(1500, everyS, 'heated', lid, 'electric');
      expect(seen?.sign.isAir).toBe(true);
      expect(seen?.sinceS).toBeLessThanOrEqual(1230);
    },
  );

  it('is told of a gas kiln of readings every ten seconds, where a thick couple falls ever less behind the open door', () => {
    const fell = [0, 0, 12, 32, 45, 55, 63.5, 71.5, 78.5, 85, 91];
    const door = (s: number): number => 540 - (s < 1200 ? 0 : (fell[(s - 1200) / 10] ?? 91));
    const [seen] = watchKiln(1500, 10, 'flame-just-off', door);
    expect(seen?.sign.isAir).toBe(true);
    expect(seen?.sinceS).toBeLessThanOrEqual(1250);
  });

  it('is told from a flame that goes out by a fall that goes on at its pace, whatever the plan says of the flame', () => {
    // A bare bead leaps down and rests; behind a door it falls on.
    const flame = (s: number): number => 800 - 80 * (1 - Math.exp(-Math.max(s - 1200, 0) / 12));
    const door = (s: number): number => 800 - 300 * (1 - Math.exp(-Math.max(s - 1200, 0) / 150));
    for (const everyS of [1, 2, 5]) {
      expect(watchKiln(1500, everyS, 'flame-just-off', flame)).toEqual([]);
      const [seen] = watchKiln(1500, everyS, 'flame-just-off', door);
      expect(seen?.sign.isAir).toBe(true);
      expect(seen?.sinceS).toBeLessThanOrEqual(1260);
    }
  });

  it('is not told of a flue that draws cold air in as the flame goes out, for half a minute as fast as a door', () => {
    // Six times its °C an hour.
    const flue = (s: number): number => 467 - 0.74 * Math.min(Math.max(s - 1200, 0), 50);
    for (const everyS of [1, 2, 5]) expect(watchKiln(1320, everyS, 'flame-just-off', flue)).toEqual([]);
  });
});
