/** What this kiln can do, learned as it does it: how fast it climbs at most, and how fast it falls by itself. */
import { isLetFall } from '../plan/schedule.ts';
import type { Foresight, Known } from './foresight.ts';
import type { Line } from './lines.ts';
import { type Ability, ROOM_C } from './plan-path.ts';

const CLIMB_FORGOTTEN_S = 20_000;
const FIRST_READINGS = 10;
/** A slower fall than this, a cooler kiln, a longer time to fall teach nothing. */
const LEAST_FALL_PER_S = 1e-5;
const COOL_C = 25;
const LONGEST_FALL_S = 100_000;
const LEAST_ABOVE_ROOM_C = 30;
const LEAST_CLIMB_PER_S = 1e-4;

/** A kiln falls about as fast as it climbed, until it has shown better; common practice, no source. */
export function abilityOf({ climbPerS, fallS }: Foresight, celsius: number): Ability {
  const likelyS = Math.max(celsius - ROOM_C, LEAST_ABOVE_ROOM_C) / Math.max(climbPerS, LEAST_CLIMB_PER_S);
  return { climbPerS, fallS: fallS ?? likelyS };
}

/** @param steady a line over some minutes of a kiln, some seconds of a quick plant; `windowS` is its window */
export function learnAbility(
  { climbPerS, fallS, readingCount }: Foresight,
  { schedule, track }: Known,
  { slopePerS }: Line,
  windowS: number,
  celsius: number,
  stepS: number,
): Pick<Foresight, 'climbPerS' | 'fallS'> {
  const isFastest = readingCount >= FIRST_READINGS && slopePerS > climbPerS;
  const climb = isFastest ? slopePerS : climbPerS * Math.exp(-stepS / CLIMB_FORGOTTEN_S);
  const segment = track === null ? undefined : schedule?.segments[track.segment];
  const isLeft = segment === undefined || isLetFall(segment);
  if (!isLeft || slopePerS > -LEAST_FALL_PER_S || celsius < COOL_C) return { climbPerS: climb, fallS };
  const seenS = (celsius - ROOM_C) / -slopePerS;
  if (seenS > LONGEST_FALL_S) return { climbPerS: climb, fallS };
  const learned = fallS === null ? seenS : fallS + (seenS - fallS) * Math.min(1, stepS / (4 * windowS));
  return { climbPerS: climb, fallS: learned };
}
