/** Whether a sensor may be believed, with what the firing knows round it; `thermometry/health` does the judging. */

import type { SampleEvent } from './events.ts';
import { fitLineOf } from './numbers/line-fit.ts';
import { secondsBetween } from './numbers/units.ts';
import type { SensorSetup } from './plan/kiln.ts';
import { goesDown, isAfterHold, targetC } from './plan/schedule.ts';
import type { FiringState } from './state.ts';
import type { FaultCause, HealthContext, OtherSensor, SensorFault } from './thermometry/health/detector.ts';
import {
  judgeSensor,
  LEAPS_AGAIN_S,
  type Leapt,
  type SensorHealth,
  type SensorWatch,
  SOUND,
  type WayCause,
} from './thermometry/health/sensor-health.ts';
import { isCoupleLetter, rangeOf } from './thermometry/its90.ts';
import type { SensorReading } from './thermometry/sample.ts';
import { heatState } from './tracking/heat-state.ts';
import { LEFT_S } from './tracking/heat-wish.ts';
import type { SensorTrack } from './tracking/sensor-track.ts';

/** With these there is no temperature at all. What else is told is a doubt: the figures are judged on, for want of better. */
const CERTAIN: ReadonlySet<FaultCause> = new Set(['open-circuit', 'sentinel', 'out-of-range', 'reversed', 'frozen']);
/** Of the watches over a sensor's way those that have kept quiet in sound firings. */
const WAYS: readonly WayCause[] = ['cold-junction', 'jump', 'frozen'];
/** What a couple beside it tells better is asked of a lone one only. */
const WAYS_ALONE: readonly WayCause[] = ['cold-junction', 'jump', 'slipped', 'frozen'];
/** A lid that moved lately explains what the sensor does. */
const OPEN_FOR_S = 300;
/** Where a switch tells of it: what is not seen as it moves is not the lid's. */
const SHUT_AGAIN_S = 90;
/** Below this nothing has been fired yet; and the pace is looked at over so long. */
const COLD_C = 45;
const COLD_RATE_S = 120;
const ANY_RANGE = { fromC: -270, toC: 2320 };

/**
 * @param sample what was made of the reading: no temperature where no such couple can give one
 */
export function watchSensor(
  state: FiringState,
  setup: SensorSetup,
  reading: SensorReading,
  sample: SampleEvent,
): SensorWatch {
  const known = state.watches[setup.name];
  const before = known?.health ?? SOUND;
  const { atMs } = sample;
  const leapt = known?.leapt ?? null;
  // A voltage without the terminals' temperature says nothing of the couple.
  if (reading.kind === 'emf' && sample.celsius === null) return { health: before, spokenAtMs: atMs, leapt };
  const celsius = sample.celsius ?? (reading.kind === 'temperature' ? reading.temperatureC : null);
  const ways = state.kiln.sensors.length > 1 ? WAYS : WAYS_ALONE;
  const terminals = setup.coldEnd?.kind === 'measured' ? state.terminals[setup.coldEnd.by] : undefined;
  const shown = { atMs, celsius, coldJunctionC: terminals?.celsius };
  const health = judgeSensor(before, shown, contextOf(state, setup, atMs), ways);
  return { health, spokenAtMs: atMs, leapt: lastLeapt(leapt, before, health, atMs) };
}

function lastLeapt(leapt: Leapt | null, before: SensorHealth, { fault }: SensorHealth, atMs: number): Leapt | null {
  if (fault?.cause !== 'jump') return leapt;
  if (leapt === null || secondsBetween(leapt.untilMs, atMs) > LEAPS_AGAIN_S) return { untilMs: atMs, fault, count: 1 };
  return { untilMs: atMs, fault, count: leapt.count + (before.fault?.cause === 'jump' ? 0 : 1) };
}

/** The fault by which its figures are no temperatures; null where they are judged. */
export function certainFault(watch: SensorWatch): SensorFault | null {
  const { fault } = watch.health;
  return fault !== null && (CERTAIN.has(fault.cause) || fault.isNoTemperature === true) ? fault : null;
}

function contextOf(state: FiringState, setup: SensorSetup, atMs: number): HealthContext {
  const heat = heatState(state, atMs);
  const movedMs = state.lid?.sinceMs ?? state.lidMovedAtMs;
  const openForS = state.lid === null ? OPEN_FOR_S : SHUT_AGAIN_S;
  const hasMovedLid =
    (state.lid === null && state.sign !== null) || (movedMs !== null && secondsBetween(movedMs, atMs) < openForS);
  return {
    sensor: setup.name,
    range: isCoupleLetter(setup.letter) ? rangeOf(setup.letter) : ANY_RANGE,
    stepC: null,
    heat: heat === 'heated' ? 'on' : heat === 'cooling' ? 'off' : 'unknown',
    isElectric: state.kiln.heat === 'electric',
    heading: headingOf(state, atMs),
    isOpen: state.lid?.open === true || hasMovedLid,
    isOpenByHeat: state.lid === null,
    hasMovedLid,
    others: othersOf(state, setup.name, atMs),
    codesC: [],
  };
}

function headingOf({ schedule, track }: FiringState, atMs: number): HealthContext['heading'] {
  if (schedule === null || track === null) return 'unknown';
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return 'down';
  if (segment.kind === 'hold') {
    const isOver = track.hold.doneS >= segment.minutes * 60 && goesDown(schedule, track.segment + 1);
    return isOver ? 'down' : 'level';
  }
  if (segment.rateCPerH === 'let-fall' || targetC(schedule, track.segment) < track.startC) return 'down';
  // Hand and controller have clocks of their own, and may hold on for some minutes.
  const holdsOn = isAfterHold(schedule, track.segment) && secondsBetween(track.startedAtMs, atMs) < LEFT_S;
  return holdsOn ? 'level' : 'up';
}

/** Sound ones that have spoken lately. */
function othersOf(state: FiringState, name: string, atMs: number): readonly OtherSensor[] {
  if (state.kiln.sensors.length < 2) return NO_OTHERS;
  return state.kiln.sensors.flatMap((s): OtherSensor[] => {
    const track = state.sensors[s.name];
    const health = state.watches[s.name]?.health ?? SOUND;
    if (s.name === name || track?.last == null || health.fault !== null) return [];
    if (secondsBetween(track.last.atMs, atMs) > Math.max(60, 4 * (track.intervalS ?? 0))) return [];
    const wanders = health.states['open-circuit'].wander.walkingSinceMs !== null;
    return [{ name: s.name, celsius: track.last.celsius, ratePerS: coldRatePerS(track), wanders }];
  });
}

/** Whether a cold kiln has begun to warm is all that anybody asks. */
function coldRatePerS({ last, recent }: SensorTrack): number | null {
  if (last === null || last.celsius > COLD_C) return null;
  return fitLineOf(recent, COLD_RATE_S)?.slopePerS ?? null;
}

const NO_OTHERS: readonly OtherSensor[] = [];
