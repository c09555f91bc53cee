/** The firing's state as the alert rules see it. */
import { standing } from './alerts/alert.ts';
import type { View } from './alerts/rule.ts';
import { targetC } from './plan/schedule.ts';
import type { FiringState } from './state.ts';
import { worstClockOffS } from './tracking/said-clock.ts';
import type { SensorTrack } from './tracking/sensor-track.ts';
import { toleranceOf } from './tracking/tolerance.ts';

/** @param calls as they stand now, where they are newer than the state's */
export function viewOf(state: FiringState, calls = state.calls): View {
  const { schedule, track } = state;
  const segment = schedule !== null && track !== null ? (schedule.segments[track.segment] ?? null) : null;
  return {
    nowMs: state.nowMs,
    startedAtMs: state.startedAtMs,
    kiln: state.kiln,
    schedule,
    track,
    segment,
    goalC: schedule !== null && track !== null && segment !== null ? targetC(schedule, track.segment) : null,
    toleranceC: toleranceOf(state.kiln, schedule),
    ruling: state.sensors[state.rulingSensor] ?? null,
    sensors: sensorsOf(state),
    watches: state.watches,
    stamps: state.stamps,
    clockOffS: worstClockOffS(state.saidClocks),
    pairs: state.pairs.by,
    pace: state.pace,
    trace: state.heat.trace,
    glass: state.heat.glass,
    turn: state.heat.turn,
    change: state.heat.change,
    rippleC: state.heat.ripple?.usualC ?? 0,
    steepestRatio: state.heat.steepestRatio,
    course: state.course,
    prospect: state.foresight.prospect,
    calls,
    lidOpen: state.lid?.open ?? null,
    lidSinceMs: state.lid?.sinceMs ?? null,
    sign: state.sign,
    lidMovedAtMs: state.lidMovedAtMs,
    lastTurnDownAtMs: state.lastTurnDownAtMs,
    heardSinceMs: state.heardSinceMs,
    lostInputs: state.lostInputs,
    recordLost: state.recordLost,
    standing: standing(state.alerts),
    overAtMs: state.alerts.overAtMs,
  };
}

/** In the kiln's own order: names that look like numbers would come first otherwise. */
function sensorsOf({ kiln, sensors }: FiringState): View['sensors'] {
  const tracks: SensorTrack[] = [];
  for (const { name } of kiln.sensors) {
    const track = sensors[name];
    if (track !== undefined) tracks.push(track);
  }
  return tracks;
}
