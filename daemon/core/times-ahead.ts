/** When what is still to come will be, as it looks at this instant: for the calls of the hand, and for the page. */
import { crackBelowC } from './alerts/lid-open-hot.ts';
import { type SegmentTimes, segmentTimes } from './forecast/arrival.ts';
import { type CoolTimes, coolTimes } from './forecast/cool-times.ts';
import type { FiringState } from './state.ts';
import { unloadBelowC } from './tracking/firing-end.ts';

export interface TimesAhead {
  /** The present segment first; empty without a plan. */
  readonly segments: readonly SegmentTimes[];
  readonly cool: CoolTimes;
}

export function timesAhead(state: FiringState): TimesAhead {
  const { schedule, track, kiln, nowMs } = state;
  const nowC = state.sensors[state.rulingSensor]?.last?.celsius ?? null;
  return {
    segments: schedule !== null && track !== null ? segmentTimes(schedule, track, state, nowMs) : [],
    cool: coolTimes(state, nowC, crackBelowC(state), unloadBelowC(kiln, schedule)),
  };
}
