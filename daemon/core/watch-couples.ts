/** Watches each couple beside the ruling one, with what the firing knows of door and heat. */
import { perSecond, S_PER_MIN, secondsBetween } from './numbers/units.ts';
import { climbTopC, goesDown, mayStandOpen, proppedToC, type Schedule, targetC } from './plan/schedule.ts';
import type { FiringState } from './state.ts';
import {
  type CouplePairs,
  NO_PAIR,
  type PairKnown,
  type PairWatch,
  type Unrest,
  watchPair,
  withFallen,
} from './tracking/couple-pairs.ts';
import { foundAlone, type LonelyWatch, lonelyDoubtC, NEVER_FELL, watchLonely } from './tracking/lonely-fall.ts';
import type { PlanTrack } from './tracking/plan-track.ts';
import type { SensorTrack } from './tracking/sensor-track.ts';

/** The door was shut, or the smoke let off, so long ago. */
const SHUT_S = 4 * S_PER_MIN;
const LID_S = 10 * S_PER_MIN;
/** The last minutes of a hold before a fall: the heat is often turned off a little before. */
const ENDING_S = 2 * S_PER_MIN;
/** While a kiln is being lit its couples go their own ways. Ours. */
const LIGHTING_S = 30 * S_PER_MIN;
const UNEVEN_S = 25 * S_PER_MIN;
/** After a corner of the plan, the door's move, or heat that was gone and came back. Ours. */
const SETTLES_S = 10 * S_PER_MIN;
/** Heat that is gone, or a door that seems open, may be a couple's own trouble; where it lasts it was not. */
const DOUBT_S = 5 * S_PER_MIN;
const CALM_S = 20 * S_PER_MIN;
/** One that has been silent for longer says nothing of now. */
const SPOKEN_S = 20;

/** Carries on by one good reading of `sensor`, already filed. */
export function watchCouples(state: FiringState, sensor: string, now: { atMs: number; celsius: number }): CouplePairs {
  const before = state.pairs;
  const others = state.kiln.sensors.filter((s) => s.name !== state.rulingSensor);
  if (others.length === 0) return before;
  const isRuling = sensor === state.rulingSensor;
  const unrest = isRuling ? nextUnrest(state, before.unrest, now.atMs) : before.unrest;
  const isDoubtful = unrest !== null && secondsBetween(unrest.lastMs, now.atMs) < CALM_S;
  const segment = state.schedule?.segments[state.track?.segment ?? -1];
  const known: PairKnown = {
    isHeated: isHeatedNow(state, now.atMs),
    isSteady: isSteadyNow(state, unrest, now.atMs),
    doubtS: isDoubtful ? secondsBetween(unrest.firstMs, now.atMs) : null,
    evenFromMs: evenFromMs(state, unrest, now.atMs),
    isShut: state.lid?.open !== true && !mayStandOpen(segment),
    controlledPerS:
      state.kiln.heat === 'electric' && segment?.kind === 'ramp' && typeof segment.rateCPerH === 'number'
        ? perSecond(segment.rateCPerH)
        : null,
  };
  const by = { ...before.by };
  for (const { name } of others) {
    if (!isRuling && name !== sensor) continue;
    by[name] = watchPair(by[name] ?? NO_PAIR, isRuling ? 'ruling' : 'other', now, known);
  }
  return fallAlone(state, { by, lonely: before.lonely, unrest }, sensor);
}

/** Whether the one that has just spoken falls and the others do not. */
function fallAlone(state: FiringState, pairs: CouplePairs, sensor: string): CouplePairs {
  const track = state.sensors[sensor];
  if (track === undefined) return pairs;
  const known = Object.hasOwn(pairs.lonely, sensor) ? (pairs.lonely[sensor] ?? NEVER_FELL) : NEVER_FELL;
  const beside = soundBeside(state, sensor);
  const isRuling = sensor === state.rulingSensor;
  const watch = watchLonely(known, track, beside, {
    isRuling,
    heat: state.kiln.heat,
    isLeftToFall: isLeftToFall(state),
    hasMovedDoor: state.lid !== null && secondsBetween(state.lid.sinceMs, state.nowMs) < LID_S,
    climbC: climbToComeC(state),
  });
  if (watch === known) return pairs;
  const lonely = { ...pairs.lonely, [sensor]: watch };
  const by: Record<string, PairWatch> = { ...pairs.by };
  for (const { name } of state.kiln.sensors) {
    if (name === state.rulingSensor || (!isRuling && name !== sensor)) continue;
    const isBeside = !isRuling || beside.some((t) => t.name === name);
    by[name] = tellAlone(state, by[name] ?? NO_PAIR, sensor, known, isBeside ? watch : NEVER_FELL, name);
  }
  return { ...pairs, by, lonely };
}

