/**
 * Two couples of one kiln at rest, in one hold and in the next: whatever they did on the way, where nothing moves they are as
 * far apart as they were at rest before, or a little nearer in a cooler kiln.
 */
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import { type Apart, isWider } from './coming-apart.ts';
import { apartC, type PairMinute } from './parting.ts';

export interface PairRest {
  /** The last rest that is over, and the one that lasts. */
  readonly before: Rest | null;
  readonly present: Rest | null;
}

interface Rest {
  readonly atMs: number;
  readonly apartC: number;
}

export const NO_REST: PairRest = { before: null, present: null };

/** Neither has moved by more than this in so long, so that no lag is left. Ours. */
const STILL_S = 5 * S_PER_MIN;
const LATE_S = 3 * S_PER_MIN;
const STILL_C = 4;
/** No glass is held below; a kiln that cools by itself creeps there. Common practice, no source. */
const HOLDS_FROM_C = 400;
/** In 370 simulated firings no sound pair was wider apart than at rest before by more than 4 °C, nor nearer by more than 10 °C. Ours. */
const WIDENS_C = 10;
const CLOSES_C = 15;

/** Carries on by the last of `minutes`. */
export function watchRest(rest: PairRest, minutes: readonly PairMinute[], isShut: boolean): PairRest {
  const present = isShut ? restOf(minutes) : null;
  if (present !== null) return { before: rest.before, present };
  return rest.present === null ? rest : { before: rest.present, present: null };
}

/** That they rest now much further apart than they did, or much nearer. */
export function apartAtRest({ before, present }: PairRest): Apart | null {
  if (before === null || present === null) return null;
  const apart: Apart = { sinceMs: before.atMs, beforeC: before.apartC, byC: present.apartC - before.apartC };
  return Math.abs(apart.byC) < (isWider(apart) ? WIDENS_C : CLOSES_C) ? null : apart;
}

function restOf(minutes: readonly PairMinute[]): Rest | null {
  const last = minutes[minutes.length - 1];
  if (last === undefined || last.rulingC < HOLDS_FROM_C) return null;
  let sumC = 0;
  let count = 0;
  for (let i = minutes.length - 1; i >= 0; i--) {
    const minute = minutes[i];
    if (minute === undefined) return null;
    if (Math.abs(minute.rulingC - last.rulingC) > STILL_C || Math.abs(minute.otherC - last.otherC) > STILL_C)
      return null;
    sumC += apartC(minute);
    count++;
    const agoS = secondsBetween(minute.atMs, last.atMs);
    if (agoS >= STILL_S) return agoS > STILL_S + LATE_S ? null : { atMs: last.atMs, apartC: sumC / count };
  }
  return null;
}
