/** Where the firing is, told in one sentence and in figures. */
import { crackBelowC } from '../alerts/lid-open-hot.ts';
import { changing } from '../alerts/wording.ts';
import type { AlertEvent, Call, PositionEvent } from '../events.ts';
import { planLine, type SegmentTimes } from '../forecast/arrival.ts';
import { isOpening } from '../forecast/asked-acts.ts';
import { whenDue } from '../forecast/calls.ts';
import { timeOfDay } from '../numbers/time-of-day.ts';
import { perHour } from '../numbers/units.ts';
import { type Schedule, targetC } from '../plan/schedule.ts';
import type { FiringState } from '../state.ts';
import type { TimesAhead } from '../times-ahead.ts';
import { unloadBelowC } from '../tracking/firing-end.ts';
import { type PlanTrack, plannedNowC } from '../tracking/plan-track.ts';

export function describePosition(
  state: FiringState,
  { segments: times, cool }: TimesAhead,
  alerts: readonly AlertEvent[],
): PositionEvent {
  const { schedule, track, course, nowMs, kiln } = state;
  const nowC = state.sensors[state.rulingSensor]?.last?.celsius ?? null;
  const rateCPerH = course === null ? null : perHour(course.slopePerS);
  const plannedC = schedule !== null && track !== null ? plannedNowC(schedule, track, nowMs) : null;
  const segment = track !== null && schedule !== null ? (schedule.segments[track.segment] ?? null) : null;
  const isHold = segment?.kind === 'hold';
  const { crackAtMs, unloadAtMs } = cool;
  const next = nextThing(state.calls, nowMs, kiln.utcOffsetMinutes) ?? nextOpening(state, nowC, crackAtMs, unloadAtMs);
  const parts: SentenceParts = { state, nowC, rateCPerH, times, crackAtMs, next: next?.clause ?? null };
  return {
    type: 'position',
    atMs: nowMs,
    sentence: sentenceOf(parts, alerts),
    segment: track?.segment ?? null,
    segmentName: segmentName(state),
    plannedC: roundTenth(plannedC),
    deviationC: plannedC === null || nowC === null ? null : roundTenth(nowC - plannedC),
    rateCPerH: rateCPerH === null ? null : Math.round(rateCPerH),
    holdDoneS: isHold && track !== null ? Math.round(track.hold.doneS) : null,
    holdInBandS: isHold && track !== null ? Math.round(track.hold.inBandS) : null,
    holdS: isHold ? segment.minutes * 60 : null,
    segmentEndsAtMs: roundMs(times[0]?.endsAtMs ?? null),
    planEndsAtMs: roundMs(times[times.length - 1]?.endsAtMs ?? null),
    crackAtMs: roundMs(crackAtMs),
    unloadAtMs: roundMs(unloadAtMs),
    next: next?.clause ?? null,
    nextAtMs: roundMs(next?.atMs ?? null),
    calls: state.calls.map(roundCall),
    planLine: (schedule !== null && track !== null ? planLine(schedule, track, times) : []).map((p) => ({
      atMs: Math.round(p.atMs),
      celsius: Math.round(p.celsius * 10) / 10,
      segment: p.segment,
    })),
  };
}

interface SentenceParts {
  readonly state: FiringState;
  readonly nowC: number | null;
  readonly rateCPerH: number | null;
  readonly times: readonly SegmentTimes[];
  readonly crackAtMs: number | null;
  readonly next: string | null;
}

/** The first line of the page: the worst that stands, else where the firing is and what comes next. */
function sentenceOf(parts: SentenceParts, alerts: readonly AlertEvent[]): string {
  const running = alerts.filter((a) => a.phase !== 'over' && a.priority !== 'note');
  const worst = running.find((a) => a.priority === 'now') ?? running[0];
  if (worst?.priority === 'now') return worst.message;
  const where = whereabouts(parts);
  if (worst !== undefined) return `${where} ${worst.message}`;
  const due = parts.state.calls.find((c) => c.state === 'due' && !isSaidAlready(c, parts.state.nowMs));
  if (due !== undefined) return `${where} Come: ${lower(due.sentence)}`;
  return `${where} All well.${parts.next === null ? '' : ` Next: ${parts.next}.`}`;
}

/** That a cool kiln may be opened is in the sentence on where it is. */
function isSaidAlready({ id, dueAtMs }: Call, nowMs: number): boolean {
  return isOpening(id) && dueAtMs !== null && dueAtMs <= nowMs;
}

