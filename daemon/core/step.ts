/**
 * The way of one input through core, on one page.
 *
 *   raw ─► decode ─► to °C ─► believe it? ─► place on the plan ─► look ahead ─► call the hand ─► judge ─► tell
 *
 * Pure: the same state and the same input give the same state and the same events, live, in a replay and in a test.
 */

import { standing, type Told } from './alerts/alert.ts';
import { putAside, resetAlert, seeAlert, switchOff, switchOn } from './alerts/answers.ts';
import { CATALOGUE } from './alerts/catalogue.ts';
import { crackBelowC } from './alerts/lid-open-hot.ts';
import { judgeAlerts } from './alerts/lifecycle.ts';
import type { FiringEvent, SampleEvent } from './events.ts';
import { segmentTimes } from './forecast/arrival.ts';
import { type AskedAct, askedActs } from './forecast/asked-acts.ts';
import { answerCalls, type HandAct, updateCalls } from './forecast/calls.ts';
import { type CoolTimes, coolTimes } from './forecast/cool-times.ts';
import { courseOf, steadyCourseOf } from './forecast/course.ts';
import { NO_FORESIGHT } from './forecast/foresight.ts';
import { lookAhead } from './forecast/look-ahead.ts';
import type { Action, CoreInput, EdgeStatus, RawMessage } from './inputs.ts';
import type { TimedC } from './numbers/line-fit.ts';
import { isTerminals } from './plan/instrument.ts';
import { type KilnSetup, rulingSensor, type SensorSetup } from './plan/kiln.ts';
import type { Schedule } from './plan/schedule.ts';
import { decodeRaw } from './reading/decode.ts';
import type { Reading } from './reading/reading.ts';
import { couplesWord } from './report/couples.ts';
import { describeForecast } from './report/outlook.ts';
import { describePosition } from './report/position.ts';
import { changed, type FiringState } from './state.ts';
import { badSample, toSample } from './thermometry/sample.ts';
import { NO_PAIRS } from './tracking/couple-pairs.ts';
import { firingOver, unloadBelowC } from './tracking/firing-end.ts';
import { heatState } from './tracking/heat-state.ts';
import { trackHeat } from './tracking/heat-track.ts';
import { judgeLeap, keepLeapt } from './tracking/leap.ts';
import { watchOpening } from './tracking/opening.ts';
import { paceOf } from './tracking/pace.ts';
import { PROVEN_GAP_S, shiftPlan, startPlan, trackPlan } from './tracking/plan-track.ts';
import { judgeSaidTime, tellsNoTime } from './tracking/said-clock.ts';
import { fileReading, isOneOfMany, newSensorTrack, noteReading, type SensorTrack } from './tracking/sensor-track.ts';
import { clockLeapS, noticeClockSet, onTimeMs, watchStamps } from './tracking/stamp-watch.ts';
import { toleranceOf } from './tracking/tolerance.ts';
import { viewOf } from './view.ts';
import { watchCouples } from './watch-couples.ts';
import { certainFault, watchSensor } from './watch-sensor.ts';

/** The input under which the rows of a recorded curve are fed. */
const RECORDED_ROWS = 'rows';

export interface Step {
  readonly state: FiringState;
  readonly events: readonly FiringEvent[];
}

/** Ticks come each second of data time, counted from the firing's start. */
const TICK_MS = 1000;
/** The way is kept at this spacing, for a plan that is given late. */
const WAY_MS = 15_000;

/**
 * Lets time pass up to `atMs`: one tick for each whole second between, none at or before the last known instant, nor at
 * `atMs` itself, since the input of that instant is judged anyway. Call it before each input, so that silence is noticed
 * whether or not anything comes.
 */
export function passTime(state: FiringState, atMs: number): Step {
  let now = state;
  const events: FiringEvent[] = [];
  const untilMs = onTimeMs(state.stamps, atMs, state.nowMs);
  for (let tickMs = nextTickMs(state); tickMs < untilMs && !now.ended; tickMs += TICK_MS) {
    const ticked = step(now, { kind: 'tick', atMs: tickMs });
    now = ticked.state;
    events.push(...ticked.events);
  }
  return { state: now, events };
}

