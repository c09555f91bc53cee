/** The hands that a plan needs, before it is lit: by the kiln's own ways, or by the plan alone while they are not known. */
import { crackBelowC } from '../alerts/lid-open-hot.ts';
import { segmentTimes } from '../forecast/arrival.ts';
import { askedActs } from '../forecast/asked-acts.ts';
import { updateCalls } from '../forecast/calls.ts';
import { rehearse } from '../kiln-model/rehearse.ts';
import type { UnsureModel } from '../kiln-model/spread.ts';
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

/** With the kiln's own way of climbing, coasting and falling; the lighting itself needs no call. */
export function calendarByKiln(
  schedule: Schedule,
  kiln: KilnSetup,
  lit: Lit & { readonly roomC: number },
  known: UnsureModel,
): HandsEntry[] {
  const { hands } = rehearse(known, schedule, {
    heat: kiln.heat,
    closure: kiln.closure,
    safeOpenC: crackBelowC({ schedule, kiln }),
    startedAtMs: lit.atMs,
    startC: lit.celsius,
    roomC: lit.roomC,
  });
  return hands.map(({ do: what, fromMs, toMs, callAtMs }) => ({
    do: what,
    fromMs: Math.round(fromMs),
    toMs: Math.round(toMs),
    callAtMs: Math.max(Math.round(callAtMs), lit.atMs),
  }));
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