function whereabouts(parts: SentenceParts): string {
  const { state, nowC, rateCPerH, times, crackAtMs } = parts;
  const { schedule, track, kiln } = state;
  if (nowC === null) return 'Waiting for the first reading.';
  const now = String(Math.round(nowC));
  if (schedule === null) return `Firing without a plan: ${now}, ${changing(rateCPerH ?? 0)}.`;
  if (track === null) return 'Waiting for the first reading.';
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return cooling(state, nowC, crackAtMs);
  if (segment.kind === 'hold') return holding(schedule, track, segment.minutes);
  if (segment.toC < track.startC) return cooling(state, nowC, crackAtMs);
  if (track.segment === 0 && !track.hasMoved) return `Not warming yet: ${now}. The plan begins with the kiln.`;
  const endsAtMs = times[0]?.endsAtMs ?? null;
  const there = endsAtMs === null ? '' : `, there about ${timeOfDay(endsAtMs, kiln.utcOffsetMinutes)}`;
  return `Climbing to ${segment.toC}: ${now} now${there}.`;
}

function holding(schedule: Schedule, track: PlanTrack, minutes: number): string {
  const done = Math.floor(track.hold.doneS / 60);
  return `Hold at ${targetC(schedule, track.segment)}, ${done} of ${minutes} min.`;
}

function cooling(state: FiringState, nowC: number, crackAtMs: number | null): string {
  const { kiln, schedule } = state;
  const now = String(Math.round(nowC));
  if (nowC <= unloadBelowC(kiln, schedule)) return `${now}: cool enough to unload.`;
  if (nowC <= crackBelowC(state)) return `Cooling: ${now}. The ${kiln.closure} may be cracked.`;
  const until = crackAtMs === null ? '' : ` until about ${timeOfDay(crackAtMs, kiln.utcOffsetMinutes)}`;
  return `Cooling: ${now}. Keep the ${kiln.closure} shut${until}.`;
}

interface Next {
  readonly clause: string;
  readonly atMs: number;
}

function nextThing(calls: readonly Call[], nowMs: number, utcOffsetMinutes: number): Next | null {
  let soonest: Call | null = null;
  for (const call of calls) {
    if ((call.state !== 'coming' && call.state !== 'due') || isSaidAlready(call, nowMs)) continue;
    if (call.dueAtMs === null || (soonest?.dueAtMs != null && soonest.dueAtMs <= call.dueAtMs)) continue;
    soonest = call;
  }
  if (soonest?.dueAtMs == null) return null;
  const atMs = Math.max(soonest.dueAtMs, nowMs);
  return { clause: `${lower(soonest.do)} ${whenDue(soonest.id, atMs, utcOffsetMinutes)}`, atMs };
}

function nextOpening(
  state: FiringState,
  nowC: number | null,
  crackAtMs: number | null,
  unloadAtMs: number | null,
): Next | null {
  const { kiln } = state;
  if (nowC === null) return null;
  if (crackAtMs !== null && nowC > crackBelowC(state)) {
    return {
      clause: `crack the ${kiln.closure} about ${timeOfDay(crackAtMs, kiln.utcOffsetMinutes)}`,
      atMs: crackAtMs,
    };
  }
  if (unloadAtMs === null || nowC <= unloadBelowC(kiln, state.schedule)) return null;
  return { clause: `unload about ${timeOfDay(unloadAtMs, kiln.utcOffsetMinutes)}`, atMs: unloadAtMs };
}

function segmentName(state: FiringState): string {
  const { schedule, track } = state;
  if (schedule === null) return 'no plan';
  if (track === null) return 'not begun';
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return 'cooling';
  if (segment.kind === 'hold') return `hold at ${targetC(schedule, track.segment)}`;
  if (segment.rateCPerH === 'let-fall') return `let it fall to ${segment.toC}`;
  if (segment.rateCPerH === 'flat-out') return `flat out to ${segment.toC}`;
  return `${segment.toC < track.startC ? 'down' : 'up'} to ${segment.toC} at ${segment.rateCPerH} an hour`;
}

function lower(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}

function roundTenth(value: number | null): number | null {
  return value === null ? null : Math.round(value * 10) / 10;
}

function roundMs(value: number | null): number | null {
  return value === null ? null : Math.round(value);
}

function roundCall({ id, do: act, dueAtMs, callAtMs, state, sentence }: Call): Call {
  return { id, do: act, dueAtMs: roundMs(dueAtMs), callAtMs: roundMs(callAtMs), state, sentence };
}
