/**
 * The way of one input through core, on one page.
 *
 *   raw ─► decode ─► to °C ─► believe it? ─► place on the plan ─► look ahead ─► call the hand ─► judge ─► tell
 *          └───────── hear.ts ─────────┘    └──────── follow.ts ─────────┘    └─────────── here ───────────┘
 *
 * A person's deed comes by obey.ts, what happens at the daemon's edges by notice.ts; both are judged and told alike.
 * Pure: the same state and the same input give the same state and the same events, live, in a replay and in a test.
 */

import { standing } from './alerts/alert.ts';
import { CATALOGUE } from './alerts/catalogue.ts';
import { crackBelowC } from './alerts/lid-open-hot.ts';
import { judgeAlerts } from './alerts/lifecycle.ts';
import type { FiringEvent } from './events.ts';
import { type AskedAct, askedActs } from './forecast/asked-acts.ts';
import { updateCalls } from './forecast/calls.ts';
import { hear, isOnlyCounted, RECORDED_ROWS } from './hear.ts';
import type { CoreInput } from './inputs.ts';
import { notice } from './notice.ts';
import { obey } from './obey.ts';
import type { Schedule } from './plan/schedule.ts';
import { describeForecast } from './report/outlook.ts';
import { describePosition } from './report/position.ts';
import { changed, type FiringState } from './state.ts';
import { type TimesAhead, timesAhead } from './times-ahead.ts';
import { firingOver, unloadBelowC } from './tracking/firing-end.ts';
import { onTimeMs } from './tracking/stamp-watch.ts';
import { viewOf } from './view.ts';

export interface Step {
  readonly state: FiringState;
  readonly events: readonly FiringEvent[];
}

/** Ticks come each second of data time, counted from the firing's start. */
const TICK_MS = 1000;

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

/** Takes one input: what is known afterwards, and what there is to say. Nothing changes a firing that has ended. */
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
  const times = timesAhead(state);
  state = judge(state, times, said);
  state = tell(state, input.kind, times, said);
  return { state: count(before, state, said), events: said };
}

/** Rows of an instrument whose clock was set back are as new as ever, until it is set right again. */
function onTime({ stamps, nowMs }: FiringState, input: CoreInput) {
  if (stamps.behindMs === 0 || input.kind !== 'raw' || input.input !== RECORDED_ROWS) return { stamps, input };
  const atMs = onTimeMs(stamps, input.atMs, nowMs);
  const isRight = atMs === input.atMs;
  return { stamps: isRight ? { ...stamps, behindMs: 0 } : stamps, input: isRight ? input : { ...input, atMs } };
}

/** Calls of the hand and alerts, at every input and every tick. */
function judge(state: FiringState, { segments, cool }: TimesAhead, said: FiringEvent[]): FiringState {
  const { schedule, track, nowMs } = state;
  let { calls } = state;
  if (schedule !== null && track !== null) {
    calls = updateCalls(state.calls, askedOf(state, schedule), {
      schedule,
      track,
      times: segments,
      courses: state,
      cool,
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

/** What the page shows: position and forecast with each reading, each deed, and every tenth tick. */
function tell(state: FiringState, kind: CoreInput['kind'], times: TimesAhead, said: FiringEvent[]): FiringState {
  const isTenth = Math.floor((state.nowMs - state.startedAtMs) / TICK_MS) % 10 === 0;
  const hasAlertNews = said.some((e) => e.type === 'alert' || e.type === 'call');
  const over = firingOver(state);
  let { position, forecast } = state;
  if (kind !== 'tick' || isTenth || hasAlertNews) {
    position = describePosition(state, times, standing(state.alerts));
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
