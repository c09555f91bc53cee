import { describe, expect, it } from 'vitest';
import type { RawMessage } from '../../daemon/core/inputs.ts';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { summarise } from '../../daemon/core/report/summary.ts';
import { begin, curve, feed, stagedAlerts } from './feeding.ts';

const SEED = 31;
const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
/** A climb past the limit and back, with a little noise; after `fastFromS` so often. */
const tooHot = (everyS: number): RawMessage[] => {
  const random = seededRandom(SEED);
  const way = (s: number): number => (s < 13_100 ? climb(s) : Math.max(climb(13_100) - (s - 13_100) / 30, 655));
  const noisy = (s: number): number => Math.round((way(s) + random.next() - 0.5) * 4) / 4;
  return [...curve(0, 12_300, noisy, 10), ...curve(12_301, 14_500, noisy, everyS)];
};

describe(`a couple that speaks forty times a second (seed ${SEED})`, () => {
  const rows = tooHot(0.025);
  const fast = feed(begin(), rows);

  it('leads to the alerts of one that speaks each second, at about the same moments', () => {
    const usual = stagedAlerts(feed(begin(), tooHot(1)));
    const alerts = stagedAlerts(fast);
    expect(alerts.map((a) => `${a.alert} ${a.phase}`)).toEqual(usual.map((a) => `${a.alert} ${a.phase}`));
    expect(alerts.length).toBeGreaterThan(2);
    for (const [i, alert] of alerts.entries())
      expect(Math.abs(alert.atMs - (usual[i]?.atMs ?? 0))).toBeLessThanOrEqual(30_000);
  });

  it('has every one of its readings told and counted, and the hottest is the peak', () => {
    expect(fast.events.filter((e) => e.type === 'reading' && e.quality === 'good')).toHaveLength(rows.length);
    const { readings, rejected, peakC } = summarise(fast.state);
    expect({ readings, rejected }).toEqual({ readings: rows.length, rejected: 0 });
    expect(peakC.shelf).toBe(Math.max(...rows.map(({ text }) => Number(text))));
  });

  it('costs a position and a forecast only some times a second', () => {
    const positions = fast.events.filter((e) => e.type === 'position').length;
    const seconds = 12_300 / 10 + 2_200;
    expect(positions).toBeGreaterThan(seconds);
    expect(positions).toBeLessThan(6 * seconds);
  });
});
