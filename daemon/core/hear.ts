/** What one message of an instrument brings: its readings are decoded, turned into °C, believed or not, and filed. */
import type { FiringEvent, SampleEvent } from './events.ts';
import { follow } from './follow.ts';
import type { RawMessage } from './inputs.ts';
import type { TimedC } from './numbers/line-fit.ts';
import { answer } from './obey.ts';
import { isTerminals } from './plan/instrument.ts';
import type { SensorSetup } from './plan/kiln.ts';
import { decodeRaw } from './reading/decode.ts';
import type { Reading } from './reading/reading.ts';
import { changed, type FiringState } from './state.ts';
import { badSample, toSample } from './thermometry/sample.ts';
import { judgeLeap, keepLeapt } from './tracking/leap.ts';
import { judgeSaidTime, tellsNoTime } from './tracking/said-clock.ts';
import { fileReading, isOneOfMany, noteReading, type SensorTrack } from './tracking/sensor-track.ts';
import { watchStamps } from './tracking/stamp-watch.ts';
import { watchCouples } from './watch-couples.ts';
import { certainFault, watchSensor } from './watch-sensor.ts';

/** The input under which the rows of a recorded curve are fed. */
export const RECORDED_ROWS = 'rows';

/** Raw text -> readings -> samples -> what the sensors and the plan know. */
export function hear(state: FiringState, raw: RawMessage, said: FiringEvent[]): FiringState {
  const atMs = raw.atMs;
  const decoded = decodeRaw(raw, state.kiln.decodings[raw.input], state.kiln.sensors);
  if (!decoded.ok) return reject(state, atMs, decoded.sentence, said);
  let next = hearTerminals(state, decoded.readings, raw);
  for (const reading of decoded.readings) next = hearReading(next, reading, raw, said);
  if (next.controller !== null && next.controller !== state.controller) said.push(next.controller);
  return next;
}

/** Readings came, and of couples that speak so fast that these change nothing. */
export function isOnlyCounted(before: FiringState, state: FiringState): boolean {
  return (
    state.readingCount > before.readingCount &&
    state.rejectedCount === before.rejectedCount &&
    state.lid === before.lid &&
    state.controller === before.controller &&
    state.kiln.sensors.every(({ name }) => state.sensors[name]?.recent === before.sensors[name]?.recent)
  );
}

/** Wherever it stands in the line, the terminals' temperature is needed before the voltages are read. */
function hearTerminals(state: FiringState, readings: readonly Reading[], raw: RawMessage): FiringState {
  let { terminals } = state;
  for (const reading of readings) {
    if (reading.kind !== 'temperature' || !isTerminals(state.kiln, reading.sensor)) continue;
    if (placeInTime(state, reading, raw).old !== null) continue;
    terminals = { ...terminals, [reading.sensor]: { atMs: raw.atMs, celsius: reading.temperatureC } };
  }
  return terminals === state.terminals ? state : changed(state, { terminals });
}

function terminalsOf({ terminals }: FiringState, { coldEnd }: SensorSetup): TimedC | undefined {
  return coldEnd?.kind === 'measured' ? terminals[coldEnd.by] : undefined;
}

function hearReading(known: FiringState, reading: Reading, raw: RawMessage, said: FiringEvent[]): FiringState {
  const { atMs, old, saidClocks } = placeInTime(known, reading, raw);
  const state = saidClocks === known.saidClocks ? known : changed(known, { saidClocks });
  if (reading.kind === 'lid') {
    // How the lid stood earlier says nothing of now, and must not blind us to a fall.
    if (old !== null) return reject(state, raw.atMs, old.sentence, said);
    return hearLid(state, reading.open, atMs, said);
  }
  if (reading.kind === 'setpoint' || reading.kind === 'output') {
    if (old !== null) return reject(state, raw.atMs, old.sentence, said);
    const { kind: _kind, ...told } = reading;
    const before = state.controller ?? { setpointC: null, outputRatio: null };
    return changed(state, { controller: { ...before, ...told, type: 'controller', atMs: raw.atMs } });
  }
  const setup = state.kiln.sensors.find((s) => s.name === reading.sensor);
  if (setup === undefined && isTerminals(state.kiln, reading.sensor)) return state;
  if (setup === undefined) return reject(state, raw.atMs, `This kiln has no sensor ${reading.sensor}.`, said);
  const measured = toSample(reading, setup, atMs, terminalsOf(state, setup));
  const sample = atMs === raw.atMs ? measured : { ...measured, arrivedAtMs: raw.atMs };
  const track = state.sensors[setup.name];
  if (old !== null) return reject(state, raw.atMs, old.sentence, said, late(sample, old.reason));
  const isRuling = setup.name === state.rulingSensor;
  const isEcho = track !== undefined && isOneOfMany(track, atMs);
  // What was stamped as it came was stamped by a clock that never steps: then many at once are what a board kept back.
  const isStampedElsewhere = raw.input === RECORDED_ROWS || reading.saidAtMs !== undefined;
  const isWatched = isRuling && !isEcho && isStampedElsewhere;
  const before = state.watches[setup.name];
  const stamps = isWatched
    ? watchStamps(state.stamps, track, atMs, sample.celsius, before?.spokenAtMs ?? 0)
    : state.stamps;
  if (track?.last != null && atMs < track.last.atMs) {
    const stamped = changed(state, { stamps });
    const onMs = atMs + stamps.behindMs - state.stamps.behindMs;
    // By now it is known that the rows' clock was set back: from this reading on the watch goes on.
    if (onMs > atMs && raw.input === RECORDED_ROWS)
      return hearReading(changed(stamped, { nowMs: onMs }), reading, { ...raw, atMs: onMs }, said);
    return reject(stamped, raw.atMs, null, said, late(sample, 'it is older than what is known'));
  }
  const watch = isEcho && before !== undefined ? before : watchSensor(state, setup, reading, sample);
  const watched = changed(state, { stamps, watches: { ...state.watches, [setup.name]: watch } });
  // A fault never shows as a temperature; what the instrument said stands in the record.
  const fault = certainFault(watch);
  if (fault !== null) return reject(watched, raw.atMs, null, said, badSample(setup.name, atMs, fault.sentence));
  return hearSample(watched, sample, track, raw.atMs, said);
}

