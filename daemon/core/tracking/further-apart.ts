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
  /** Of the ruling couple, °C/s. */
  readonly pacePerS: number;
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
/** One of the first minutes after a door was shut says nothing of how far apart they are. Ours. */
const EARLIER_COUNT = 2;
/** A thick sheath shows this much later what a bead shows: a climb that grows steeper, or rests, moves a sound pair by that. From memory. */
const LAG_S = 100;
/** In 230 simulated firings no two sound couples came further apart than ever by more than 4.5 °C beyond that. Ours. */
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
  const mean = (of: (m: PairMinute) => number): number => lately.reduce((sum, m) => sum + of(m), 0) / lately.length;
  return { atMs: nowMs, apartC: mean(apartC), pacePerS: mean((m) => m.pacePerS) };
}

/** That they are now so much further apart, to either side, than they were earlier on this way. */
export function furtherApart({ means }: PairRange): Apart | null {
  const now = means[means.length - 1];
  if (now === undefined) return null;
  const earlier = olderThan(means, now, EARLIER_S) ?? olderThan(means, now, LEAST_EARLIER_S);
  if (earlier === null) return null;
  const side = Math.sign(now.apartC);
  const far = (mean: MeanApart): number => side * mean.apartC + LAG_S * Math.abs(now.pacePerS - mean.pacePerS);
  const beforeC = side * Math.max(...earlier.map(far));
  // Beyond the middle too, on whichever side they were.
  const beyondC = side * now.apartC - Math.max(side * beforeC, 0);
  if (beyondC < FURTHER_C) return null;
  return { sinceMs: earlier[earlier.length - 1]?.atMs ?? now.atMs, beforeC, byC: now.apartC - beforeC };
}

function olderThan(means: readonly MeanApart[], now: MeanApart, s: number): readonly MeanApart[] | null {
  const older = means.filter((mean) => secondsBetween(mean.atMs, now.atMs) >= s);
  return older.length < EARLIER_COUNT ? null : older;
}
