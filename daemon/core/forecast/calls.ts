/** Calls of the hand: what the schedule and the kiln ask for, called its minutes before by the forecast's time. No alarms. */
import type { Call, CallState } from '../events.ts';
import { timeOfDay } from '../numbers/time-of-day.ts';
import { MS_PER_MIN, MS_PER_S } from '../numbers/units.ts';
import { haveCommon, isSameSaying, thingsDone, thingsIn } from '../plan/hand-words.ts';
import type { Schedule } from '../plan/schedule.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { type Courses, passesAtMs, type SegmentTimes } from './arrival.ts';
import { type AskedAct, isOpening } from './asked-acts.ts';
import type { CoolTimes } from './cool-times.ts';

/** A call that nobody answered leaves the page this long after its time. */
const PASSED_AFTER_MIN = 10;
/** ... and sooner where the kiln itself shows whether somebody came: it rests, or the alert says that it does not. */
const PASSED_AT_VALVE_MIN = 5;
/** Who comes so much earlier than called, or twice as early, has come for it. Ours. */
const EARLY_MIN = 10;

/** What the times of the calls follow from. */
export interface CallTimes {
  readonly schedule: Schedule;
  readonly track: PlanTrack;
  readonly times: readonly SegmentTimes[];
  readonly courses: Courses;
  readonly cool: CoolTimes;
  readonly nowMs: number;
  readonly utcOffsetMinutes: number;
}

/**
 * Carries every call on. One that has been called stays called: the kiln's pace may waver, the person is on the way.
 * @param known the calls as they stood
 */
export function updateCalls(known: readonly Call[], asked: readonly AskedAct[], at: CallTimes): Call[] {
  return asked.map((act) => {
    const before = known.find((c) => c.id === act.id);
    if (before?.state === 'done' || before?.state === 'passed') return before;
    return carryOn(act, dueTime(act, at, before), before, at);
  });
}

function carryOn(act: AskedAct, dueAtMs: number | null, before: Call | undefined, at: CallTimes): Call {
  const { nowMs, track, utcOffsetMinutes } = at;
  const callAtMs = dueAtMs === null ? null : dueAtMs - act.callMinutes * MS_PER_MIN;
  const isSegmentPast = act.segment < track.segment;
  let state: CallState = before?.state ?? 'coming';
  if (state === 'coming' && callAtMs !== null && nowMs >= callAtMs) state = 'due';
  if (state === 'due' && dueAtMs !== null && nowMs > dueAtMs + passedAfterMin(act) * MS_PER_MIN) state = 'passed';
  if (state === 'coming' && isSegmentPast && dueAtMs === null && !isOpening(act.id)) state = 'passed';
  const isNow = dueAtMs !== null && dueAtMs <= nowMs;
  const when = dueAtMs === null ? '' : isNow ? ' now' : ` ${whenDue(act.id, dueAtMs, utcOffsetMinutes)}`;
  const sentence = `${capital(act.do)}${when}.`;
  return { id: act.id, do: act.do, dueAtMs, callAtMs, state, sentence };
}

/** "at 14:20"; of a kiln that falls for hours nobody knows the minute: "about 20:50". */
export function whenDue(callId: string, dueAtMs: number, utcOffsetMinutes: number): string {
  return `${isOpening(callId) ? 'about' : 'at'} ${timeOfDay(dueAtMs, utcOffsetMinutes)}`;
}

function passedAfterMin({ when }: AskedAct): number {
  return typeof when === 'object' && 'beforeEndS' in when ? PASSED_AT_VALVE_MIN : PASSED_AFTER_MIN;
}

/** Once its moment has come, a call keeps it. */
function dueTime(act: AskedAct, at: CallTimes, before: Call | undefined): number | null {
  const { nowMs, times, courses, cool } = at;
  const { when } = act;
  const fixed = pastMoment(act, at.track);
  if (fixed !== null) return fixed;
  const hasCome = before?.dueAtMs != null && before.dueAtMs <= nowMs && before.state === 'due';
  if (hasCome && (typeof when === 'object' || isOpening(act.id))) return before.dueAtMs;
  if (when === 'crack') return cool.crackAtMs;
  if (when === 'unload') return cool.unloadAtMs;
  const time = times.find((t) => t.segment === act.segment);
  if (time === undefined) return before?.dueAtMs ?? null;
  if (when === 'start') return time.startsAtMs;
  if (when === 'end') return time.endsAtMs;
  if ('atC' in when) return passesAtMs(time, when.atC, courses, nowMs);
  if (time.endsAtMs === null) return null;
  return Math.max(time.endsAtMs - when.beforeEndS * MS_PER_S, time.startsAtMs ?? Number.NEGATIVE_INFINITY);
}

function pastMoment({ segment, when }: AskedAct, track: PlanTrack): number | null {
  const past = track.past.find((p) => p.segment === segment);
  if (when === 'start') return segment === track.segment ? track.startedAtMs : (past?.startedAtMs ?? null);
  if (when === 'end') return past?.endedAtMs ?? null;
  if (typeof when === 'object' && 'beforeEndS' in when && past !== undefined) {
    return Math.max(past.endedAtMs - when.beforeEndS * MS_PER_S, past.startedAtMs);
  }
  return null;
}

export interface HandAct {
  readonly atMs: number;
  readonly what: string;
  readonly value?: string | undefined;
  /** By its figures the hand turned it up. */
  readonly isUp: boolean;
}

/** An act of the hand answers the call that asks for it, also one that is not due yet: by its own words, or by the thing touched. */
export function answerCalls(calls: readonly Call[], act: HandAct): Call[] {
  const done = thingsDone(act.what, act.value, act.isUp);
  const [sooner] = calls
    .filter((call) => call.state === 'coming' && isSameSaying(call.do, act.what))
    .sort((a, b) => (a.dueAtMs ?? Number.POSITIVE_INFINITY) - (b.dueAtMs ?? Number.POSITIVE_INFINITY));
  const isDueInWords = calls.some((call) => call.state === 'due' && isSameSaying(call.do, act.what));
  return calls.map((call) => {
    if (isUndone(call, act)) return { ...call, state: 'coming' as const };
    const isAnswered =
      (call.state === 'due' && isAnswer(call, act, done)) ||
      (call.state === 'coming' && isSoon(call, act.atMs) && isAnswer(call, act, done)) ||
      (call === sooner && !isDueInWords);
    return isAnswered ? { ...call, state: 'done' as const } : call;
  });
}

/** Turned down early and up again: the hand only sought its pace, and is still to be called. */
function isUndone(call: Call, act: HandAct): boolean {
  const isEarly = call.state === 'done' && call.dueAtMs !== null && call.dueAtMs > act.atMs;
  return isEarly && act.isUp && thingsIn(call.do).has('turn-down');
}

function isAnswer(call: Call, act: HandAct, done: ReturnType<typeof thingsDone>): boolean {
  return isSameSaying(call.do, act.what) || haveCommon(done, thingsIn(call.do));
}

function isSoon({ dueAtMs, callAtMs }: Call, nowMs: number): boolean {
  if (dueAtMs === null || callAtMs === null) return false;
  return dueAtMs - nowMs <= Math.max(EARLY_MIN * MS_PER_MIN, 2 * (dueAtMs - callAtMs));
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
