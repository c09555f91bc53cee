import { describe, expect, it } from 'vitest';
import type { FaultCause } from '../../../../daemon/core/thermometry/health/detector.ts';
import type { SensorFault } from '../../../../simulators/sensor-faults.ts';
import type { CoupleSpec } from '../../../../simulators/thermocouple.ts';
import type { Door } from './little-kiln.ts';
import { oneBare, oneSheathed, PAINT, three, threeSheathed, type WatchedFiring, watch } from './watched-firing.ts';

const KILNS: Readonly<Record<string, readonly CoupleSpec[]>> = {
  'one bare couple': oneBare,
  'one sheathed couple in whole degrees': oneSheathed,
  'three bare couples': three,
  'three sheathed couples in whole degrees': threeSheathed,
};
const kilnNames = Object.keys(KILNS);
const couplesOf = (name: string): readonly CoupleSpec[] => KILNS[name] ?? [];
const CLIMBING_S = 9000;

interface Case {
  readonly what: string;
  readonly fault: SensorFault;
  readonly cause: FaultCause;
  readonly withinS: number;
  readonly kilns: readonly string[];
  readonly sampleS: readonly number[];
  readonly atS?: number;
}
const alone = kilnNames.slice(0, 2);
const together = kilnNames.slice(2);
/** For what looks alike in any couple. */
const either = ['one bare couple', 'three sheathed couples in whole degrees'];
const open = { kind: 'open-circuit' } as const;

/** `withinS` is what was measured and a little more: a change for the worse must show. */
const CASES: readonly Case[] = [
  {
    what: 'a broken wire without a value',
    fault: { ...open, shows: 'nothing' },
    cause: 'open-circuit',
    withinS: 20,
    kilns: kilnNames,
    sampleS: [1, 10],
  },
  {
    what: 'a broken wire at the scale’s end',
    fault: { ...open, shows: 'burnout', atC: 1372 },
    cause: 'open-circuit',
    withinS: 20,
    kilns: either,
    sampleS: [1, 10],
  },
  {
    what: 'free wires that wander',
    fault: { ...open, shows: 'antenna', wanderC: 3 },
    cause: 'open-circuit',
    withinS: 180,
    kilns: kilnNames,
    sampleS: [1],
  },
  {
    what: 'a loose contact',
    fault: { kind: 'intermittent', openForS: 4, closedForS: 20 },
    cause: 'open-circuit',
    withinS: 300,
    kilns: kilnNames,
    sampleS: [1],
  },
  {
    what: 'swapped leads from the start',
    fault: { kind: 'reversed' },
    cause: 'reversed',
    withinS: 1620,
    kilns: kilnNames,
    sampleS: [1, 10],
    atS: 60,
  },
  {
    what: 'leads swapped in the heat',
    fault: { kind: 'reversed' },
    cause: 'reversed',
    withinS: 10,
    kilns: kilnNames,
    sampleS: [1, 10],
  },
  {
    what: 'a frozen instrument',
    fault: { kind: 'frozen' },
    cause: 'frozen',
    withinS: 480,
    kilns: alone,
    sampleS: [1, 10],
  },
  {
    what: 'a frozen instrument',
    fault: { kind: 'frozen' },
    cause: 'frozen',
    withinS: 200,
    kilns: together,
    sampleS: [1, 10],
  },
  {
    what: 'a leap down',
    fault: { kind: 'jump', byC: -45 },
    cause: 'jump',
    withinS: 45,
    kilns: kilnNames,
    sampleS: [1],
  },
  {
    what: 'a leap down',
    fault: { kind: 'jump', byC: -45 },
    cause: 'jump',
    withinS: 45,
    kilns: together,
    sampleS: [10],
  },
  {
    what: 'a leap up',
    fault: { kind: 'jump', byC: 40 },
    cause: 'jump',
    withinS: 45,
    kilns: kilnNames,
    sampleS: [1, 10],
  },
  {
    what: 'wires that touch',
    fault: { kind: 'shorted', outRatio: 0.4 },
    cause: 'jump',
    withinS: 45,
    kilns: kilnNames,
    sampleS: [1],
  },
  {
    what: 'an impossible figure',
    fault: { kind: 'out-of-range', atC: 2400 },
    cause: 'out-of-range',
    withinS: 10,
    kilns: either,
    sampleS: [1, 10],
  },
  {
    what: 'ageing',
    fault: { kind: 'drift', cPerH: -25 },
    cause: 'drift',
    withinS: 2400,
    kilns: together,
    sampleS: [1, 10],
  },
  {
    what: 'a couple that slides out',
    fault: { kind: 'slipped', outRatio: 0.3, overS: 40 },
    cause: 'slipped',
    withinS: 270,
    kilns: together,
    sampleS: [1, 10],
  },
  {
    what: 'a couple that slides out',
    fault: { kind: 'slipped', outRatio: 0.3, overS: 40 },
    cause: 'slipped',
    withinS: 1500,
    kilns: alone,
    sampleS: [1, 10],
    atS: 13_500,
  },
  {
    what: 'a zero',
    fault: { kind: 'sentinel', codeC: 0 },
    cause: 'sentinel',
    withinS: 10,
    kilns: either,
    sampleS: [1, 10],
  },
  {
    what: 'the lowest 16-bit number',
    fault: { kind: 'sentinel', codeC: -32_768 },
    cause: 'sentinel',
    withinS: 10,
    kilns: either,
    sampleS: [1, 10],
  },
  {
    what: 'four nines',
    fault: { kind: 'sentinel', codeC: 9999 },
    cause: 'sentinel',
    withinS: 10,
    kilns: either,
    sampleS: [1, 10],
  },
  {
    what: 'a cold end that is off from the start',
    fault: { kind: 'cold-junction', is: 'sensor-off', byC: -18 },
    cause: 'cold-junction',
    withinS: 280,
    kilns: together,
    sampleS: [1, 10],
    atS: 1,
  },
];