function nextTickMs(state: FiringState): number {
  const passed = Math.floor((state.nowMs - state.startedAtMs) / TICK_MS);
  return state.startedAtMs + (passed + 1) * TICK_MS;
}

export function step(before: FiringState, given: CoreInput): Step {
  if (before.ended) return { state: before, events: [] };
  const said: FiringEvent[] = [];
  const { input, stamps } = onTime(before, given);
  let state = changed(before, { nowMs: Math.max(before.nowMs, input.atMs), stamps });
  switch (input.kind) {
    case 'raw':
      state = hear(state, input, said);
      if (isOnlyCounted(before, state)) return { state, events: said };
      break;
    case 'action':
      state = obey(state, input, said);
      break;
    case 'edge':
      state = notice(state, input, said);
      break;
    case 'tick':
      break;
  }
  state = judge(state, said);
  state = tell(state, input.kind, said);
  return { state: count(before, state, said), events: said };
}

/** Rows of an instrument whose clock was set back are as new as ever, until it is set right again. */
function onTime({ stamps, nowMs }: FiringState, input: CoreInput) {
  if (stamps.behindMs === 0 || input.kind !== 'raw' || input.input !== RECORDED_ROWS) return { stamps, input };
  const atMs = onTimeMs(stamps, input.atMs, nowMs);
  const isRight = atMs === input.atMs;
  return { stamps: isRight ? { ...stamps, behindMs: 0 } : stamps, input: isRight ? input : { ...input, atMs } };
}

/** Raw text -> readings -> samples -> what the sensors and the plan know. */
function hear(state: FiringState, raw: RawMessage, said: FiringEvent[]): FiringState {
  const atMs = raw.atMs;
  const decoded = decodeRaw(raw, state.kiln.decodings[raw.input], state.kiln.sensors);
  if (!decoded.ok) return reject(state, atMs, decoded.sentence, said);
  let next = hearTerminals(state, decoded.readings, raw);
  for (const reading of decoded.readings) next = hearReading(next, reading, raw, said);
  if (next.controller !== null && next.controller !== state.controller) said.push(next.controller);
  return next;
}

