import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { TimedC } from '../../../daemon/core/numbers/line-fit.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import {
  isPlanOver,
  type PlanTrack,
  plannedNowC,
  startPlan,
  trackPlan,
} from '../../../daemon/core/tracking/plan-track.ts';
import { atS, begin, curve, deed, feed, line, matt, START_MS } from '../feeding.ts';

const TOLERANCE_C = 6;

/** A way through corners [minute, °C], a reading every ten seconds. */
function way(...corners: readonly (readonly [number, number])[]): TimedC[] {
  const readings: TimedC[] = [];
  for (let i = 1; i < corners.length; i++) {
    const [fromMin, fromC] = corners[i - 1] ?? [0, 0];
    const [toMin, toC] = corners[i] ?? [0, 0];
    for (let s = fromMin * 60; s < toMin * 60; s += 10) {
      readings.push({ atMs: atS(s), celsius: fromC + ((toC - fromC) * (s - fromMin * 60)) / ((toMin - fromMin) * 60) });
    }
  }
  const [lastMin, lastC] = corners[corners.length - 1] ?? [0, 0];
  return [...readings, { atMs: atS(lastMin * 60), celsius: lastC }];
}

function track(schedule: Schedule, readings: readonly TimedC[], toleranceC = TOLERANCE_C): PlanTrack {
  const [first, ...rest] = readings;
  if (first === undefined) throw new Error('no readings');
  return rest.reduce((t, reading) => trackPlan(schedule, t, reading, toleranceC), startPlan(first));
}

const minuteOf = (atMs: number): number => (atMs - START_MS) / 60_000;
const endings = (t: PlanTrack): number[] => t.past.map((p) => Math.round(minuteOf(p.endedAtMs)));

const upAndHold: Schedule = {
  name: 'Up and hold',
  segments: [
    { kind: 'ramp', toC: 600, rateCPerH: 300 },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall' },
  ],
};

describe('a controller that ends its programme while this couple is short of the top', () => {
  // 600 °C in 116 minutes at the earliest, and 15 minutes of hold: the programme ends 131 minutes after it began.
  const short = way([0, 20], [112, 580], [131, 582], [150, 480]);
  const goThrough = (readings: readonly TimedC[], heat: 'gas' | 'electric'): PlanTrack => {
    const [first = { atMs: 0, celsius: 0 }, ...rest] = readings;
    return rest.reduce((t, reading) => trackPlan(upAndHold, t, reading, TOLERANCE_C, heat), startPlan(first));
  };

  it('has left its climb once it plainly falls', () => {
    expect(goThrough(short, 'electric').segment).toBe(2);
  });

  it('is in it still where a hand fires: it goes by no clock', () => {
    expect(goThrough(short, 'gas').segment).toBe(0);
  });

  it('is in it still where the fall comes far from the end of the programme', () => {
    expect(goThrough(way([0, 20], [80, 480], [95, 380]), 'electric').segment).toBe(0);
    expect(goThrough(way([0, 20], [180, 580], [195, 480]), 'electric').segment).toBe(0);
  });
});