describe('the fault of a couple is told by its cause', () => {
  const cases = CASES.flatMap((c) => c.kilns.flatMap((kiln) => c.sampleS.map((sampleS) => ({ ...c, kiln, sampleS }))));
  it.each(cases)(
    '$what: $kiln, every $sampleS s (seed 7)',
    ({ fault, cause, withinS, kiln, sampleS, atS = CLIMBING_S }) => {
      const told = watch({
        legs: PAINT,
        couples: couplesOf(kiln),
        instrument: { sampleS },
        seed: 7,
        fault,
        faultAtS: atS,
        stopsAtS: atS + 2700,
      });
      expect(told.map((t) => `${t.sensor} ${t.cause}`)).toEqual([`shelf ${cause}`]);
      expect((told[0]?.atS ?? 0) - atS).toBeLessThanOrEqual(withinS);
      expect(told[0]?.overAtS).toBeNull();
    },
  );
});

describe('what is mended is over', () => {
  it.each<SensorFault>([
    { kind: 'open-circuit', shows: 'nothing' },
    { kind: 'frozen' },
    { kind: 'jump', byC: -45 },
    { kind: 'out-of-range', atC: 2400 },
    { kind: 'sentinel', codeC: 0 },
    { kind: 'slipped', outRatio: 0.3, overS: 40 },
  ])('$kind, within ten minutes (seed 7)', (fault) => {
    const mendedAtS = CLIMBING_S + 900;
    const told = watch({
      legs: PAINT,
      couples: three,
      seed: 7,
      fault,
      faultAtS: CLIMBING_S,
      mendedAtS,
      stopsAtS: mendedAtS + 900,
    });
    expect(told).toHaveLength(1);
    expect(told[0]?.overAtS).toBeGreaterThan(mendedAtS - 1);
    expect(told[0]?.overAtS).toBeLessThan(mendedAtS + 600);
  });
});

describe('nothing is said', () => {
  const grid = kilnNames.flatMap((kiln) => [1, 10, 30].map((sampleS) => ({ kiln, sampleS })));
  const quiet = (kiln: string, sampleS: number, also: Partial<WatchedFiring>) =>
    watch({ legs: PAINT, couples: couplesOf(kiln), instrument: { sampleS }, seed: 11, ...also });

  it.each(grid)(
    'of a whole firing, lit late, held and let fall: $kiln, every $sampleS s (seed 11)',
    ({ kiln, sampleS }) => {
      expect(quiet(kiln, sampleS, {})).toEqual([]);
      if (sampleS === 10) expect(quiet(kiln, sampleS, { stepIsUnknown: true })).toEqual([]);
    },
  );

  it.each([0, 0.05])('of a long hold read in whole degrees with %d °C of noise (seed 12)', (noiseC) => {
    const couples = [{ ...(oneSheathed[0] as CoupleSpec), noiseC }];
    const legs = [
      { does: 'climb', toC: 660, perH: 200 },
      { does: 'hold', forS: 4 * 3600 },
    ] as const;
    expect(watch({ legs, couples, seed: 12 })).toEqual([]);
  });

  it.each(grid)('of a noisy hour, cold, climbing or held: $kiln, every $sampleS s (seed 5)', ({ kiln, sampleS }) => {
    for (const noiseC of [2.5, 6]) {
      for (const faultAtS of [60, 12_500]) {
        const hour = { faultAtS, mendedAtS: faultAtS + 3600, stopsAtS: faultAtS + 4200, seed: 5 };
        expect(quiet(kiln, sampleS, { fault: { kind: 'noisy', noiseC }, ...hour })).toEqual([]);
      }
    }
  });

  it.each(grid)('of a door opened, told by a switch or not: $kiln, every $sampleS s (seed 3)', ({ kiln, sampleS }) => {
    expect(quiet(kiln, sampleS, { doors: DOORS, doorIsTold: true, seed: 3 })).toEqual([]);
    expect(quiet(kiln, sampleS, { doors: DOORS, seed: 3 })).toEqual([]);
  });

  it.each([1, 5, 30])(
    'of a door that was shut again in the hold and left the kiln cooler, every %i s (seed 105)',
    (sampleS) => {
      const doors = [{ fromS: 15_800, forS: 40, openRatio: 0.4 }];
      expect(quiet('three bare couples', sampleS, { doors, seed: 105, stopsAtS: 16_500 })).toEqual([]);
    },
  );

  it.each(grid)('of a spark: $kiln, every $sampleS s (seed 5)', ({ kiln, sampleS }) => {
    const spark = { fault: { kind: 'jump', byC: 80 }, faultAtS: 9000, mendedAtS: 9002, stopsAtS: 10_800 } as const;
    expect(quiet(kiln, sampleS, { ...spark, seed: 5 })).toEqual([]);
  });
});

/** In the climb, in the hold, while it cools. */
const DOORS: readonly Door[] = [
  { fromS: 5000, forS: 60, openRatio: 0.6 },
  { fromS: 9000, forS: 20, openRatio: 0.1 },
  { fromS: 12_000, forS: 40, openRatio: 0.3 },
  { fromS: 15_700, forS: 25, openRatio: 0.3 },
  { fromS: 17_500, forS: 120, openRatio: 0.12 },
  { fromS: 24_000, forS: 60, openRatio: 0.6 },
];
