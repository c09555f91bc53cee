/** The hands that a plan needs, before it is lit: by the plan alone, for a kiln whose own ways are not known yet. */
import { crackBelowC } from '../alerts/lid-open-hot.ts';
import { segmentTimes } from '../forecast/arrival.ts';
import { askedActs } from '../forecast/asked-acts.ts';
import { updateCalls } from '../forecast/calls.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import type { Schedule } from '../plan/schedule.ts';
import { unloadBelowC } from '../tracking/firing-end.ts';
import { startPlan } from '../tracking/plan-track.ts';

export interface HandsEntry {
  readonly do: string;
  /** When it falls due if it is lit now and keeps its plan; null for what only the kiln's own fall will tell. */
  readonly fromMs: number | null;
  readonly toMs: number | null;
  readonly callAtMs: number | null;
}

export interface Lit {
  readonly atMs: number;
  readonly celsius: number;
}

/** In the order of their times; what has none comes last. */
export function calendarByPlan(schedule: Schedule, kiln: KilnSetup, lit: Lit): HandsEntry[] {
  const crackC = crackBelowC({ schedule, kiln });
  const asked = askedActs(schedule, { ...kiln, isCrackedFirst: crackC > unloadBelowC(kiln, schedule) });
  const track = startPlan(lit);
  const courses = { course: null, steady: null, lidMovedAtMs: null };
  const calls = updateCalls([], asked, {
    schedule,
    track,
    times: segmentTimes(schedule, track, courses, lit.atMs),
    courses,
    cool: { crackAtMs: null, unloadAtMs: null },
    nowMs: lit.atMs,
    utcOffsetMinutes: kiln.utcOffsetMinutes,
  });
  return calls
    .map(({ do: what, dueAtMs, callAtMs }) => ({
      do: what,
      fromMs: dueAtMs === null ? null : Math.round(dueAtMs),
      toMs: dueAtMs === null ? null : Math.round(dueAtMs),
      callAtMs: callAtMs === null ? null : Math.round(callAtMs),
    }))
    .sort((a, b) => (a.fromMs ?? Number.POSITIVE_INFINITY) - (b.fromMs ?? Number.POSITIVE_INFINITY));
}
