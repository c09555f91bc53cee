/** A firing in the little kiln, its couples' figures judged as they come. */
import { fitLine } from '../../../../daemon/core/numbers/line-fit.ts';
import type { FaultCause, HealthContext } from '../../../../daemon/core/thermometry/health/detector.ts';
import { judgeSensor, type SensorHealth, SOUND } from '../../../../daemon/core/thermometry/health/sensor-health.ts';
import { type InstrumentSpec, instrument } from '../../../../simulators/instrument.ts';
import type { SensorFault } from '../../../../simulators/sensor-faults.ts';
import type { CoupleSpec } from '../../../../simulators/thermocouple.ts';
import { type Door, type Leg, littleKiln } from './little-kiln.ts';

export interface WatchedFiring {
  readonly legs: readonly Leg[];
  readonly couples: readonly CoupleSpec[];
  readonly instrument?: Partial<InstrumentSpec>;
  readonly doors?: readonly Door[];
  /** The lid has a switch. */
  readonly doorIsTold?: boolean;
  readonly seed: number;
  /** What befalls the first couple, or another one. */
  readonly fault?: SensorFault;
  readonly faultOf?: string;
  readonly faultAtS?: number;
  readonly mendedAtS?: number;
  readonly stopsAtS?: number;
  /** The last digit is not told. */
  readonly stepIsUnknown?: boolean;
}

export interface Told {
  readonly sensor: string;
  readonly cause: FaultCause;
  readonly atS: number;
  readonly sinceS: number;
  /** null while it lasts. */
  readonly overAtS: number | null;
}

const START_MS = Date.UTC(2026, 4, 2, 8);
const RATE_S = 120;
const JUST_OFF_S = 720;
const OPEN_S = 300;

export function watch(firing: WatchedFiring): Told[] {
  const kiln = littleKiln(firing.legs, firing.doors);
  const spec = { sampleS: 1, ...firing.instrument, couples: firing.couples };
  const couples = instrument(spec, kiln, firing.seed, START_MS);
  const ruling = firing.couples[0]?.sensor ?? '';
  const broken = couples.couple(firing.faultOf ?? ruling);
  const health = new Map<string, SensorHealth>();
  const recent = new Map<string, { atMs: number; celsius: number }[]>();
  const told: Told[] = [];
  let openUntilS = Number.NEGATIVE_INFINITY;

  function context(sensor: string, s: number): HealthContext {
    const leg = kiln.leg();
    const isFalling = leg === null || leg.does === 'let-fall';
    return {
      sensor,
      range: { fromC: -270, toC: 1372 },
      stepC: firing.stepIsUnknown === true ? null : (firing.couples.find((c) => c.sensor === sensor)?.stepC ?? 1),
      heat: isFalling ? (kiln.inLegS() < JUST_OFF_S ? 'unknown' : 'off') : 'on',
      heading: isFalling ? 'down' : leg.does === 'hold' ? 'level' : 'up',
      isOpen: s < openUntilS,
      hasMovedLid: s < openUntilS,
      others: firing.couples.flatMap(({ sensor: name }) => {
        const readings = recent.get(name) ?? [];
        const last = readings.at(-1);
        if (name === sensor || last === undefined || health.get(name)?.fault != null) return [];
        return [
          { name, celsius: last.celsius, ratePerS: fitLine(readings, RATE_S)?.slopePerS ?? null, wanders: false },
        ];
      }),
      codesC: [],
    };
  }

  function tell(sensor: string, before: SensorHealth, after: SensorHealth, s: number): void {
    if (before.fault?.cause === after.fault?.cause) return;
    const open = told.findIndex((t) => t.sensor === sensor && t.overAtS === null);
    const last = told[open];
    if (last !== undefined) told[open] = { ...last, overAtS: s };
    if (after.fault === null) return;
    const { cause, sinceMs } = after.fault;
    told.push({ sensor, cause, atS: s, sinceS: Math.round((sinceMs - START_MS) / 1000), overAtS: null });
  }

  const endS = firing.stopsAtS ?? 24 * 3600;
  for (let s = 1; s <= endS && kiln.leg() !== null; s++) {
    kiln.step();
    if (s === firing.faultAtS && firing.fault !== undefined) broken.suffer(firing.fault);
    if (s === firing.mendedAtS) broken.suffer(null);
    if (firing.doorIsTold === true && kiln.isOpen()) openUntilS = s + OPEN_S;
    for (const { sensor, celsius, atMs } of couples.step(START_MS + s * 1000)) {
      const before = health.get(sensor) ?? SOUND;
      const after = judgeSensor(before, { atMs, celsius }, context(sensor, s));
      health.set(sensor, after);
      tell(sensor, before, after, s);
      if (celsius === null) continue;
      const readings = recent.get(sensor) ?? [];
      readings.push({ atMs, celsius });
      while ((readings[0]?.atMs ?? atMs) < atMs - RATE_S * 1000) readings.shift();
      recent.set(sensor, readings);
    }
  }
  return told;
}

/** A firing of paint: lit late, slow while the medium smokes, up, held, let fall. */
export const PAINT: readonly Leg[] = [
  { does: 'wait', forS: 900 },
  { does: 'climb', toC: 450, perH: 180 },
  { does: 'climb', toC: 660, perH: 130 },
  { does: 'hold', forS: 1200 },
  { does: 'let-fall', toC: 520 },
  { does: 'hold', forS: 1800 },
  { does: 'let-fall', toC: 120 },
];

const BARE: Omit<CoupleSpec, 'sensor'> = {
  looksAt: { wall: 0.4, shelf: 0.3, glass: 0.3 },
  lagS: 10,
  lagAtWPerM2K: 52,
  gasRatio: 3,
  noiseC: 0.2,
  stepC: 0.25,
  missedRatio: 0.002,
};
const SHEATHED: Omit<CoupleSpec, 'sensor'> = {
  ...BARE,
  lagS: 60,
  lagAtWPerM2K: 126,
  beadLagS: 75,
  gasRatio: 1,
  noiseC: 0.1,
  stepC: 1,
};

/** One bare couple, or three at different heights in a sheath. */
export const oneBare: readonly CoupleSpec[] = [{ ...BARE, sensor: 'shelf' }];
export const oneSheathed: readonly CoupleSpec[] = [{ ...SHEATHED, sensor: 'shelf' }];
export const three: readonly CoupleSpec[] = [
  { ...BARE, sensor: 'shelf', heightRatio: 0.4 },
  { ...BARE, sensor: 'top', heightRatio: 0.9, lagS: 14, offsetC: 2 },
  { ...BARE, sensor: 'floor', heightRatio: 0.1, lagS: 12, offsetC: -1.5 },
];
export const threeSheathed: readonly CoupleSpec[] = three.map((c) => ({
  ...SHEATHED,
  sensor: c.sensor,
  heightRatio: c.heightRatio ?? 0.5,
}));