describe('a plan that waits for the kiln', () => {
  it('goes on when the kiln is there, be it late or early', () => {
    expect(endings(track(upAndHold, way([0, 20], [60, 600])))[0]).toBe(60);
    expect(endings(track(upAndHold, way([0, 20], [240, 600])))[0]).toBe(239);
  });

  it('does not begin before the kiln warms: lighting takes its time', () => {
    const lit = track(upAndHold, way([0, 20], [30, 20], [40, 60]));
    expect(lit.hasMoved).toBe(true);
    expect(minuteOf(lit.startedAtMs)).toBeGreaterThan(29);
    expect(minuteOf(lit.startedAtMs)).toBeLessThan(32);
    expect(track(upAndHold, way([0, 20], [30, 21])).hasMoved).toBe(false);
  });

  it('counts a hold as done and in band side by side: a little under still works, but is not in band', () => {
    // Ten minutes at 600, then five minutes 8 °C too hot: the clock runs, the band does not.
    const hot = track(upAndHold, way([0, 20], [60, 600], [68, 600], [68.2, 608], [72, 608]));
    expect(hot.segment).toBe(1);
    expect(hot.hold.doneS).toBeGreaterThan(700);
    expect(hot.hold.inBandS).toBeLessThan(500);
    // Far under, neither counts.
    const cold = track(upAndHold, way([0, 20], [60, 600], [62, 600], [62.5, 588], [70, 588]));
    expect(cold.hold.doneS).toBeLessThan(165);
  });

  it('ends a hold when its minutes are done', () => {
    const done = track(upAndHold, way([0, 20], [60, 600], [80, 600]));
    expect(done.segment).toBe(2);
    expect(done.holds[1]?.inBandS).toBeGreaterThanOrEqual(900);
    expect(done.holds[1]?.inBandS).toBeLessThanOrEqual(910);
    expect(endings(done)).toEqual([60, 75]);
  });

  it('takes a kiln that rests a degree or two short of its target for three minutes to be there', () => {
    expect(track(upAndHold, way([0, 20], [60, 596], [62, 596])).segment).toBe(0);
    expect(track(upAndHold, way([0, 20], [60, 596], [64, 596])).segment).toBe(1);
    // One that climbs on towards it is not there yet.
    expect(track(upAndHold, way([0, 20], [60, 595], [64, 597.5])).segment).toBe(0);
  });

  it('sees that the hand let go early, and does not count on', () => {
    const early = track(upAndHold, way([0, 20], [60, 600], [65, 600], [75, 560]));
    expect(early.segment).toBe(2);
    expect(early.holds[1]?.doneS).toBeLessThan(450);
    // A dip of a few degrees is no letting go.
    expect(track(upAndHold, way([0, 20], [60, 600], [65, 600], [67, 590])).segment).toBe(1);
  });

  it('is past a hold on the way down that the kiln has fallen through unseen', () => {
    const annealed: Schedule = {
      ...upAndHold,
      segments: [
        ...upAndHold.segments.slice(0, 2),
        { kind: 'ramp', toC: 520, rateCPerH: 'let-fall' },
        { kind: 'hold', minutes: 20 },
        { kind: 'ramp', toC: 150, rateCPerH: 'let-fall' },
      ],
    };
    const fallen = [...way([0, 20], [116, 600], [132, 600], [140, 560]), { atMs: atS(180 * 60), celsius: 480 }];
    expect(track(annealed, fallen).segment).toBe(4);
  });

  it('follows a kiln that is let fall down to its target, in its own time', () => {
    const falling = way([0, 20], [60, 600], [76, 600], [200, 152]);
    expect(track(upAndHold, falling).segment).toBe(2);
    expect(isPlanOver(upAndHold, track(upAndHold, [...falling, { atMs: atS(12_100), celsius: 150.2 }]))).toBe(true);
  });

  it('wants no temperature of a climb that is flat out', () => {
    const flatOut: Schedule = { name: 'Flat out', segments: [{ kind: 'ramp', toC: 600, rateCPerH: 'flat-out' }] };
    expect(plannedNowC(flatOut, track(flatOut, way([0, 20], [30, 300])), atS(1800))).toBeNull();
    expect(isPlanOver(flatOut, track(flatOut, way([0, 20], [30, 300], [60, 600])))).toBe(true);
  });

  it('dries at 50 °C for 20 minutes and is done', () => {
    const drying: Schedule = {
      name: 'Drying',
      segments: [
        { kind: 'ramp', toC: 50, rateCPerH: 60 },
        { kind: 'hold', minutes: 20 },
      ],
    };
    const dried = track(drying, way([0, 18], [30, 50], [52, 51]), 8);
    expect(isPlanOver(drying, dried)).toBe(true);
    expect(dried.holds[1]?.inBandS).toBeGreaterThanOrEqual(1200);
  });

  it('lets the clock of a hold go on over ten minutes without readings, but proves no minutes in band by them', () => {
    const before = way([0, 20], [60, 600], [62, 600]);
    const gap = [...before, { atMs: atS(72 * 60), celsius: 600 }];
    expect(track(upAndHold, gap).hold.doneS).toBeGreaterThan(690);
    expect(track(upAndHold, gap).hold.inBandS).toBeLessThan(135);
    // After an hour nobody can say what the kiln did.
    const long = [...before, { atMs: atS(122 * 60), celsius: 600 }];
    expect(track(upAndHold, long).hold.doneS).toBeLessThan(135);
  });
});

