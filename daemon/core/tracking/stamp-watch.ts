/**
 * What the stamps of the ruling sensor's readings say of the clock that made them: it stands, was set back, or leapt ahead
 * while the kiln did not. Live, readings are stamped as they come, by a clock that never steps; recorded rows and
 * instruments with a clock of their own are not.
 */
import { fitLineOf, type TimedC } from '../numbers/line-fit.ts';
import { readingAt } from '../numbers/timed-list.ts';
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import type { SensorTrack } from './sensor-track.ts';

export interface ClockTrouble {
  readonly kind: 'stands' | 'back' | 'ahead' | 'set';
  readonly sinceMs: number;
  /** How far it is off, in seconds; 0 where it stands. */
  readonly byS: number;
}

export interface StampWatch {
  readonly trouble: ClockTrouble | null;
  /** Readings in a row that are older than the newest, and the stamps of the first and the last of them. */
  readonly oldCount: number;
  readonly firstOldMs: number;
  readonly lastOldMs: number;
  /** Readings in a row with one stamp; and the most that have been usual with this instrument. */
  readonly sameCount: number;
  readonly usualSameCount: number;
  /** Stamps that differed from the one before. */
  readonly stampCount: number;
  /** Readings in a row with sound stamps. */
  readonly soundCount: number;
  /** How far the stamps are behind since the clock was set back. */
  readonly behindMs: number;
  /** Minutes are missing, and the readings may yet show whether the clock leapt; else null. */
  readonly gap: Gap | null;
}

/** The way before the gap, and the first stamp after it. */
interface Gap {
  readonly untilMs: number;
  readonly missingS: number;
  /** Where the way before would have been at the first reading after, had nothing been missing. */
  readonly onC: number;
  readonly slopePerS: number;
  readonly noiseC: number;
}

export const SOUND_STAMPS: StampWatch = {
  trouble: null,
  oldCount: 0,
  firstOldMs: 0,
  lastOldMs: 0,
  sameCount: 1,
  usualSameCount: 1,
  stampCount: 0,
  soundCount: 0,
  behindMs: 0,
  gap: null,
};

/** After a clock was set the kiln goes on from where it was. */
const GOES_ON_C = 12;
const GOES_ON_C_PER_S = 0.05;
/** Swapped and late readings come in ones and twos, or many within seconds. From memory. */
const OLD = 5;
const LEAST_OLD = 3;
const OLD_OVER_S = 30;
/** Stamps in whole minutes are the same many times over, and always were; doubled readings are two. */
const SAME = 6;
const SAME_RATIO = 3;
/** Until so many stamps are known nobody knows what is usual. */
const KNOWN_STAMPS = 10;
const SAME_AT_FIRST = 100;
/** After so many sound stamps it is mended. */
const SOUND = 5;
/** A leap is told for as long; the stamps after it are sound, or taken as far on as they were set back. */
const TOLD_S = 10 * S_PER_MIN;
/** A leap that matters, against the pause that a loose plug makes. */
const AHEAD_S = 2 * S_PER_MIN;
const AHEAD_INTERVALS = 10;
/** In a true pause the kiln would have gone on by at least this at its pace; here it went on by hardly anything. Ours. */
const MUST_GO_C = 10;
const WENT_RATIO = 0.1;
const PACE_S = 5 * S_PER_MIN;
/**
 * A leap that is too short, or too slow a climb, to be plain at once shows in the way after it: the kiln goes on from where
 * it was as it went before. Of 96 true pauses in simulated firings none did both. Ours.
 */
const SHORT_S = S_PER_MIN;
const GOES_ON_S = 150;
const SHOULD_GO_C = 4;
const SHOULD_GO_NOISES = 8;
const STRAYS_RATIO = 0.15;
const BENDS_RATIO = 0.3;
/** The computer's clock is set by a little each night. */
const SET_S = 2 * S_PER_MIN;

/**
 * Carries on by one reading of the ruling sensor; `track` is as it was before.
 * @param spokenAtMs when the sensor last said anything, believed or not: a broken couple leaves no gap
 */