/** A sample of a sensor that may be believed. */
function hearSample(
  state: FiringState,
  sample: SampleEvent,
  track: SensorTrack | undefined,
  arrivedAtMs: number,
  said: FiringEvent[],
): FiringState {
  const { atMs } = sample;
  if (sample.celsius === null || track === undefined) return reject(state, arrivedAtMs, null, said, sample);
  const timed = { atMs, celsius: sample.celsius };
  const leap = judgeLeap(track, atMs, sample.celsius);
  if (leap === 'wait') {
    const suspect: SampleEvent = { ...sample, quality: 'suspect', reason: 'further than a kiln moves at once' };
    const leapt = keepLeapt(track, timed);
    const waiting = changed(state, { sensors: { ...state.sensors, [track.name]: { ...track, leapt } } });
    return reject(waiting, arrivedAtMs, null, said, suspect);
  }
  said.push(sample);
  const readingCount = state.readingCount + 1;
  if (leap === 'no' && isOneOfMany(track, atMs)) {
    const noted = noteReading(track, timed);
    return changed(state, { readingCount, sensors: { ...state.sensors, [track.name]: noted } });
  }
  const filed = fileReading(track, timed);
  const sensors = { ...state.sensors, [track.name]: filed };
  const counted = changed(state, { readingCount, sensors });
  const pairs = watchCouples(counted, track.name, timed);
  const heard = pairs === state.pairs ? counted : changed(counted, { pairs });
  return track.name === state.rulingSensor
    ? follow(heard, timed, track.last?.atMs ?? null, leap === 'confirmed', said)
    : heard;
}

interface PlacedInTime {
  /** When it was measured, on our clock. */
  readonly atMs: number;
  /** Why it is no reading of now; null for one that is. */
  readonly old: { readonly reason: string; readonly sentence: string | null } | null;
  readonly saidClocks: FiringState['saidClocks'];
}

/** By the instrument's own time where it gives one; else it was measured when it arrived. */
function placeInTime({ saidClocks }: FiringState, reading: Reading, raw: RawMessage): PlacedInTime {
  const { atMs, retained, keptBack } = raw;
  if (retained === true) {
    return { atMs, old: { reason: 'the broker kept it from earlier', sentence: null }, saidClocks };
  }
  const kept =
    keptBack === true ? { reason: 'it was kept back on its way, and newer ones came with it', sentence: null } : null;
  if (reading.saidAtMs === undefined) return { atMs, old: kept, saidClocks };
  const name = 'sensor' in reading ? reading.sensor : reading.kind;
  const heard = judgeSaidTime(saidClocks[name] ?? null, atMs, reading.saidAtMs);
  const clocks = { ...saidClocks, [name]: heard.clock };
  if (kept !== null && tellsNoTime(atMs, reading.saidAtMs)) return { atMs, old: kept, saidClocks: clocks };
  return heard.is === 'late'
    ? { atMs, old: heard, saidClocks: clocks }
    : { atMs: heard.atMs, old: null, saidClocks: clocks };
}

function hearLid(state: FiringState, open: boolean, atMs: number, said: FiringEvent[]): FiringState {
  if (state.lid?.open === open) return state;
  said.push({ type: 'lid', atMs, open });
  // The first word of a switch only says how the lid stands.
  if (state.lid === null) return changed(state, { lid: { open, sinceMs: atMs } });
  const moved = changed(state, { lid: { open, sinceMs: atMs }, lidMovedAtMs: atMs });
  return answer(moved, { atMs, what: state.kiln.closure, value: open ? 'open' : 'closed', isUp: false }, said);
}

function reject(
  state: FiringState,
  atMs: number,
  sentence: string | null,
  said: FiringEvent[],
  sample?: SampleEvent,
): FiringState {
  if (sample !== undefined) said.push(sample);
  if (sentence !== null) said.push({ type: 'rejected', atMs, sentence });
  return changed(state, { rejectedCount: state.rejectedCount + 1 });
}

function late(sample: SampleEvent, reason: string): SampleEvent {
  return { ...sample, quality: 'late', reason };
}