describe('what a kiln has had of its top', () => {
  it('is there once it shows the top, or no degree more for ten minutes', () => {
    expect(minuteOf(track(upAndHold, way([0, 20], [116, 600], [120, 600])).thereAtMs ?? 0)).toBeCloseTo(116, 0);
    const rests = way([0, 20], [116, 596], [118, 597], [132, 597]);
    expect(minuteOf(track(upAndHold, rests).thereAtMs ?? 0)).toBeCloseTo(116, 0);
    expect(track(upAndHold, way([0, 20], [116, 596], [118, 597], [123, 597])).thereAtMs).toBeNull();
  });

  it('is not known to have rested through half an hour in which nothing was heard', () => {
    const unseen = [...way([0, 20], [116, 596], [118, 597]), ...way([148, 597], [150, 597])];
    expect(track(upAndHold, unseen).thereAtMs).toBeNull();
  });

  it('is counted from the tolerance on, on the way up, in the hold and on the way down', () => {
    // Six degrees up in 1.2 minutes, 15 minutes of hold, six degrees down in 36 seconds.
    const { segment, atTopS } = track(upAndHold, way([0, 20], [116, 600], [131, 600], [141, 500]));
    expect(segment).toBe(2);
    expect(atTopS / 60).toBeCloseTo(16.8, 0);
  });

  it('is counted by the clock too where the kiln comes to it after its hold should be over', () => {
    const late = track({ ...upAndHold, waits: false }, way([0, 20], [140, 600], [150, 600]));
    expect(late.segment).toBe(2);
    expect(minuteOf(late.thereAtMs ?? 0)).toBeCloseTo(140, 0);
    expect(late.atTopS / 60).toBeCloseTo(11.4, 0);
  });
});

describe('slow time', () => {
  it('is what a climb loses on its own pace where it works on paint and glass, and no more', () => {
    // To 450 °C at half of the pace, on at two thirds of it: 100 °C in 30 minutes instead of 20.
    const slow = way([0, 20], [172, 450], [202, 550]);
    expect(track(upAndHold, slow).slowS / 60).toBeCloseTo(10, 0);
  });

  it('is none of an unseen stretch that began below where it works', () => {
    const unseen = [...way([0, 20], [80, 420]), { atMs: atS(125 * 60), celsius: 560 }];
    expect(track(upAndHold, unseen).slowS).toBe(0);
  });

  it('is made good by a faster pace', () => {
    expect(track(upAndHold, way([0, 20], [86, 450], [116, 550], [121, 590])).slowS / 60).toBeCloseTo(7, 0);
  });
});