export function watchStamps(
  watch: StampWatch,
  track: SensorTrack | undefined,
  atMs: number,
  celsius: number | null,
  spokenAtMs: number,
): StampWatch {
  const last = track?.last ?? null;
  if (track === undefined || last === null) return watch;
  if (atMs < last.atMs) return hearOld(watch, track, last, atMs, celsius);
  if (atMs === last.atMs) return hearSame(watch, atMs);
  const usualSameCount = Math.max(watch.usualSameCount, watch.trouble === null ? watch.sameCount : 1);
  const soundCount = watch.soundCount + 1;
  const begun = beginGap(track, atMs, celsius, spokenAtMs);
  const gap = begun ?? watch.gap;
  const leap = begun === null ? leapByWay(watch.gap, track, atMs) : leapAtOnce(begun, atMs, celsius);
  const trouble = leap ?? (isMended(watch.trouble, soundCount, atMs) ? null : watch.trouble);
  const { firstOldMs, lastOldMs, behindMs } = watch;
  const stampCount = watch.stampCount + 1;
  return {
    trouble,
    oldCount: 0,
    firstOldMs,
    lastOldMs,
    sameCount: 1,
    usualSameCount,
    stampCount,
    soundCount,
    behindMs,
    gap: leap !== null || gap === null || secondsBetween(gap.untilMs, atMs) >= GOES_ON_S ? null : gap,
  };
}

/**
 * When a row was measured by a clock that was set back, as if it had not been: what goes on from there is as new as ever.
 *
 * @param nowMs the newest instant that is known: a stamp beyond it comes from a clock that was set right again
 */
export function onTimeMs({ behindMs }: StampWatch, atMs: number, nowMs: number): number {
  return atMs >= nowMs ? atMs : atMs + behindMs;
}

/** By how many seconds the time of the plan is to be moved with the reading just heard, after which the stamps are ahead; else 0. */
export function clockLeapS({ trouble }: StampWatch, atMs: number): number {
  return trouble?.kind === 'ahead' && trouble.sinceMs === atMs ? trouble.byS : 0;
}

export function noticeClockSet(watch: StampWatch, atMs: number, byS: number): StampWatch {
  return Math.abs(byS) < SET_S ? watch : { ...watch, trouble: { kind: 'set', sinceMs: atMs, byS } };
}

function hearOld(
  watch: StampWatch,
  track: SensorTrack,
  newest: TimedC,
  atMs: number,
  celsius: number | null,
): StampWatch {
  // What was kept on the way and comes now is history: it says what was known of that moment, or what the kiln was then.
  if (celsius !== null && isHistory(watch, track, newest, atMs, celsius))
    return { ...watch, oldCount: 0, soundCount: 0, lastOldMs: atMs };
  const goesOn = watch.oldCount > 0 && atMs > watch.lastOldMs;
  const oldCount = goesOn ? watch.oldCount + 1 : 1;
  const firstOldMs = goesOn ? watch.firstOldMs : atMs;
  const old = { ...watch, oldCount, firstOldMs, lastOldMs: atMs, soundCount: 0 };
  const isSparse = secondsBetween(firstOldMs, atMs) >= OLD_OVER_S;
  if (oldCount < (isSparse ? LEAST_OLD : OLD)) return old;
  const byS = secondsBetween(firstOldMs, newest.atMs) + (track.intervalS ?? 0);
  return {
    ...old,
    oldCount: 0,
    trouble: { kind: 'back', sinceMs: newest.atMs, byS: -byS },
    behindMs: watch.behindMs + byS * 1000,
  };
}

