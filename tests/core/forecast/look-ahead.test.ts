import { describe, expect, it } from 'vitest';
import { NO_FORESIGHT } from '../../../daemon/core/forecast/foresight.ts';
import { lookAhead } from '../../../daemon/core/forecast/look-ahead.ts';
import { aheadBandC, aheadC } from '../../../daemon/core/forecast/prospect.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { atS } from '../feeding.ts';
import { type Looked, lookAlong, lookedAt } from './looking.ts';

const steep: Schedule = {
  name: 'up, hold, fall',
  segments: [
    { kind: 'ramp', toC: 620, rateCPerH: 300 },
    { kind: 'hold', minutes: 30 },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
  ],
};

/** A kiln that a controller keeps on its plan, half a minute late; let fall it cools with a time constant of three hours. */
function steered(s: number): number {
  const climbedS = (620 - 20) / (300 / 3600);
  const late = s - 30;
  if (late <= 0) return 20;
  if (late < climbedS) return 20 + (late * 300) / 3600;
  if (late < climbedS + 1800) return 620;
  return 20 + 600 * Math.exp(-(late - climbedS - 1800) / 10_800);
}

const widthC = ({ prospect }: Looked, aheadS: number): number => {
  const { lowC, highC } = aheadBandC(prospect.expected, aheadS);
  return highC - lowC;
};

