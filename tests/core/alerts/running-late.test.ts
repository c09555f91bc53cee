import { describe, expect, it } from 'vitest';
import {
  begin,
  climbOfMatt,
  curve,
  type Fed,
  feed,
  kilnOf,
  lid,
  matt,
  mattAiredTo,
  reading,
  stagedAlerts,
} from '../feeding.ts';

const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'running-late' && a.phase !== 'over');

describe('a firing that comes late', () => {
  const slow = curve(0, 12_300, (s) => (s < 6450 ? climbOfMatt(s) : 450 + (s - 6450) / 37));

  it('is foreseen at four fifths of its pace, and happens a quarter of an hour behind above 500 °C', () => {
    expect(told(feed(begin(), slow)).map((a) => a.phase)).toEqual(['foreseen', 'happening']);
  });

  it('is a note below 500 °C, where it harms nothing', () => {
    const cold = told(
      feed(
        begin(),
        curve(0, 9000, (s) => 20 + s / 22),
      ),
    );
    expect(cold[0]).toMatchObject({ phase: 'foreseen', priority: 'note' });
    expect(cold[0]?.message).toMatch(/harms nothing yet/);
  });

  it('is no note yet of forty minutes below 500 °C', () => {
    expect(
      told(
        feed(
          begin(),
          curve(0, 7500, (s) => 20 + s / 22),
        ),
      ),
    ).toEqual([]);
  });

  it('is none of what was lost while the smoke was let off, which everybody knows', () => {
    // From 452 to 480 °C in half an hour with the lid up, and on at three quarters of the pace.
    const shutS = 8280;
    const slows = (s: number): number =>
      s < 6480 ? 20 + s / 15 : s < shutS ? 452 + (s - 6480) / 64 : 480 + (s - shutS) / 40;
    const fed = feed(begin(mattAiredTo(480), kilnOf({ heat: 'electric', closure: 'lid' })), [
      reading(5, 'open', 'lid'),
      ...curve(10, shutS, slows),
      lid(shutS + 1, false),
      ...curve(shutS + 10, shutS + 600, slows),
    ]);
    expect(told(fed)).toEqual([]);
  });

  it('counts what was lost in the heat: a hand that was twenty minutes behind before, and keeps the pace since, harms nothing', () => {
    const behind = curve(0, 12_600, (s) => (s < 7650 ? 20 + s * (430 / 7650) : 450 + (s - 7650) / 33));
    expect(told(feed(begin(), behind))).toEqual([]);
  });

  it('is none at the pace of the plan', () => {
    expect(told(feed(begin(), curve(0, 12_600, climbOfMatt)))).toEqual([]);
  });

  it('goes without saying after a climb that was told as standing still', () => {
    // Still for 25 minutes, then on at the plan's pace.
    const stood = curve(0, 12_300, (s) => climbOfMatt(Math.min(s, 8250) + Math.max(s - 9750, 0)));
    const fed = feed(begin(), stood);
    expect(told(fed)).toEqual([]);
    expect(stagedAlerts(fed).map((a) => `${a.alert} ${a.phase}`)).toContain('stalled-ramp over');
  });

  it('goes without saying after nobody knew how hot it was', () => {
    // Half an hour of a figure that is no temperature, and on at three quarters of the pace.
    const broken = curve(0, 10_800, (s) =>
      s < 7500 ? climbOfMatt(s) : s < 9300 ? 9999 : climbOfMatt(7500) + (s - 9300) / 40,
    );
    const fed = feed(begin(), broken);
    expect(stagedAlerts(fed).map((a) => `${a.alert} ${a.phase}`)).toContain('sensor-fault over');
    expect(told(fed)).toEqual([]);
  });

  it('is told of a kiln that a programme by the clock leaves behind, also once that holds already', () => {
    const byClock = { ...matt, waits: false };
    const electric = kilnOf({ heat: 'electric', closure: 'lid' });
    // Seven tenths of its pace from 575 °C on: twelve minutes behind as the programme comes to its hold, and more after.
    const sags = curve(0, 13_600, (s) => Math.min(climbOfMatt(s), 575 + Math.max(s - 10_200, 0) / 43));
    const behind = told(feed(begin(byClock, electric), sags));
    expect(behind.map((a) => a.phase)).toEqual(['foreseen', 'happening']);
    expect(
      told(
        feed(
          begin(byClock, electric),
          curve(0, 13_600, (s) => climbOfMatt(Math.max(s - 480, 0))),
        ),
      ),
    ).toEqual([]);
    // Nor of a couple that shows a little less than the controller's, nor once that has let go.
    const fallen = curve(0, 16_000, (s) => (s < 13_600 ? Math.min(climbOfMatt(s), 653) : 653 - (s - 13_600) / 14));
    expect(told(feed(begin(byClock, electric), fallen))).toEqual([]);
  });
});