/** From the most that the ruling couple has shown. */
function climbToComeC({ schedule, track, sensors, rulingSensor }: FiringState): number {
  const reachedC = sensors[rulingSensor]?.peakC ?? null;
  if (schedule === null || track === null || reachedC === null) return Number.POSITIVE_INFINITY;
  return Math.max(climbTopC(schedule, track.segment) - reachedC, 0);
}

function isLeftToFall({ schedule, track }: FiringState): boolean {
  if (schedule === null || track === null) return false;
  const segment = schedule.segments[track.segment];
  if (segment?.kind === 'hold') return isEnding(schedule, track);
  return segment === undefined || segment.rateCPerH === 'let-fall';
}

function tellAlone(
  { rulingSensor, nowMs }: FiringState,
  pair: PairWatch,
  sensor: string,
  before: LonelyWatch,
  watch: LonelyWatch,
  other: string,
): PairWatch {
  const isRuling = sensor === rulingSensor;
  const found = foundAlone(before, watch, isRuling ? other : rulingSensor);
  const doubtC = isRuling ? lonelyDoubtC(watch, nowMs) : null;
  if (found === null || pair.verdict?.pace === 'fast') return pair.doubtC === doubtC ? pair : { ...pair, doubtC };
  return withFallen({ ...pair, doubtC }, isRuling ? 'ruling' : 'other', found);
}

/** Those that speak and may be believed. */
function soundBeside({ kiln, sensors, watches, nowMs }: FiringState, sensor: string): readonly SensorTrack[] {
  return kiln.sensors.flatMap(({ name }) => {
    const track = sensors[name];
    if (name === sensor || track?.last == null || watches[name]?.health.fault != null || track.leapt !== null)
      return [];
    return secondsBetween(track.last.atMs, nowMs) > Math.max(SPOKEN_S, 4 * (track.intervalS ?? 0)) ? [] : [track];
  });
}

function nextUnrest({ heat, sign }: FiringState, before: Unrest | null, atMs: number): Unrest | null {
  if (heat.change === null && sign === null) return before;
  const goesOn = before !== null && secondsBetween(before.lastMs, atMs) < S_PER_MIN;
  return { firstMs: goesOn ? before.firstMs : atMs, lastMs: atMs };
}

function isSteadyNow(state: FiringState, unrest: Unrest | null, atMs: number): boolean {
  const { schedule, track, lid } = state;
  if (schedule === null || track === null || lid?.open === true || !isHeatedNow(state, atMs)) return false;
  if (mayStandOpen(schedule.segments[track.segment])) return false;
  const wasPropped = proppedToC(schedule, track.segment) !== null;
  // By its switch alone: what the temperature says of a lid may be the couple's own trouble.
  const lidS = lid === null ? Number.POSITIVE_INFINITY : secondsBetween(lid.sinceMs, atMs);
  if ((wasPropped && secondsBetween(track.startedAtMs, atMs) < SHUT_S) || lidS < LID_S) return false;
  if (unrest === null || secondsBetween(unrest.lastMs, atMs) > CALM_S) return true;
  return secondsBetween(unrest.firstMs, atMs) <= DOUBT_S;
}

/** The plan wants heat: in a climb or its hold. */
function isHeatedNow({ schedule, track, startedAtMs }: FiringState, atMs: number): boolean {
  if (schedule === null || track === null || secondsBetween(startedAtMs, atMs) < LIGHTING_S) return false;
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return false;
  if (segment.kind === 'hold') return !isEnding(schedule, track);
  return segment.rateCPerH !== 'let-fall' && targetC(schedule, track.segment) > track.startC;
}

function isEnding(schedule: Schedule, { segment: index, hold: { doneS } }: PlanTrack): boolean {
  const hold = schedule.segments[index];
  const goesUpNext = index + 1 < schedule.segments.length && !goesDown(schedule, index + 1);
  return hold?.kind === 'hold' && !goesUpNext && hold.minutes * 60 - doneS <= ENDING_S;
}

/** Since when the plan's climb, the door and the heat have been as they are: from then on a sound pair keeps its way. */
function evenFromMs({ schedule, track, lid, startedAtMs }: FiringState, unrest: Unrest | null, atMs: number) {
  const segment = schedule?.segments[track?.segment ?? -1];
  if (schedule === null || track === null || segment?.kind !== 'ramp') return null;
  if (segment.rateCPerH === 'let-fall' || targetC(schedule, track.segment) <= track.startC) return null;
  const cornerMs = track.startedAtMs + (track.segment === 0 ? 0 : SETTLES_S * 1000);
  const lidMs = lid === null ? 0 : lid.sinceMs + SETTLES_S * 1000;
  const fromMs = Math.max(cornerMs, lidMs, startedAtMs + UNEVEN_S * 1000);
  if (unrest === null) return fromMs;
  if (secondsBetween(unrest.lastMs, atMs) < S_PER_MIN) return null;
  return Math.max(fromMs, unrest.lastMs + SETTLES_S * 1000);
}