describe('looking ahead', () => {
  it('knows the corner of a plan that a controller follows, ten minutes before it', () => {
    const looked = lookAlong({ untilS: 7230, everyS: 5, celsiusAt: steered, schedule: steep });
    const before = lookedAt(looked, 6800).prospect;
    // A straight line would be at 636 by then.
    expect(aheadC(before.expected, 600)).toBeLessThan(623);
    expect(aheadC(before.expected, 600)).toBeGreaterThan(616);
    expect(aheadC(before.untouched, 600)).toBeGreaterThan(625);
  });

  it('knows that the kiln falls once the hold is over', () => {
    const looked = lookAlong({ untilS: 8800, everyS: 5, celsiusAt: steered, schedule: steep });
    const before = lookedAt(looked, 8700).prospect;
    expect(aheadC(before.expected, 900)).toBeLessThan(610);
    expect(aheadC(before.untouched, 900)).toBeGreaterThan(615);
  });

  it('is unsure how fast a kiln falls that it has not seen fall yet, and of nothing before the fall', () => {
    const looked = lookAlong({ untilS: 8700, everyS: 5, celsiusAt: steered, schedule: steep });
    const before = lookedAt(looked, 8700);
    expect(widthC(before, 900)).toBeGreaterThan(30);
    expect(widthC(before, 120)).toBeLessThan(5);
  });

  it('notices a turned valve within three minutes', () => {
    const turnedS = 3600;
    const way = (s: number): number =>
      100 + (Math.min(s, turnedS) * 240) / 3600 + (Math.max(s - turnedS, 0) * 60) / 3600;
    const looked = lookAlong({ untilS: 4000, everyS: 2, celsiusAt: way });
    const wrongC = Math.abs(aheadC(lookedAt(looked, turnedS).prospect.untouched, 600) - way(turnedS + 600));
    const after = lookedAt(looked, turnedS + 180);
    const leftC = Math.abs(aheadC(after.prospect.untouched, 600) - way(after.s + 600));
    expect(wrongC).toBeGreaterThan(25);
    expect(leftC).toBeLessThan(6);
  });

  it('follows a kiln that begins to climb after half an hour at rest within ten seconds, whatever was right at rest', () => {
    const beginsS = 1800;
    const way = (s: number): number =>
      100 + 0.05 * Math.sin(12.9898 * s) + 200 * (1 - Math.exp(-Math.max(s - beginsS, 0) / 80));
    const looked = lookAlong({ untilS: 1900, everyS: 1, celsiusAt: way });
    const { s, prospect } = lookedAt(looked, beginsS + 10);
    expect(way(s + 30) - way(s)).toBeGreaterThan(50);
    expect(Math.abs(aheadC(prospect.expected, 30) - way(s + 30))).toBeLessThan(12);
  });

  it('is less sure of itself after a change than before it, and surer again later', () => {
    const openedS = 3600;
    const way = (s: number): number => 100 + (s * 150) / 3600 - 60 * (1 - Math.exp(-Math.max(s - openedS, 0) / 60));
    const looked = lookAlong({ untilS: 9000, everyS: 2, celsiusAt: way });
    const before = widthC(lookedAt(looked, openedS - 10), 300);
    const after = widthC(lookedAt(looked, openedS + 40), 300);
    const later = widthC(lookedAt(looked, 9000), 300);
    expect(after).toBeGreaterThan(4 * before);
    expect(later).toBeLessThan(after / 2);
  });

  it('foresees a kiln left alone better than as it is and than a straight line once it has seen it a while', () => {
    for (const constantS of [600, 1800, 7200]) {
      const way = (s: number): number => 700 - 600 * Math.exp(-s / constantS);
      const looked = lookAlong({ untilS: 5400, everyS: 5, celsiusAt: way });
      let own = 0;
      let still = 0;
      let line = 0;
      for (const { s, prospect } of looked) {
        if (s < 2400) continue;
        const trueC = way(s + 600);
        own += (aheadC(prospect.untouched, 600) - trueC) ** 2;
        still += (way(s) - trueC) ** 2;
        line += (way(s) + (way(s) - way(s - 60)) * 10 - trueC) ** 2;
      }
      expect(Math.sqrt(own / Math.min(still, line)), `${constantS} s`).toBeLessThan(0.8);
    }
  });

  it('is never much worse than the better of as it is and a straight line, and on the whole as good (seeds 1 to 12)', () => {
    let logs = 0;
    for (let seed = 1; seed <= 12; seed++) {
      const random = seededRandom(seed);
      const rates = Array.from({ length: 12 }, () => (random.next() < 0.3 ? 0 : 300 * (random.next() - 0.35)));
      const readings: number[] = [];
      let celsius = 200;
      for (let s = 0; s <= 12 * 900; s += 5) {
        celsius += ((rates[Math.floor(s / 900)] ?? 0) * 5) / 3600;
        readings.push(celsius + 0.3 * random.gaussian());
      }
      const at = (s: number): number => readings[s / 5] ?? Number.NaN;
      const looked = lookAlong({ untilS: 10_800 - 300, everyS: 5, celsiusAt: at });
      let own = 0;
      let still = 0;
      let line = 0;
      for (const { s, prospect } of looked) {
        if (s < 300) continue;
        const trueC = at(s + 300);
        own += (aheadC(prospect.expected, 300) - trueC) ** 2;
        still += (at(s) - trueC) ** 2;
        line += (at(s) + ((at(s) - at(s - 120)) * 300) / 120 - trueC) ** 2;
      }
      const ratio = Math.sqrt(own / Math.min(still, line));
      expect(ratio, `seed ${seed}`).toBeLessThan(1.25);
      logs += Math.log(ratio) / 12;
    }
    expect(Math.exp(logs)).toBeLessThan(1.05);
  });

  it('has nine truths of ten in its band, in noise and through changes (seed 3)', () => {
    const random = seededRandom(3);
    const readings: number[] = [];
    let celsius = 200;
    let rate = 150;
    for (let s = 0; s <= 40_000; s += 10) {
      if (s % 1500 === 0) rate = 300 * (random.next() - 0.45);
      celsius += (rate * 10) / 3600;
      readings.push(celsius + 0.4 * random.gaussian());
    }
    const at = (s: number): number => readings[s / 10] ?? Number.NaN;
    const looked = lookAlong({ untilS: 39_400, everyS: 10, celsiusAt: at });
    for (const aheadS of [120, 300, 600]) {
      const within = looked.filter(({ s, prospect }) => {
        const { lowC, highC } = aheadBandC(prospect.expected, aheadS);
        return at(s + aheadS) >= lowC && at(s + aheadS) <= highC;
      });
      expect(within.length / looked.length).toBeGreaterThan(0.86);
      expect(within.length / looked.length).toBeLessThan(0.95);
    }
  });

  it('is not unsure for an hour because it knew little of a cold kiln (seed 4)', () => {
    const random = seededRandom(4);
    // Lit with a leap of 40 °C in two minutes, as a gas kiln is, then climbs as planned in the slow waves of a hand.
    const way = (s: number): number => {
      const leapC = 40 * Math.min(s / 120, 1) * Math.exp(-s / 1200);
      return 20 + leapC + (s * 300) / 3600 + 3 * Math.sin(s / 150);
    };
    const looked = lookAlong({
      untilS: 2700,
      everyS: 5,
      celsiusAt: (s) => way(s) + 0.3 * random.gaussian(),
      schedule: steep,
    });
    const last = lookedAt(looked, 2700);
    expect(widthC(last, 1800)).toBeLessThan(60);
    const { lowC, highC } = aheadBandC(last.prospect.expected, 1800);
    expect(way(4500)).toBeGreaterThan(lowC);
    expect(way(4500)).toBeLessThan(highC);
  });

  it('changes nothing of what it was handed, and says of the first readings what it says of them alone', () => {
    const whole = lookAlong({ untilS: 1200, everyS: 5, celsiusAt: steered, schedule: steep });
    const part = lookAlong({ untilS: 600, everyS: 5, celsiusAt: steered, schedule: steep });
    expect(whole.slice(0, part.length).map((one) => one.prospect)).toEqual(part.map((one) => one.prospect));
    const held = part[part.length - 1]?.foresight ?? NO_FORESIGHT;
    const copy = structuredClone(held);
    const known = { schedule: null, track: null, intervalS: 5, isLeap: false, rate: undefined };
    lookAhead(held, { atMs: atS(605), celsius: 90 }, known);
    expect(held).toEqual(copy);
  });

  it('goes on after a pause of an hour without judging what fell due in it', () => {
    const way = (s: number): number => (s <= 1800 ? 100 + s / 20 : 400);
    const looked = lookAlong({ untilS: 1800, everyS: 10, celsiusAt: way });
    const held = lookedAt(looked, 1800).foresight;
    const known = { schedule: null, track: null, intervalS: 10, isLeap: true, rate: undefined };
    const after = lookAhead(held, { atMs: atS(5400), celsius: 400 }, known);
    expect(after.judged.map(({ score }) => score.squares)).toEqual(held.judged.map(({ score }) => score.squares));
    expect(after.judged.every(({ promises }) => promises.every((p) => p.dueAtMs > atS(5400)))).toBe(true);
  });
});
