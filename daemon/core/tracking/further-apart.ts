/**
 * Two couples of one kiln that are further apart than they have ever been on their way up. A pair that parts so slowly, or
 * behind so much doubt of heat and door, that no bend stands out, shows in this: a sound pair comes together as its kiln grows
 * hot, and goes but little beyond that to the other side.
 */
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import type { Apart } from './coming-apart.ts';
import { apartC, type PairMinute } from './parting.ts';

export interface PairRange {
  /** Since when the plan has wanted heat; null while it does not. */
  readonly sinceMs: number | null;
  /** Means of some minutes each, heated and shut, a few minutes apart, oldest first; the last is of now. */
  readonly means: readonly MeanApart[];
}

interface MeanApart {
  readonly atMs: number;
  readonly apartC: number;
}

export const NO_RANGE: PairRange = { sinceMs: null, means: [] };

const MEAN_OVER_S = 6 * S_PER_MIN;
const LEAST_COUNT = 3;
/** Since the plan wants heat a pair finds its way within so long. Ours. */
const SETTLES_S = 10 * S_PER_MIN;
const STEP_S = 5 * S_PER_MIN;
/** Below this a kiln is uneven in ever new ways. Ours. */
const FROM_C = 300;
/** What was lately is part of the same parting: only what was before that counts, and of a young climb what there is. Ours. */
const EARLIER_S = 30 * S_PER_MIN;
const LEAST_EARLIER_S = 15 * S_PER_MIN;
/** In 190 simulated firings no two sound couples came further apart than ever by more than 5 °C there. Ours. */
const FURTHER_C = 6;

/** Carries on by the last of `minutes`. */
export function watchRange(range: PairRange, minutes: readonly PairMinute[], isHeatWanted: boolean): PairRange {
  const last = minutes[minutes.length - 1];
  if (last === undefined || !isHeatWanted) return NO_RANGE;
  const sinceMs = range.sinceMs ?? last.atMs;
  const mean = secondsBetween(sinceMs, last.atMs) < SETTLES_S + MEAN_OVER_S ? null : meanOf(minutes, last.atMs);
  if (mean === null) return range.sinceMs === null ? { sinceMs, means: [] } : range;
  const { means } = range;
  const before = means[means.length - 2];
  const isStep = before === undefined || secondsBetween(before.atMs, last.atMs) >= STEP_S;
  return { sinceMs, means: [...(isStep ? means : means.slice(0, -1)), mean] };
}

function meanOf(minutes: readonly PairMinute[], nowMs: number): MeanApart | null {
  const lately = minutes.filter(
    (m) => m.isHeated && m.isShut && m.rulingC >= FROM_C && secondsBetween(m.atMs, nowMs) <= MEAN_OVER_S,
  );
  if (lately.length < LEAST_COUNT || lately[lately.length - 1]?.atMs !== nowMs) return null;
  return { atMs: nowMs, apartC: lately.reduce((sum, m) => sum + apartC(m), 0) / lately.length };
}

/** That they are now so much further apart, to either side, than they were earlier on this way. */
export function furtherApart({ means }: PairRange): Apart | null {
  const now = means[means.length - 1];
  if (now === undefined) return null;
  const earlier = olderThan(means, now, EARLIER_S) ?? olderThan(means, now, LEAST_EARLIER_S);
  if (earlier === null) return null;
  const apart = earlier.map((mean) => mean.apartC);
  const beforeC = now.apartC > 0 ? Math.max(...apart) : Math.min(...apart);
  // Beyond the middle too, on whichever side they were.
  const beyondC = Math.sign(now.apartC) * now.apartC - Math.max(Math.sign(now.apartC) * beforeC, 0);
  if (beyondC < FURTHER_C) return null;
  return { sinceMs: earlier[earlier.length - 1]?.atMs ?? now.atMs, beforeC, byC: now.apartC - beforeC };
}

function olderThan(means: readonly MeanApart[], now: MeanApart, s: number): readonly MeanApart[] | null {
  const older = means.filter((mean) => secondsBetween(mean.atMs, now.atMs) >= s);
  return older.length === 0 ? null : older;
}
