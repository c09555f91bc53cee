/** One forecast out of many opinions, by their weights, and how wide its band must be. */
import { clamp } from '../numbers/units.ts';
import { JUDGED, judgedS, LOOKS_S, lookS } from './looks.ts';
import { OPINION_COUNT } from './opinions.ts';
import { growthRatio, NO_ERRORS, type OwnErrors, sigmasC } from './own-errors.ts';
import type { Weights } from './trust.ts';

/** Of one judged look: what to believe, and how wrong it was. */
export interface Weighed {
  readonly weights: Weights;
  readonly errors: OwnErrors;
}

/** By index into `LOOKS_S`; only those in `looked` are filled. */
export interface Looks {
  readonly looked: readonly number[];
  readonly expectedC: readonly number[];
  readonly sigmaC: readonly number[];
  readonly untouchedC: readonly number[];
}

/** Copied for each blend: engines then keep bare doubles from the beginning. */
const EMPTY: readonly number[] = LOOKS_S.map(() => Number.NaN);
const NO_WEIGHTS: readonly number[] = [];

/**
 * At a judged look by its own weights, between two by both in proportion.
 * @param unprovenC how unsure the plan's own path is at each look, where it is
 * @param able which of the judged looks can be judged at the readings' spacing
 */
export function blend(
  judged: readonly Weighed[],
  able: readonly number[],
  said: readonly number[],
  noiseC: number,
  unprovenC: readonly number[],
): Looks {
  const looked: number[] = [];
  const expectedC = EMPTY.slice();
  const spreadC = EMPTY.slice();
  const untouchedC = EMPTY.slice();
  let place = 0;
  for (let look = JUDGED[able[0] ?? 0] ?? 0; look < LOOKS_S.length; look++) {
    while (place < able.length - 1 && (JUDGED[able[place + 1] ?? 0] ?? 0) <= look) place++;
    const a = able[place] ?? 0;
    const b = able[Math.min(place + 1, able.length - 1)] ?? a;
    const share = a === b ? 0 : clamp(Math.log(lookS(look) / judgedS(a)) / Math.log(judgedS(b) / judgedS(a)), 0, 1);
    const near = judged[a]?.weights;
    const far = judged[b]?.weights;
    const all = mean(said, look, near?.all ?? NO_WEIGHTS, far?.all ?? NO_WEIGHTS, share);
    const free = mean(said, look, near?.untouched ?? NO_WEIGHTS, far?.untouched ?? NO_WEIGHTS, share);
    looked.push(look);
    expectedC[look] = all.celsius;
    spreadC[look] = Math.hypot(all.spreadC, unprovenC[look] ?? 0);
    untouchedC[look] = free.celsius;
  }
  const at = sigmasC(
    able.map((i) => judged[i]?.errors ?? NO_ERRORS),
    able.map((i) => spreadC[JUDGED[i] ?? 0] ?? 0),
    able.map(judgedS),
    noiseC,
  );
  const sigmaC = EMPTY.slice();
  for (const look of looked) sigmaC[look] = betweenLooks(able, at, look);
  return { looked, expectedC, sigmaC, untouchedC };
}

function betweenLooks(able: readonly number[], at: readonly number[], look: number): number {
  let i = 0;
  while (i < able.length - 2 && judgedS(able[i + 1] ?? 0) < lookS(look)) i++;
  const fromS = judgedS(able[i] ?? 0);
  const toS = judgedS(able[i + 1] ?? able[i] ?? 0);
  const from = at[i] ?? 0;
  const to = at[i + 1] ?? from;
  if (toS === fromS) return from;
  // Beyond the last judged look it goes on growing as before it.
  const share = (lookS(look) - fromS) / (toS - fromS);
  return share > 1 ? to * growthRatio(toS, lookS(look)) : from + (to - from) * Math.max(share, 0);
}

/** The weighted mean of the opinions at a look, and how far they are apart. */
function mean(
  said: readonly number[],
  look: number,
  near: readonly number[],
  far: readonly number[],
  share: number,
): { celsius: number; spreadC: number } {
  const base = look * OPINION_COUNT;
  const zeroC = said[base] ?? 0;
  let weights = 0;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < near.length; i++) {
    const weight = share === 0 ? (near[i] ?? 0) : (near[i] ?? 0) * (1 - share) + (far[i] ?? 0) * share;
    if (weight === 0) continue;
    const offC = (said[base + i] ?? Number.NaN) - zeroC;
    if (Number.isNaN(offC)) continue;
    weights += weight;
    sum += weight * offC;
    squares += weight * offC * offC;
  }
  if (weights === 0) return { celsius: zeroC, spreadC: 0 };
  const meanC = sum / weights;
  return { celsius: zeroC + meanC, spreadC: Math.sqrt(Math.max(squares / weights - meanC * meanC, 0)) };
}
