/** Whether heat goes in, was just taken away, or has been gone for a while, by the plan and the hand. */
import { perSecond, secondsBetween } from '../numbers/units.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import { isLetFall, type Schedule, targetC } from '../plan/schedule.ts';
import { HEATED_RATIO } from './heat-change.ts';
import type { HeatState } from './opening.ts';
import type { Pace } from './pace.ts';
import { countedS, mayProgrammeEnd, type PlanTrack } from './plan-track.ts';

/** A couple falls with the flame or the elements for about this long. Common practice, no source. */
export const JUST_OFF_S = 720;

/** Elements give off their own heat within so long. From memory. */
const SETTLING_S = 240;
/** A kiln without heat falls faster than this, °C/h, and than `HEATED_RATIO` of its °C in an hour. From memory. */
const LEVEL_CPERH = 20;

interface Known {
  readonly kiln: KilnSetup;
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  readonly lastHandAtMs: number | null;
  readonly pace: Pace;
}

export function heatState(known: Known, nowMs: number): HeatState {
  const { schedule, track } = known;
  const justOff = known.kiln.heat === 'gas' ? 'flame-just-off' : 'just-off';
  if (schedule === null || track === null) return 'just-off';
  // Whatever the hand did to valve or damper, the couple feels it first.
  if (known.lastHandAtMs !== null && secondsBetween(known.lastHandAtMs, nowMs) < JUST_OFF_S) return 'just-off';
  if (known.kiln.heat === 'electric' && mayProgrammeEnd(schedule, track, nowMs)) return 'just-off';
  const segment = schedule.segments[track.segment];
  const goesDown =
    segment === undefined || isLetFall(segment) || (segment.kind === 'ramp' && segment.toC < track.startC);
  if (!goesDown) return isHoldNearlyOver(known.kiln.heat, schedule, track, nowMs) ? justOff : 'heated';
  // The heat may have gone off later than the plan says.
  const levelCPerH = Math.max(LEVEL_CPERH, HEATED_RATIO * track.last.celsius);
  const wasLevel = (known.pace.ago10Min?.slopePerS ?? Number.NEGATIVE_INFINITY) > -perSecond(levelCPerH);
  const sinceS = secondsBetween(track.startedAtMs, nowMs);
  if (!wasLevel && sinceS >= JUST_OFF_S) return 'cooling';
  return known.kiln.heat === 'electric' && sinceS >= SETTLING_S ? 'settling' : justOff;
}

/** The gas is often turned off a little before the clock of the hold runs out. */
function isHoldNearlyOver(heat: KilnSetup['heat'], schedule: Schedule, track: PlanTrack, nowMs: number): boolean {
  const segment = schedule.segments[track.segment];
  if (segment?.kind !== 'hold' || targetC(schedule, track.segment) === 0) return false;
  return segment.minutes * 60 - countedS(heat, schedule, track, track.segment, nowMs) < 180;
}