describe('a warm start', () => {
  it('is no fault: a kiln at 480 on its way up is past the ramp to 450, and its hold is counted', () => {
    const warm = track(matt, way([0, 480], [90, 660], [110, 660], [130, 600]));
    expect(warm.segment).toBe(3);
    expect(warm.holds[2]?.inBandS).toBeGreaterThanOrEqual(900);
  });

  it('leaves out every ramp that lies behind it, however many', () => {
    const stairs: Schedule = {
      name: 'Stairs',
      segments: [150, 300, 450, 660].map((toC) => ({ kind: 'ramp', toC, rateCPerH: 200 }) as const),
    };
    expect(track(stairs, way([0, 500], [5, 510])).segment).toBe(3);
    expect(track(stairs, way([0, 20], [5, 40])).segment).toBe(0);
  });

  it('above the top waits for the kiln to come down to it', () => {
    const cooling: Schedule = {
      name: 'Anneal again',
      segments: [
        { kind: 'ramp', toC: 540, rateCPerH: 60 },
        { kind: 'hold', minutes: 30 },
      ],
    };
    expect(track(cooling, way([0, 600], [30, 570])).segment).toBe(0);
    expect(track(cooling, way([0, 600], [62, 540])).segment).toBe(1);
  });

  it('has come to the hold that catches its fall once it rests within the tolerance, though a degree or two above', () => {
    const caught: Schedule = {
      name: 'Caught',
      segments: [
        { kind: 'ramp', toC: 660, rateCPerH: 'flat-out' },
        { kind: 'ramp', toC: 516, rateCPerH: 'let-fall' },
        { kind: 'hold', minutes: 30 },
        { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
      ],
    };
    const rests = track(caught, way([0, 20], [100, 660], [130, 520], [150, 520]));
    expect(rests.segment).toBe(2);
    expect(track(caught, way([0, 20], [100, 660], [130, 520])).segment).toBe(1);
  });
});

describe('a plan by the clock', () => {
  const byClock: Schedule = { ...upAndHold, waits: false };
  // 20 to 600 at 300 °C/h: 116 minutes.

  it('has begun at its planned minute, and moves as soon as the kiln warms', () => {
    expect(track(byClock, way([0, 20], [7, 20])).hasMoved).toBe(false);
    const moved = track(byClock, way([0, 20], [7, 20], [17, 60]));
    expect(moved.hasMoved).toBe(true);
    expect(moved.startedAtMs).toBe(START_MS);
  });

  it('has begun with a kiln that was switched on plainly later, but for the time it takes to show', () => {
    const later = track(byClock, way([0, 20], [15, 20], [131, 600], [135, 600]));
    // 3 °C at 300 °C/h are 0.6 minutes.
    expect(endings(later)).toEqual([131]);
    expect(later.segment).toBe(1);
    const slow = track(byClock, way([0, 20], [7, 20], [20, 60]));
    expect(minuteOf(slow.startedAtMs)).toBe(0);
  });

  it('has not begun by what a couple in a cold kiln trembles', () => {
    const waits = way([0, 20], [1, 22], [2, 19], [3, 22], [4, 20], [14, 20]);
    expect(track(byClock, waits).hasMoved).toBe(false);
    const lone = waits.map((reading, i) => (i === 60 ? { ...reading, celsius: 24 } : reading));
    expect(track(byClock, lone).hasMoved).toBe(false);
  });

  it('goes on when its time is up, wherever the kiln is', () => {
    const late = track(byClock, way([0, 20], [130, 500]));
    expect(late.segment).toBe(1);
    expect(endings(late)).toEqual([116]);
    expect(late.hold.doneS).toBeGreaterThan(13 * 60);
    expect(late.hold.inBandS).toBe(0);
  });

  it('holds for its minutes from the planned start', () => {
    expect(endings(track(byClock, way([0, 20], [140, 500])))).toEqual([116, 131]);
  });

  it('wants what the plan says at each minute', () => {
    const t = track(byClock, way([0, 20], [30, 100]));
    expect(plannedNowC(byClock, t, atS(1800))).toBeCloseTo(20 + 150, 6);
    expect(plannedNowC(byClock, t, atS(200 * 60))).toBe(600);
  });
});

describe('a plan that is given late', () => {
  const firing = (everyS: number) =>
    curve(
      0,
      16_200,
      (s) => (s < 6450 ? 20 + s / 15 : s < 12_750 ? 450 + (s - 6450) / 30 : s < 13_800 ? 660 : 660 - (s - 13_800) / 20),
      everyS,
    );

  it.each([3000, 6480, 9000, 12_780, 13_200, 14_400, 16_000])(
    'leads to the same place after %i seconds as one that was there from the start',
    (givenS) => {
      for (const everyS of [1, 5, 30]) {
        const rows = firing(everyS).filter((r) => r.atMs <= atS(givenS));
        const after = line({ fromS: givenS + 30, toS: givenS + 60, fromC: 0, rateCPerH: 0, everyS: 30 }).map((r) => ({
          ...r,
          text: firing(1)[(r.atMs - START_MS) / 1000]?.text ?? '20',
        }));
        const early = feed(begin(matt), [...rows, ...after]).state.track;
        const late = feed(begin(null), [...rows, deed(givenS, { deed: 'plan', schedule: matt }), ...after]).state.track;
        expect(late?.segment).toBe(early?.segment);
        // The way that the plan is laid over is kept every 15 s.
        expect(Math.abs((late?.startedAtMs ?? 0) - (early?.startedAtMs ?? 0))).toBeLessThanOrEqual(15_000);
        expect(Math.abs((late?.hold.doneS ?? 0) - (early?.hold.doneS ?? 0))).toBeLessThanOrEqual(15);
      }
    },
  );
});

describe('whatever the kiln does (seed 23)', () => {
  const corners = fc.array(fc.tuple(fc.integer({ min: 1, max: 90 }), fc.integer({ min: 0, max: 900 })), {
    minLength: 1,
    maxLength: 8,
  });
  const ways = corners.map((list) => {
    let minute = 0;
    return way(
      [0, 20],
      ...list.map(([minutes, celsius]): readonly [number, number] => {
        minute += minutes;
        return [minute, celsius];
      }),
    );
  });

  it('the plan never goes back, never skips a segment without a word, and never counts more than the clock', () => {
    fc.assert(
      fc.property(ways, fc.constantFrom(matt, upAndHold, { ...matt, waits: false }), (readings, schedule) => {
        let before = startPlan(readings[0] ?? { atMs: 0, celsius: 0 });
        for (const reading of readings) {
          const now = trackPlan(schedule, before, reading, TOLERANCE_C);
          expect(now.segment).toBeGreaterThanOrEqual(before.segment);
          expect(now.past.map((p) => p.segment)).toEqual(Array.from({ length: now.segment }, (_, i) => i));
          before = now;
        }
        const lastedS = (before.last.atMs - START_MS) / 1000;
        for (const done of Object.values(before.holds)) {
          expect(done.inBandS).toBeLessThanOrEqual(lastedS);
          expect(done.doneS).toBeLessThanOrEqual(lastedS);
        }
      }),
      { seed: 23, numRuns: 150 },
    );
  });
});
