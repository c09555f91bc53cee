import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { type Harm, harmWatch, isTooLate, plannedClimbMinutes, topHoldMinutes } from '../../simulators/harm.ts';

const plan: Schedule = {
  name: '660',
  segments: [
    { kind: 'ramp', toC: 450, rateCPerH: 240 },
    { kind: 'ramp', toC: 660, rateCPerH: 120 },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
  ],
};

/** Lets the glass follow a curve second by second; gives when each harm was first there, in seconds. */
function follow(schedule: Schedule, curve: (s: number) => number, seconds: number): Map<Harm, number> {
  const watch = harmWatch(schedule, 6);
  const first = new Map<Harm, number>();
  for (let s = 0; s < seconds; s++) {
    for (const harm of watch.watch(curve(s))) if (!first.has(harm)) first.set(harm, s);
  }
  return first;
}

/** Straight lines between corners [second, °C]. */
const through =
  (...corners: readonly (readonly [number, number])[]) =>
  (s: number): number => {
    const next = corners.findIndex(([at]) => at > s);
    const [toS, toC] = corners[next] ?? corners[corners.length - 1] ?? [0, 0];
    const [fromS, fromC] = corners[next - 1] ?? [toS, toC];
    return toS === fromS ? toC : fromC + ((toC - fromC) * (s - fromS)) / (toS - fromS);
  };

describe('harm to the glass', () => {
  it('is none in a firing that does what the plan says', () => {
    // 20 → 450 at 240/h: 6450 s; → 660 at 120/h: 6300 s; 900 s held; then 8 °C a minute down to 300.
    const curve = through([0, 20], [6450, 450], [12_750, 660], [13_650, 660], [16_350, 300]);
    expect([...follow(plan, curve, 16_350).keys()]).toEqual([]);
  });

  it('begins when the glass is hotter than the top and its tolerance, not before', () => {
    const curve = through([0, 20], [6450, 450], [12_750, 660], [13_050, 670]);
    // 10 °C in 300 s: above 666 after 180 s.
    expect(follow(plan, curve, 13_050).get('too-hot')).toBe(12_750 + 181);
  });

  it('is a hold too short when the glass leaves the tolerance with less than four fifths of its minutes', () => {
    const short = through([0, 20], [6450, 450], [12_750, 660], [13_050, 660], [13_650, 580]);
    const fallsBelowS = 13_050 + (6 / 80) * 600;
    expect(follow(plan, short, 13_650).get('hold-too-short')).toBeCloseTo(fallsBelowS, -1);
    const almost = through([0, 20], [6450, 450], [12_750, 660], [13_500, 660], [14_100, 580]);
    expect(follow(plan, almost, 14_100).has('hold-too-short')).toBe(false);
  });

  it('is a hold too long five minutes after climb, plan and fall have had theirs', () => {
    const long = through([0, 20], [6450, 450], [12_750, 660], [20_000, 660]);
    // In the band from 654 on: 180 s of climb, 900 s of hold, 120 s for the fall, 300 s: from 12 570 on.
    const firstS = follow(plan, long, 20_000).get('hold-too-long') ?? 0;
    expect(firstS - 12_570).toBe(900 + 180 + 120 + 300);
  });

  it('is a climb steeper than half more than the ramp, over five minutes, or steeper than the plan’s limit', () => {
    const steep = through([0, 20], [3600, 20 + 361]);
    expect(follow(plan, steep, 3600).has('heated-too-fast')).toBe(true);
    const allowed = through([0, 20], [3600, 20 + 359]);
    expect(follow(plan, allowed, 3600).has('heated-too-fast')).toBe(false);
    const limited: Schedule = { ...plan, limits: [{ fromC: 100, toC: 400, maxCPerH: 300, why: 'the medium boils' }] };
    expect(follow(limited, allowed, 3600).has('heated-too-fast')).toBe(true);
  });

  it('is a fall steeper than a limit that is written downwards, which says nothing of the climb', () => {
    const down: Schedule = { ...plan, limits: [{ fromC: 400, toC: 100, maxCPerH: 300, why: 'the glass is thick' }] };
    const up = through([0, 20], [3600, 20 + 359]);
    expect(follow(down, up, 3600).has('heated-too-fast')).toBe(false);
    expect(follow(down, through([0, 380], [3600, 380 - 310]), 3600).has('cooled-too-fast')).toBe(true);
    expect(follow(down, through([0, 380], [3600, 380 - 290]), 3600).has('cooled-too-fast')).toBe(false);
  });

  it('is a chill when the glass falls by more than 40 °C within two minutes', () => {
    const opened = through([0, 400], [600, 400], [660, 350]);
    expect(follow(plan, opened, 700).get('chilled')).toBeCloseTo(600 + 49, -1);
    expect(follow(plan, through([0, 400], [600, 400], [720, 361]), 720).has('chilled')).toBe(false);
  });

  it('knows what the plan’s climb takes between two temperatures, and the minutes at its top', () => {
    expect(plannedClimbMinutes(plan, 330, 450)).toBeCloseTo(30, 9);
    expect(plannedClimbMinutes(plan, 400, 500)).toBeCloseTo(12.5 + 25, 9);
    expect(plannedClimbMinutes(plan, 500, 900)).toBeCloseTo(80, 9);
    expect(topHoldMinutes(plan)).toBe(15);
  });

  it('counts minutes late only above 500 °C and only on the way up', () => {
    const watch = harmWatch(plan, 6);
    for (let s = 0; s < 3600; s++) watch.watch(490);
    expect(watch.minutesLate(0, 480, 3_600_000)).toBe(0);
    for (let s = 3600; s < 7200; s++) watch.watch(540);
    // Two hours for 480 → 540 °C, which the plan climbs in 30 minutes.
    const late = watch.minutesLate(0, 480, 7_200_000);
    expect(late).toBeCloseTo(90, 6);
    expect([isTooLate(late), isTooLate(15), isTooLate(15.1)]).toEqual([true, false, true]);
    watch.watch(660);
    watch.watch(540);
    expect(watch.minutesLate(0, 480, 7_202_000)).toBe(0);
  });
});