/** Readings came, and of couples that speak so fast that these change nothing. */
function isOnlyCounted(before: FiringState, state: FiringState): boolean {
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
  const pairs = watchCouples(changed(state, { sensors }), track.name, timed);
  const heard = changed(state, { readingCount, sensors, pairs });
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

/** The ruling sensor spoke: place the firing on its plan and look ahead. */
function follow(
  state: FiringState,
  now: { atMs: number; celsius: number },
  lastAtMs: number | null,
  isLeap: boolean,
  said: FiringEvent[],
): FiringState {
  const { kiln, schedule } = state;
  const ruling = state.sensors[state.rulingSensor];
  if (ruling === undefined) return state;
  const isAfterGap =
    lastAtMs !== null && now.atMs - lastAtMs > Math.max(PROVEN_GAP_S, 5 * (ruling.intervalS ?? 0)) * 1000;
  if (isAfterGap) said.push({ type: 'gap', fromMs: lastAtMs, atMs: now.atMs, why: 'no readings' });
  const pace = paceOf(ruling, state.pace, lastAtMs);
  const course = courseOf(pace, now.atMs);
  const leapS = clockLeapS(state.stamps, now.atMs);
  const before = state.track === null || leapS === 0 ? state.track : shiftPlan(state.track, leapS);
  const toleranceC = toleranceOf(kiln, schedule);
  const track = schedule === null ? null : trackPlan(schedule, before ?? startPlan(now), now, toleranceC, kiln.heat);
  const lastOfWay = state.way[state.way.length - 1];
  const way = lastOfWay === undefined || now.atMs - lastOfWay.atMs >= WAY_MS ? [...state.way, now] : state.way;
  const sign = watchOpening(
    isAfterGap ? null : state.sign,
    ruling,
    heatState({ kiln, schedule, track, lastHandAtMs: state.lastHandAtMs, pace }, now.atMs),
    state.heat.ripple?.usualC,
    kiln.heat,
    state.foresight.climbPerS,
  );
  const lidMovedAtMs = sign === null ? state.lidMovedAtMs : now.atMs;
  const heat = trackHeat(state.heat, now, {
    heat: kiln.heat,
    schedule,
    track,
    toleranceC,
    lidMovedAtMs,
    peakC: ruling.peakC ?? now.celsius,
    plateMm: schedule?.plateMm ?? kiln.plateMm,
    hasPaused: isAfterGap,
  });
  return changed(state, {
    heat,
    lidMovedAtMs,
    pace,
    course,
    steady: steadyCourseOf(pace, course),
    track,
    way,
    foresight: lookAhead(state.foresight, now, {
      schedule,
      track,
      intervalS: ruling.intervalS,
      isLeap,
      rate: pace.present,
    }),
    sign,
    heardSinceMs: isAfterGap ? now.atMs : state.heardSinceMs,
  });
}

function terminalsOf({ terminals }: FiringState, { coldEnd }: SensorSetup): TimedC | undefined {
  return coldEnd?.kind === 'measured' ? terminals[coldEnd.by] : undefined;
}

function hearLid(state: FiringState, open: boolean, atMs: number, said: FiringEvent[]): FiringState {
  if (state.lid?.open === open) return state;
  said.push({ type: 'lid', atMs, open });
  // The first word of a switch only says how the lid stands.
  if (state.lid === null) return changed(state, { lid: { open, sinceMs: atMs } });
  const moved = changed(state, { lid: { open, sinceMs: atMs }, lidMovedAtMs: atMs });
  return answer(moved, { atMs, what: state.kiln.closure, value: open ? 'open' : 'closed', isUp: false }, said);
}

/** A person did something. */
function obey(state: FiringState, action: Action, said: FiringEvent[]): FiringState {
  const { atMs, by } = action;
  const celsius = state.sensors[state.rulingSensor]?.last?.celsius ?? null;
  switch (action.deed) {
    case 'plan':
      said.push({ type: 'plan', atMs, schedule: action.schedule });
      return layPlan(changed(state, { schedule: action.schedule }), action.schedule);
    case 'act': {
      const { what, value, correctsAtMs } = action;
      const act = { type: 'act', atMs, by, deed: 'act', what, ...(value !== undefined && { value }), celsius } as const;
      if (correctsAtMs !== undefined) {
        said.push({ ...act, correctsAtMs });
        return changed(state, { marks: withMark(state.marks, what, value) });
      }
      said.push(act);
      const { isUp, ...work } = handWork(state, what, value, atMs);
      return answer(changed(state, work), { atMs, what, value, isUp }, said);
    }
    case 'seen':
      return withAlerts(state, seeAlert(state.alerts, action.alertId, by, atMs), said);
    case 'put-aside': {
      const segment = state.track?.segment ?? null;
      return withAlerts(state, putAside(state.alerts, action.alertId, by, action.minutes, segment, atMs), said);
    }
    case 'list': {
      const sensors = state.kiln.sensors.map(({ name }) => ({
        name,
        celsius: state.sensors[name]?.last?.celsius ?? null,
      }));
      const couples = action.couples ?? couplesWord(sensors, action.roomC);
      said.push({
        type: 'act',
        atMs,
        by,
        deed: 'list',
        what: 'before lighting',
        celsius,
        items: action.items,
        couples,
      });
      return state;
    }
    case 'reset':
      return withAlerts(state, resetAlert(state.alerts, action.alertId, by, atMs), said);
    case 'switch-off':
      said.push({ type: 'act', atMs, by, deed: 'switch-off', what: action.alert, value: action.why, celsius });
      return withAlerts(state, switchOff(state.alerts, action.alert, by, action.why, atMs), said);
    case 'switch-on':
      said.push({ type: 'act', atMs, by, deed: 'switch-on', what: action.alert, celsius });
      return changed(state, { alerts: switchOn(state.alerts, action.alert) });
    case 'note':
      said.push({
        type: 'act',
        atMs,
        by,
        deed: 'note',
        what: action.text,
        celsius,
        ...(action.photo !== undefined && { photo: action.photo }),
      });
      return state;
    case 'end':
      said.push({ type: 'ended', atMs, by, why: 'ended by hand' });
      return changed(state, { ended: true });
  }
}

function withAlerts(state: FiringState, told: Told, said: FiringEvent[]): FiringState {
  said.push(...told.events);
  return changed(state, { alerts: told.alerts });
}

/** What the eye saw, an instrument held in the hand showed, or a person took over changes nothing in the kiln. */
const LOOKS = new Set([
  'gloss seen',
  'smoke stopped',
  'cone down',
  'trial drawn',
  'hand pyrometer',
  'flame colour',
  'watch handed to',
  'bell heard',
]);
/** A flame lit or the heat switched on is no turning down. */
const HEAT_ON = new Set(['lit', 'on']);

/** Whether the hand turned something up is told by its figures, where it gives them. */
function handWork(
  state: FiringState,
  what: string,
  value: string | undefined,
  atMs: number,
): Pick<FiringState, 'marks' | 'lastTurnDownAtMs' | 'lastHandAtMs'> & { readonly isUp: boolean } {
  const { marks, lastTurnDownAtMs, lastHandAtMs } = state;
  if (LOOKS.has(what.toLowerCase())) return { marks, lastTurnDownAtMs, lastHandAtMs, isUp: false };
  const figure = figureIn(value);
  const before = marks[what];
  const isUp = HEAT_ON.has(value ?? '') || (before !== undefined && figure > before);
  return {
    marks: withMark(marks, what, value),
    lastTurnDownAtMs: isUp ? lastTurnDownAtMs : atMs,
    lastHandAtMs: atMs,
    isUp,
  };
}

function figureIn(value: string | undefined): number {
  return Number.parseFloat((value ?? '').replace(/^[^\d-]*/, '').replace(',', '.'));
}

function withMark(marks: FiringState['marks'], what: string, value: string | undefined): FiringState['marks'] {
  const figure = figureIn(value);
  return Number.isFinite(figure) ? { ...marks, [what]: figure } : marks;
}

/** Whatever was done, by the page or seen by the lid's switch, may be what a call asked for. */
function answer(state: FiringState, act: HandAct, said: FiringEvent[]): FiringState {
  const calls = answerCalls(state.calls, act);
  for (const call of calls) if (!state.calls.includes(call)) said.push({ type: 'call', atMs: act.atMs, call });
  return changed(state, { calls });
}

/** A plan given late is laid over the way that the kiln has already come. */
function layPlan(state: FiringState, schedule: Schedule): FiringState {
  const toleranceC = toleranceOf(state.kiln, schedule);
  const [first, ...rest] = state.way;
  if (first === undefined) return changed(state, { track: null, calls: [] });
  const track = rest.reduce(
    (t, reading) => trackPlan(schedule, t, reading, toleranceC, state.kiln.heat),
    startPlan(first),
  );
  return changed(state, { track, calls: [] });
}

/** Something happened at an edge of the daemon. */
function notice(state: FiringState, news: EdgeStatus, said: FiringEvent[]): FiringState {
  const others = state.lostInputs.filter((i) => !('input' in news) || i.input !== news.input);
  switch (news.edge) {
    case 'input-lost':
      return changed(state, { lostInputs: [...others, { input: news.input, sentence: news.sentence }] });
    case 'input-back':
      return changed(state, { lostInputs: others });
    case 'restarted':
      said.push({ type: 'gap', fromMs: news.atMs - news.awayS * 1000, atMs: news.atMs, why: 'the daemon was away' });
      return changed(state, { lostInputs: [], heardSinceMs: news.atMs, sign: null });
    case 'record-lost':
      return changed(state, { recordLost: news.sentence });
    case 'record-back':
      // What waited in memory while the disk refused is written by now; only what found no room there is missing.
      if (news.missing > 0) {
        const why = `${news.missing} lines are missing from the record`;
        said.push({ type: 'gap', fromMs: news.atMs, atMs: news.atMs, why });
      }
      return changed(state, { recordLost: null });
    case 'setup-changed':
      return adoptSetup(state, news.kiln);
    case 'clock-set':
      return changed(state, { stamps: noticeClockSet(state.stamps, news.atMs, news.byS) });
  }
}

/** A sensor that is new starts without a past; one that is gone is no longer waited for. */
function adoptSetup(state: FiringState, kiln: KilnSetup): FiringState {
  const sensors = Object.fromEntries(
    kiln.sensors.map((s) => [s.name, state.sensors[s.name] ?? newSensorTrack(s.name)]),
  );
  const ruling = rulingSensor(kiln);
  // What was learned of one couple says nothing of another.
  const foresight = ruling === state.rulingSensor ? state.foresight : NO_FORESIGHT;
  const pairs = ruling === state.rulingSensor ? state.pairs : NO_PAIRS;
  return changed(state, { kiln, sensors, pairs, rulingSensor: ruling, foresight });
}

/** Calls of the hand and alerts, at every input and every tick. */
function judge(state: FiringState, said: FiringEvent[]): FiringState {
  const { schedule, track, nowMs } = state;
  let { calls } = state;
  if (schedule !== null && track !== null) {
    const times = segmentTimes(schedule, track, state, nowMs);
    calls = updateCalls(state.calls, askedOf(state, schedule), {
      schedule,
      track,
      times,
      courses: state,
      cool: coolOf(state),
      nowMs,
      utcOffsetMinutes: state.kiln.utcOffsetMinutes,
    });
    for (const call of calls) {
      const before = state.calls.find((c) => c.id === call.id);
      const isNews = call.state !== (before?.state ?? 'coming');
      if (isNews) said.push({ type: 'call', atMs: nowMs, call });
    }
  }
  const { alerts, events } = judgeAlerts(state.alerts, CATALOGUE, viewOf(state, calls));
  said.push(...events);
  return changed(state, { calls, alerts });
}

/** What the hand must do in this firing, whether the schedule says it or the kiln's own way. */
function askedOf(state: FiringState, schedule: Schedule): readonly AskedAct[] {
  const { heat, closure } = state.kiln;
  const isCrackedFirst = crackBelowC(state) > unloadBelowC(state.kiln, schedule);
  return askedActs(schedule, { heat, closure, isCrackedFirst });
}

function coolOf(state: FiringState): CoolTimes {
  const nowC = state.sensors[state.rulingSensor]?.last?.celsius ?? null;
  return coolTimes(state, nowC, crackBelowC(state), unloadBelowC(state.kiln, state.schedule));
}

/** What the page shows: position and forecast with each reading, each deed, and every tenth tick. */
function tell(state: FiringState, kind: CoreInput['kind'], said: FiringEvent[]): FiringState {
  const isTenth = Math.floor((state.nowMs - state.startedAtMs) / TICK_MS) % 10 === 0;
  const hasAlertNews = said.some((e) => e.type === 'alert' || e.type === 'call');
  const over = firingOver(state);
  let { position, forecast } = state;
  if (kind !== 'tick' || isTenth || hasAlertNews) {
    position = describePosition(state, standing(state.alerts));
    said.push(position);
    if (kind === 'raw') {
      forecast = describeForecast(state, position);
      if (forecast !== null) said.push(forecast);
    }
  }
  const isOver = over.why !== null && !state.ended;
  // Most ticks have nothing to tell; a copy of all that is known would be most of their cost.
  if (position === state.position && over.coolSinceMs === state.coolSinceMs && !isOver) return state;
  const next = changed(state, { coolSinceMs: over.coolSinceMs, position, forecast });
  if (over.why === null || !isOver) return next;
  said.push({ type: 'ended', atMs: next.nowMs, by: 'by itself', why: over.why });
  return changed(next, { ended: true });
}

function count(before: FiringState, state: FiringState, said: readonly FiringEvent[]): FiringState {
  let counts = state.alertCounts;
  for (const event of said) {
    // One alert may say several things at one instant.
    if (event.type !== 'alert' || said.find((e) => e.type === 'alert' && e.id === event.id) !== event) continue;
    if (before.alerts.live.some((a) => a.told?.id === event.id)) continue;
    counts = { ...counts, [event.alert]: (counts[event.alert] ?? 0) + 1 };
  }
  return counts === state.alertCounts ? state : changed(state, { alertCounts: counts });
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
