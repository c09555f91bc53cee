/** What the sign at a kiln's door says: whether it may be opened now, and if not, until when. */
import { crackBelowC } from '../alerts/lid-open-hot.ts';
import { coolTimes } from '../forecast/cool-times.ts';
import type { FiringState } from '../state.ts';
import { unloadBelowC } from '../tracking/firing-end.ts';

/** `firing`: heat goes in. `propped`: so, and the plan wants it propped. `hot`: it falls. `unknown`: nobody knows. */
export type SignWord = 'firing' | 'propped' | 'open-hot' | 'hot' | 'crack' | 'unload' | 'unknown';

export interface DoorSign {
  readonly word: SignWord;
  readonly celsius: number | null;
  /** When it may be cracked (`hot`, `open-hot`) or unloaded (`crack`), as far as can be said. */
  readonly untilMs: number | null;
}

/** @param isFiring false for a resting kiln */
export function doorSign(state: FiringState, isFiring: boolean): DoorSign {
  const celsius = state.sensors[state.rulingSensor]?.last?.celsius ?? null;
  if (celsius === null) return { word: 'unknown', celsius, untilMs: null };
  const { crackAtMs, unloadAtMs } = coolTimes(
    state,
    celsius,
    crackBelowC(state),
    unloadBelowC(state.kiln, state.schedule),
  );
  const opening = openingNow(state);
  if (state.lid?.open === true && opening === 'closed' && celsius > crackBelowC(state)) {
    return { word: 'open-hot', celsius, untilMs: round(crackAtMs) };
  }
  if (isFiring && isHeated(state)) {
    return { word: opening === 'closed' ? 'firing' : 'propped', celsius, untilMs: null };
  }
  if (celsius <= unloadBelowC(state.kiln, state.schedule)) return { word: 'unload', celsius, untilMs: null };
  if (celsius <= crackBelowC(state)) return { word: 'crack', celsius, untilMs: round(unloadAtMs) };
  return { word: 'hot', celsius, untilMs: round(crackAtMs) };
}

function openingNow({ schedule, track }: FiringState): 'closed' | 'propped' | 'free' {
  return schedule?.segments[track?.segment ?? 0]?.opening ?? 'closed';
}

/** The plan climbs or holds, or without a plan the kiln does not fall: then nobody opens it, cool as it may still be. */
function isHeated({ schedule, track, pace }: FiringState): boolean {
  if (schedule === null || track === null)
    return (pace.over8Min ?? pace.present)?.slopePerS !== undefined && !isFalling(pace);
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return false;
  return segment.kind === 'hold' || (segment.rateCPerH !== 'let-fall' && segment.toC >= track.startC);
}

function isFalling(pace: FiringState['pace']): boolean {
  return ((pace.over8Min ?? pace.present)?.slopePerS ?? 0) < -0.002;
}

function round(atMs: number | null): number | null {
  return atMs === null ? null : Math.round(atMs);
}