function isHistory(
  { oldCount, firstOldMs }: StampWatch,
  { recent }: SensorTrack,
  newest: TimedC,
  atMs: number,
  celsius: number,
): boolean {
  const onS = oldCount > 0 ? Math.max(secondsBetween(firstOldMs, atMs), 0) : 0;
  const fromNowC = Math.abs(celsius - newest.celsius);
  if (fromNowC > GOES_ON_C + GOES_ON_C_PER_S * onS) return true;
  const isNotBefore = (r: TimedC): boolean => r.atMs >= atMs;
  const then = recent.older.find(isNotBefore) ?? recent.young.find(isNotBefore);
  const isUnknown = then === undefined || then.atMs === newest.atMs || (readingAt(recent, 0)?.atMs ?? atMs) > atMs;
  if (isUnknown) return fromNowC > GOES_ON_C;
  return Math.abs(celsius - then.celsius) <= fromNowC;
}

function hearSame(watch: StampWatch, atMs: number): StampWatch {
  const sameCount = watch.sameCount + 1;
  const isKnown = watch.stampCount >= KNOWN_STAMPS;
  const limit = isKnown ? SAME + SAME_RATIO * (watch.usualSameCount - 1) : SAME_AT_FIRST;
  const stands = sameCount >= limit && watch.trouble?.kind !== 'stands';
  const trouble: ClockTrouble | null = stands ? { kind: 'stands', sinceMs: atMs, byS: 0 } : watch.trouble;
  return { ...watch, trouble, sameCount, soundCount: 0 };
}

function isMended(trouble: ClockTrouble | null, soundCount: number, atMs: number): boolean {
  if (trouble === null) return true;
  return trouble.kind === 'stands' ? soundCount >= SOUND : secondsBetween(trouble.sinceMs, atMs) >= TOLD_S;
}

/** Minutes are missing from the stamps. */
function beginGap(track: SensorTrack, atMs: number, celsius: number | null, spokenAtMs: number): Gap | null {
  const { last, intervalS, recent } = track;
  if (last === null || intervalS === null || celsius === null) return null;
  const missingS = secondsBetween(Math.max(last.atMs, spokenAtMs), atMs) - intervalS;
  if (missingS < Math.max(SHORT_S, AHEAD_INTERVALS * intervalS)) return null;
  const pace = fitLineOf(recent, PACE_S);
  if (pace === undefined) return null;
  const { slopePerS, noiseC } = pace;
  return { untilMs: atMs, missingS, onC: pace.atEndC + slopePerS * intervalS, slopePerS, noiseC };
}

/** The kiln is where it was a moment ago, though it should be far from there. */
function leapAtOnce(gap: Gap, atMs: number, celsius: number | null): ClockTrouble | null {
  if (celsius === null || gap.missingS < AHEAD_S) return null;
  const mustGoC = mustHaveGoneC(gap);
  const wentC = Math.abs(celsius - gap.onC);
  const isStill = mustGoC >= Math.max(MUST_GO_C, 12 * gap.noiseC) && wentC < Math.min(GOES_ON_C, WENT_RATIO * mustGoC);
  return isStill ? { kind: 'ahead', sinceMs: atMs, byS: gap.missingS } : null;
}

/** Its way since goes on from the way before as if nothing were missing. */
function leapByWay(gap: Gap | null, { recent }: SensorTrack, atMs: number): ClockTrouble | null {
  const onS = gap === null ? 0 : secondsBetween(gap.untilMs, atMs);
  if (gap === null || onS < GOES_ON_S) return null;
  const mustGoC = mustHaveGoneC(gap);
  const since = fitLineOf(recent, onS);
  if (since === undefined || mustGoC < Math.max(SHOULD_GO_C, SHOULD_GO_NOISES * gap.noiseC)) return null;
  const wentC = Math.abs(since.atEndC - since.slopePerS * onS - gap.onC);
  const isBent = Math.abs(since.slopePerS - gap.slopePerS) > BENDS_RATIO * Math.abs(gap.slopePerS);
  return isBent || wentC > STRAYS_RATIO * mustGoC ? null : { kind: 'ahead', sinceMs: atMs, byS: gap.missingS };
}

/** In a true pause, at its pace. */
const mustHaveGoneC = ({ slopePerS, missingS }: Gap): number => Math.abs(slopePerS) * missingS;
