/** Calls of the hand: what the schedule wants done, called its minutes before by the forecast's time. No alarms. */
import type { Call, CallState } from '../events.ts';
import { timeOfDay } from '../numbers/time-of-day.ts';
import { MS_PER_MIN } from '../numbers/units.ts';
import type { PlannedAct, Schedule } from '../plan/schedule.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { type Courses, passesAtMs, type SegmentTimes } from './arrival.ts';

/** Where the schedule does not say how long before. Common practice, no source: time to wash a brush and walk over. */
const CALL_MINUTES = 5;
/** A call that nobody answered leaves the page this long after its time. */
const PASSED_AFTER_MIN = 10;

export interface HandAct {
  readonly atMs: number;
  readonly what: string;
}

/**
 * Carries every call on. One that has been called stays called: the kiln's pace may waver, the person is on the way.
 * @param known the calls as they stood
 */
export function updateCalls(
  known: readonly Call[],
  schedule: Schedule,
  track: PlanTrack,
  times: readonly SegmentTimes[],
  courses: Courses,
  nowMs: number,
  utcOffsetMinutes: number,
): Call[] {
  const calls: Call[] = [];
  for (const [segment, planned] of schedule.segments.entries()) {
    for (const [i, act] of (planned.acts ?? []).entries()) {
      const id = `${segment}-${i}`;
      const before = known.find((c) => c.id === id);
      if (before?.state === 'done' || before?.state === 'passed') {
        calls.push(before);
        continue;
      }
      const dueAtMs = dueTime(act, segment, track, times, courses, nowMs, before);
      calls.push(carryOn(id, act, segment < track.segment, dueAtMs, before, nowMs, utcOffsetMinutes));
    }
  }
  return calls;
}

function carryOn(
  id: string,
  act: PlannedAct,
  isSegmentPast: boolean,
  dueAtMs: number | null,
  before: Call | undefined,
  nowMs: number,
  utcOffsetMinutes: number,
): Call {
  const callAtMs = dueAtMs === null ? null : dueAtMs - (act.callMinutes ?? CALL_MINUTES) * MS_PER_MIN;
  let state: CallState = before?.state ?? 'coming';
  if (state === 'coming' && callAtMs !== null && nowMs >= callAtMs) state = 'due';
  if (state === 'due' && dueAtMs !== null && nowMs > dueAtMs + PASSED_AFTER_MIN * MS_PER_MIN) state = 'passed';
  if (state === 'coming' && isSegmentPast && dueAtMs === null) state = 'passed';
  const when = dueAtMs === null ? '' : dueAtMs <= nowMs ? ' now' : ` at ${timeOfDay(dueAtMs, utcOffsetMinutes)}`;
  const sentence = `${capital(act.do)}${when}.`;
  return { id, do: act.do, dueAtMs, callAtMs, state, sentence };
}

/** Once its moment has come, a call keeps it. */
function dueTime(
  act: PlannedAct,
  segment: number,
  track: PlanTrack,
  times: readonly SegmentTimes[],
  courses: Courses,
  nowMs: number,
  before: Call | undefined,
): number | null {
  const fixed = pastMoment(act, segment, track);
  if (fixed !== null) return fixed;
  if (before?.dueAtMs != null && before.dueAtMs <= nowMs && before.state === 'due' && typeof act.when === 'object') {
    return before.dueAtMs;
  }
  const time = times.find((t) => t.segment === segment);
  if (time === undefined) return before?.dueAtMs ?? null;
  if (act.when === 'start') return time.startsAtMs;
  if (act.when === 'end') return time.endsAtMs;
  return passesAtMs(time, act.when.atC, courses, nowMs);
}

function pastMoment(act: PlannedAct, segment: number, track: PlanTrack): number | null {
  const past = track.past.find((p) => p.segment === segment);
  if (act.when === 'start') return segment === track.segment ? track.startedAtMs : (past?.startedAtMs ?? null);
  if (act.when === 'end') return past?.endedAtMs ?? null;
  return null;
}

/** An act of the hand answers the call that speaks of it: by its own words, or by the thing that was touched. */
export function answerCalls(calls: readonly Call[], what: string): Call[] {
  const said = what.toLowerCase();
  return calls.map((call) =>
    call.state === 'due' && (call.do.toLowerCase() === said || mentions(call.do.toLowerCase(), said))
      ? { ...call, state: 'done' as const }
      : call,
  );
}

/** Turning the valve answers a call that speaks of the gas or the heat. */
const SAME_THING: ReadonlyMap<string, readonly string[]> = new Map([
  ['valve', ['valve', 'gas down', 'heat down', 'turn down', 'stand at']],
  ['gas pressure', ['pressure', 'gas down', 'heat down', 'turn down']],
  ['flame', ['flame', 'gas off', 'heat off', 'light']],
]);

function mentions(call: string, said: string): boolean {
  // "turn the gas down" and "gas down" are one act.
  const plain = call
    .replace(/\b(the|a|it)\b\s*/g, '')
    .replace('turn gas down', 'gas down')
    .replace('turn heat down', 'heat down');
  return (SAME_THING.get(said) ?? [said]).some((word) => plain.includes(word));
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
