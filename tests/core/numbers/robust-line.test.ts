import { describe, expect, it } from 'vitest';
import { fitRobustLine } from '../../../daemon/core/numbers/robust-line.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { listOf } from '../../../daemon/core/numbers/timed-list.ts';
import { perHour } from '../../../daemon/core/numbers/units.ts';

const climb = (s: number): number => 500 + s / 30;
const readingsOf = (everyS: number, celsiusAt: (s: number) => number) =>
  Array.from({ length: Math.floor(240 / everyS) + 1 }, (_, i) => ({
    atMs: i * everyS * 1000,
    celsius: celsiusAt(i * everyS),
  }));

describe('a line through readings of which some are wild', () => {
  it.each([1, 5, 10, 30])('is not moved by a single wild reading, to readings every %d s', (everyS) => {
    const wild = readingsOf(everyS, (s) => climb(s) + (s === 120 + everyS * (everyS === 30 ? 1 : 0) ? 40 : 0));
    const fit = fitRobustLine(listOf(wild), 240);
    expect(perHour(fit?.slopePerS ?? 0)).toBeCloseTo(120, 3);
  });

  it('follows a true change: the latest reading is never the one that is left out', () => {
    const leapt = readingsOf(5, (s) => (s >= 240 ? climb(s) + 30 : climb(s)));
    expect(fitRobustLine(listOf(leapt), 240)?.count).toBe(leapt.length);
  });

  it.each([0.25, 1])('knows how unsure it is of readings in steps of %d °C (seed 4)', (stepC) => {
    const random = seededRandom(4);
    let outside = 0;
    for (let i = 0; i < 200; i++) {
      const rateCPerH = 20 + 200 * random.next();
      const offC = random.next();
      const fit = fitRobustLine(
        listOf(readingsOf(5, (s) => Math.round((500 + offC + (s * rateCPerH) / 3600) / stepC) * stepC)),
        120,
      );
      if (fit === undefined) throw new Error('no line');
      if (Math.abs(perHour(fit.slopePerS) - rateCPerH) > 2.5 * perHour(fit.slopeSigmaPerS)) outside++;
    }
    expect(outside / 200).toBeLessThan(0.1);
  });
});
