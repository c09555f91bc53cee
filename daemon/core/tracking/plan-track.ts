/** Which segment the firing is in, since when, and how much of a hold is done. */
import type { TimedC } from '../numbers/line-fit.ts';
import { clamp, perSecond, secondsBetween } from '../numbers/units.ts';
import { programme, rampS } from '../plan/programme.ts';
import {
  climbTopC,
  goesDown,
  isClimb,
  isLetFall,
  mayStandOpen,
  type Ramp,
  type Schedule,
  type Segment,
  targetC,
} from '../plan/schedule.ts';

export interface PastSegment {
  readonly segment: number;
  readonly startedAtMs: number;
  readonly startC: number;
  readonly endedAtMs: number;
  readonly endC: number;
}

export interface HoldDone {
  /** Seconds by the plan's own count, and seconds with the kiln within tolerance. */
  readonly doneS: number;
  readonly inBandS: number;
  /** Seconds that whoever steers by another couple may have counted: since by its pace the climb could have been over. */
  readonly mayBeDoneS: number;
}

export interface PlanTrack {
  /** Index of the present segment; the number of segments once the plan is over. */
  readonly segment: number;
  readonly startedAtMs: number;
  readonly startC: number;
  readonly hold: HoldDone;
  /** The hottest of the present segment, and when the kiln was last about as hot. */
  readonly highC: number;
  readonly highUntilMs: number;
  /** Seconds of this climb or fall in which it was no further from its goal than another couple may be from this one. */
  readonly arrivingS: number;
  /** Since when, and from which temperature on, the kiln has rested close to the segment's target without quite reaching it. */
  readonly nearSince: TimedC | null;
  /** When the kiln was first as hot as this climb, or the one that it falls from, leads to: a hand counts its hold from there. */
  readonly thereAtMs: number | null;
  /** Seconds in which it was no further below that top than the tolerance: on the way to it, in its hold, on the way down. */
  readonly atTopS: number;
  /** Seconds lost on the plan's own pace, but for those caught up, on the climbs where slow time works on paint and glass. */
  readonly slowS: number;
  readonly hasMoved: boolean;
  readonly last: TimedC;
  readonly past: readonly PastSegment[];
  readonly holds: Readonly<Record<number, HoldDone>>;
}

/**
 * The seconds that a hold has had by the plan's count, by that of whoever steers by another couple, or by the clock of a
 * controller, which has come to its hold before a kiln that lags behind.
 */
export function countedS(
  heat: 'gas' | 'electric',
  schedule: Schedule,
  track: PlanTrack,
  index: number,
  atMs: number,
): number {
  const { doneS, mayBeDoneS } = track.holds[index] ?? NO_HOLD;
  return Math.max(doneS, mayBeDoneS, heat === 'electric' ? countedByClockS(schedule, track, index, atMs) : 0);
}

const NO_HOLD: HoldDone = { doneS: 0, inBandS: 0, mayBeDoneS: 0 };
/** With this share of its minutes a hold has done its work; common practice, no source. */
export const ENOUGH_RATIO = 0.8;
/** Another couple in the kiln, by which hand or controller goes, may be so many tolerances ahead. Common practice, no source. */
export const OTHER_COUPLE_TOLERANCES = 2;
/** Slow time works on paint and glass from about 500 °C on; what grows slow a little before is so still when it comes there. Ours. */
export const SLOW_WORKS_FROM_C = 450;
/** What is let to fall comes to its end so many times more slowly than it began. From memory. */
const FALLS_SLOWER = 1.5;
/** As close to the hold's temperature as an instrument shows it. Common practice, no source. */
const AT_TOP_C = 1;
/** A ramp that stays this long within the tolerance of its target has arrived, though a degree or two may be missing. */
const NEAR_IS_THERE_S = 180;
const AT_REST_C = 1.5;
/** A hand that has seen no degree more for so long takes it for the top. Common practice, no source. */
const NO_MORE_COMES_S = 600;
/** A pause in the readings longer than this proves no minutes in band. */
export const PROVEN_GAP_S = 60;
/** The hold's clock goes on over a pause of up to this, if the kiln was in band before and after. */
const CLOCK_GAP_S = 900;
/**
 * The end of a programme is told from heat that is lost by the clock: from so long before its hold's end, the shorter the
 * hold the less, until so long after. Controllers that start late and wait for a kiln that lags are off by so much.
 * From simulated firings.
 */
const ENDS_FROM_S = 480;
const ENDS_FROM_RATIO = 0.6;
const ENDS_UNTIL_S = 720;
/** A controller that still holds so long after the end of its hold by the clock has waited for the kiln. Ours. */
const HOLDS_ON_S = 150;
/** Within this of its hottest the kiln is about as hot; this and so many tolerances below, it has left its climb. Ours. */
const ABOUT_C = 8;
const LEFT_C = 18;
const LEFT_TOLERANCES = 2.5;
/** The first ramp begins when the kiln has warmed by this, in two readings: lighting takes its time, and cold couples tremble by two. From simulated firings. */
const MOVED_C = 3;
/** What has not warmed at all for so long has not begun its programme; a heavy kiln is as slow to show it. From memory. */
const BEGINS_LATE_S = 540;

export function startPlan(first: TimedC): PlanTrack {
  return {
    segment: 0,
    startedAtMs: first.atMs,
    startC: first.celsius,
    hold: NO_HOLD,
    highC: first.celsius,
    highUntilMs: first.atMs,
    arrivingS: 0,
    nearSince: null,
    thereAtMs: null,
    atTopS: 0,
    slowS: 0,
    hasMoved: false,
    last: first,
    past: [],
    holds: {},
  };
}

export function isPlanOver(schedule: Schedule, track: PlanTrack): boolean {
  return track.segment >= schedule.segments.length;
}

/**
 * Carries the track on by one good reading of the ruling sensor.
 *
 * @param heat of an electric kiln the controller goes through its programme, whatever this couple shows
 */
export function trackPlan(
  schedule: Schedule,
  track: PlanTrack,
  reading: TimedC,
  toleranceC: number,
  heat: 'gas' | 'electric' = 'gas',
): PlanTrack {
  let next = countTime(schedule, track, reading, toleranceC);
  if (heat === 'electric' && hasProgrammeEnded(schedule, next, reading, toleranceC)) {
    // On to the first segment that leads below where it is by now.
    while (!isPlanOver(schedule, next) && targetC(schedule, next.segment) >= reading.celsius - toleranceC) {
      next = enterNextSegment(schedule, next, reading, toleranceC);
    }
  }
  // One reading may end several segments: a hold of no length, or readings that come after a long pause.
  while (!isPlanOver(schedule, next) && isSegmentOver(schedule, next, reading, toleranceC)) {
    next = enterNextSegment(schedule, next, reading, toleranceC);
  }
  return next;
}

function countTime(schedule: Schedule, track: PlanTrack, reading: TimedC, toleranceC: number): PlanTrack {
  const stepS = Math.max(secondsBetween(track.last.atMs, reading.atMs), 0);
  const segment = schedule.segments[track.segment];
  const highC = Math.max(track.highC, reading.celsius);
  const highUntilMs = reading.celsius >= highC - ABOUT_C ? reading.atMs : track.highUntilMs;
  let { startedAtMs, hold, arrivingS, nearSince, thereAtMs, hasMoved, holds } = track;
  const goalC = targetC(schedule, track.segment);
  const isSeen = stepS <= CLOCK_GAP_S;
  // What was there before or after an unseen stretch may have been there all through it.
  const isUp = goalC > track.startC;
  const otherC = OTHER_COUPLE_TOLERANCES * toleranceC;
  const isArriving =
    isUp || segment?.kind === 'hold'
      ? Math.max(track.last.celsius, reading.celsius) >= goalC - otherC
      : Math.min(track.last.celsius, reading.celsius) <= goalC + otherC;
  if (segment?.kind === 'hold') {
    const isInBand = Math.abs(reading.celsius - goalC) <= toleranceC;
    const isHotEnough = reading.celsius >= goalC - toleranceC;
    const isByClock = schedule.waits === false;
    hold = {
      doneS: track.hold.doneS + (isByClock || (isHotEnough && isSeen) ? stepS : 0),
      inBandS: track.hold.inBandS + (isInBand && stepS <= PROVEN_GAP_S ? stepS : 0),
      mayBeDoneS: track.hold.mayBeDoneS + (isArriving ? stepS : 0),
    };
    holds = { ...holds, [track.segment]: hold };
  } else if (segment !== undefined && track.segment === 0 && !hasMoved) {
    hasMoved = [track.last, reading].every(({ celsius }) => Math.abs(celsius - track.startC) >= MOVED_C);
    startedAtMs = begunAtMs(schedule, segment, track, reading.atMs, hasMoved);
  } else if (segment !== undefined) {
    if (isArriving) arrivingS += stepS;
  }
  if (segment !== undefined && hasMoved)
    nearSince = isSeen ? restsNear(schedule, track, reading, goalC, toleranceC) : null;
  const topC = lastTopC(schedule, track.segment);
  thereAtMs ??= cameThereAtMs(topC, goalC, reading, nearSince);
  const isAtTop = reading.celsius >= topC - toleranceC && isSeen;
  const { startC, past } = track;
  return {
    segment: track.segment,
    startedAtMs,
    startC,
    hold,
    highC,
    highUntilMs,
    arrivingS,
    nearSince,
    thereAtMs,
    atTopS: track.atTopS + (isAtTop ? stepS : 0),
    slowS: slowerS(schedule, track, highC, stepS),
    hasMoved,
    last: reading,
    past,
    holds,
  };
}

/** A plan that waits begins with the kiln; one by the clock with the firing, unless the controller was plainly started later. */
function begunAtMs(
  { waits }: Schedule,
  segment: Segment,
  { startedAtMs }: PlanTrack,
  atMs: number,
  hasMoved: boolean,
): number {
  if (waits !== false) return hasMoved ? startedAtMs : atMs;
  if (!hasMoved || secondsBetween(startedAtMs, atMs) < BEGINS_LATE_S) return startedAtMs;
  const isPaced = segment.kind === 'ramp' && typeof segment.rateCPerH === 'number';
  return isPaced ? atMs - (MOVED_C / perSecond(segment.rateCPerH)) * 1000 : atMs;
}

/** The time that has passed, less what the plan takes for the way that was climbed in it. */
function slowerS(
  schedule: Schedule,
  { segment: index, highC, slowS }: PlanTrack,
  nowHighC: number,
  stepS: number,
): number {
  const segment = schedule.segments[index];
  if (segment?.kind !== 'ramp' || typeof segment.rateCPerH !== 'number') return slowS;
  // While the smoke is let off a climb is slow by the door, as everybody knows.
  if (highC < SLOW_WORKS_FROM_C || mayStandOpen(segment) || !isClimb(schedule, index)) return slowS;
  return Math.max(slowS + stepS - (nowHighC - highC) / perSecond(segment.rateCPerH), 0);
}

function restsNear(
  schedule: Schedule,
  { segment, nearSince }: PlanTrack,
  reading: TimedC,
  goalC: number,
  toleranceC: number,
): TimedC | null {
  const isLeftToFall = isLetFall(schedule.segments[segment]) && schedule.segments[segment + 1]?.kind !== 'hold';
  if (isLeftToFall || Math.abs(reading.celsius - goalC) > toleranceC) return null;
  const isAtRest = nearSince !== null && Math.abs(reading.celsius - nearSince.celsius) <= AT_REST_C;
  return isAtRest ? nearSince : reading;
}

/** What the present climb or hold leads to, or what the present fall came from: by the clock the kiln may yet be on its way there. */
function lastTopC(schedule: Schedule, index: number): number {
  return targetC(schedule, goesDown(schedule, index) ? index - 1 : index);
}

function cameThereAtMs(topC: number, goalC: number, reading: TimedC, nearSince: TimedC | null): number | null {
  if (reading.celsius >= topC - AT_TOP_C) return reading.atMs;
  return goalC === topC && hasRested(nearSince, reading, NO_MORE_COMES_S) ? nearSince.atMs : null;
}

function hasRested(nearSince: TimedC | null, reading: TimedC, forS: number): nearSince is TimedC {
  return nearSince !== null && secondsBetween(nearSince.atMs, reading.atMs) >= forS;
}

function isSegmentOver(schedule: Schedule, track: PlanTrack, reading: TimedC, toleranceC: number): boolean {
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return false;
  const goalC = targetC(schedule, track.segment);
  if (segment.kind === 'hold') {
    return track.hold.doneS >= segment.minutes * 60 || isHoldGivenUp(schedule, track, reading, goalC, toleranceC);
  }
  if (schedule.waits === false && typeof segment.rateCPerH === 'number') {
    return secondsBetween(track.startedAtMs, reading.atMs) >= rampS(segment, track.startC) - 1e-6;
  }
  const closeC = segment.rateCPerH === 'let-fall' ? 0.5 : Math.min(2, toleranceC / 2);
  // A warm start may lie above the first climbs: on its way to a higher one the kiln is past them.
  const isUp = goalC >= track.startC || climbTopC(schedule, track.segment) > track.startC;
  const isThere = isUp ? reading.celsius >= goalC - closeC : reading.celsius <= goalC + closeC;
  return isThere || hasRested(track.nearSince, reading, NEAR_IS_THERE_S);
}

/** The hand let go early: the kiln is well below the hold and the plan goes down next. */
function isHoldGivenUp(
  schedule: Schedule,
  track: PlanTrack,
  reading: TimedC,
  goalC: number,
  toleranceC: number,
): boolean {
  if (schedule.waits === false || (track.hold.doneS < 60 && !goesDown(schedule, track.segment - 1))) return false;
  const following = schedule.segments[track.segment + 1];
  const fallsNext = following === undefined || (following.kind === 'ramp' && following.toC < goalC);
  return fallsNext && reading.celsius < goalC - Math.max(4 * toleranceC, 30);
}

/** A hold on the way down is the glass's: it minds the pace of what follows, and nothing is to be fired through. */
export function isHoldFromAbove(schedule: Schedule, index: number): boolean {
  return schedule.segments[index]?.kind === 'hold' && index > 1 && goesDown(schedule, index - 1);
}

/** When the plan began, and how hot the kiln was then. */
export function planBegan(track: PlanTrack): Pick<PlanTrack, 'startedAtMs' | 'startC'> {
  return track.past[0] ?? track;
}

/** Since when no heat is wanted: the falls of a plan follow each other; 0 without a plan. */
export function fallsSinceMs({
  schedule,
  track,
}: {
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
}): number {
  if (schedule === null || track === null) return 0;
  let sinceMs = track.startedAtMs;
  for (let i = track.past.length - 1; i >= 0; i--) {
    const past = track.past[i];
    const segment = past === undefined ? undefined : schedule.segments[past.segment];
    if (past === undefined || !isLetFall(segment)) break;
    sinceMs = past.startedAtMs;
  }
  return sinceMs;
}

/**
 * Whether a fall that begins at `atMs`, short of the climb's top, is the end of the controller's programme: by the clock it
 * has had its hold. This couple reads low, or the heat was too little.
 */
export function mayProgrammeEnd(schedule: Schedule, track: PlanTrack, atMs: number): boolean {
  const { segment: present } = track;
  if (schedule.segments[present]?.kind !== 'ramp' || schedule.waits === false) return false;
  if (climbTopC(schedule, present) <= track.startC) return false;
  const end = schedule.segments[lastBeforeFall(schedule, present)];
  const holdS = end?.kind === 'hold' ? end.minutes * 60 : 0;
  const sinceS = overdueS(schedule, track, atMs);
  return sinceS > -Math.min(ENDS_FROM_S, ENDS_FROM_RATIO * holdS) && sinceS < ENDS_UNTIL_S;
}

/** Seconds since all that comes before the next fall was over by the clock; -Infinity where it has no planned end. */
export function overdueS(schedule: Schedule, track: PlanTrack, atMs: number): number {
  return sinceByClockS(schedule, track, lastBeforeFall(schedule, track.segment), atMs);
}

function lastBeforeFall(schedule: Schedule, index: number): number {
  let last = index;
  while (last + 1 < schedule.segments.length && !goesDown(schedule, last + 1)) last++;
  return last;
}

/** A controller that runs another programme has come to the top before the plan by the clock, and held there. */
export function hasHadItsHold(schedule: Schedule, { segment, atTopS }: PlanTrack): boolean {
  return isHoldHad(schedule.segments[segment + 1], atTopS);
}

/** As `hasHadItsHold`, by the clock of whoever steers by another couple, while this one shows that it is still to come. */
export function mayHaveHadItsHold(schedule: Schedule, track: PlanTrack, toleranceC: number): boolean {
  const { segment } = track;
  return isHoldHad(schedule.segments[segment + 1], countedByOthersS(schedule.segments[segment], track, toleranceC));
}

function isHoldHad(hold: Segment | undefined, doneS: number): boolean {
  return hold?.kind === 'hold' && hold.minutes > 0 && doneS >= ENOUGH_RATIO * hold.minutes * 60;
}

/** Seconds since a segment was over by the clock, from when the firing began; -Infinity where it has no planned end. */
function sinceByClockS(schedule: Schedule, track: PlanTrack, last: number, atMs: number): number {
  const first = planBegan(track);
  const { fromS, lengthS } = programme(schedule, first.startC)[last] ?? { fromS: 0, lengthS: 0 };
  return secondsBetween(first.startedAtMs, atMs) - (fromS + lengthS);
}

/** The same of a hold of a controller that goes by its own clock, while that may yet be the plan's. */
function countedByClockS(schedule: Schedule, track: PlanTrack, index: number, atMs: number): number {
  const segment = schedule.segments[index];
  if (segment?.kind !== 'hold' || schedule.waits === false) return 0;
  const holdS = segment.minutes * 60;
  const sinceS = sinceByClockS(schedule, track, index, atMs);
  return sinceS > HOLDS_ON_S ? 0 : clamp(holdS + sinceS, 0, holdS);
}

function hasProgrammeEnded(schedule: Schedule, track: PlanTrack, reading: TimedC, toleranceC: number): boolean {
  const hasLeft = reading.celsius < track.highC - Math.max(LEFT_C, LEFT_TOLERANCES * toleranceC);
  return hasLeft && mayProgrammeEnd(schedule, track, track.highUntilMs);
}

function enterNextSegment(schedule: Schedule, track: PlanTrack, reading: TimedC, toleranceC: number): PlanTrack {
  const byClock = schedule.waits === false;
  const left = schedule.segments[track.segment];
  // By the clock a segment starts where the last one was planned to end, else where and when the kiln was.
  const plannedEndMs = left === undefined ? undefined : plannedEndAtMs(left, track);
  const startedAtMs = byClock && plannedEndMs !== undefined ? plannedEndMs : reading.atMs;
  const startC = byClock ? targetC(schedule, track.segment) : reading.celsius;
  const past = {
    segment: track.segment,
    startedAtMs: track.startedAtMs,
    startC: track.startC,
    endedAtMs: startedAtMs,
    endC: startC,
  };
  const isForAnotherTop = lastTopC(schedule, track.segment + 1) !== lastTopC(schedule, track.segment);
  return {
    segment: track.segment + 1,
    startedAtMs,
    startC,
    hold: { doneS: 0, inBandS: 0, mayBeDoneS: countedByOthersS(left, track, toleranceC) },
    highC: reading.celsius,
    highUntilMs: reading.atMs,
    arrivingS: 0,
    // A hold goes on resting where its climb has come to rest.
    nearSince: schedule.segments[track.segment + 1]?.kind === 'hold' ? track.nearSince : null,
    thereAtMs: isForAnotherTop ? null : track.thereAtMs,
    atTopS: isForAnotherTop ? 0 : track.atTopS,
    slowS: track.slowS,
    hasMoved: track.hasMoved,
    last: track.last,
    past: [...track.past, past],
    holds: track.holds,
  };
}

/** How long a climb or fall lay off its goal by no more than another couple may be off this one, but for the time that it takes. */
function countedByOthersS(left: Segment | undefined, track: PlanTrack, toleranceC: number): number {
  if (left?.kind !== 'ramp') return 0;
  const otherC = OTHER_COUPLE_TOLERANCES * toleranceC;
  const perS = typeof left.rateCPerH === 'number' ? perSecond(left.rateCPerH) : fallsPerS(left, track, otherC);
  return perS > 0 ? Math.max(track.arrivingS - otherC / perS, 0) : 0;
}

/** The pace at which what was let to fall comes to its end, by that at which it has come so close to it; 0 where it has none. */
function fallsPerS(left: Ramp, { startC, startedAtMs, last, arrivingS }: PlanTrack, otherC: number): number {
  const fellC = startC - (left.toC + otherC);
  const fellS = secondsBetween(startedAtMs, last.atMs) - arrivingS;
  return left.rateCPerH === 'let-fall' && fellC > 0 && fellS > 0 ? fellC / fellS / FALLS_SLOWER : 0;
}

/** The clock of the stamps leapt by so many seconds, ahead or back, and the kiln did not: the plan goes on from where it was. */
export function shiftPlan(track: PlanTrack, byS: number): PlanTrack {
  const byMs = byS * 1000;
  const shifted = <T extends { readonly atMs: number }>(one: T): T => ({ ...one, atMs: one.atMs + byMs });
  return {
    ...track,
    startedAtMs: track.startedAtMs + byMs,
    highUntilMs: track.highUntilMs + byMs,
    nearSince: track.nearSince === null ? null : shifted(track.nearSince),
    thereAtMs: track.thereAtMs === null ? null : track.thereAtMs + byMs,
    last: shifted(track.last),
    past: track.past.map((p) => ({
      ...p,
      startedAtMs: p.startedAtMs + byMs,
      endedAtMs: p.endedAtMs + byMs,
    })),
  };
}

function plannedEndAtMs(segment: Segment, track: PlanTrack): number | undefined {
  if (segment.kind === 'hold') return track.startedAtMs + segment.minutes * 60_000;
  if (typeof segment.rateCPerH !== 'number') return undefined;
  return track.startedAtMs + rampS(segment, track.startC) * 1000;
}

/**
 * What the plan wants at an instant of the present segment, °C.
 * A ramp without a pace wants nothing of a climb: null.
 */
export function plannedNowC(schedule: Schedule, track: PlanTrack, atMs: number): number | null {
  const segment = schedule.segments[track.segment];
  if (segment === undefined) return null;
  if (segment.kind === 'hold') return targetC(schedule, track.segment);
  if (typeof segment.rateCPerH !== 'number') return null;
  const doneRatio = clamp(secondsBetween(track.startedAtMs, atMs) / Math.max(rampS(segment, track.startC), 1), 0, 1);
  return track.startC + (segment.toC - track.startC) * doneRatio;
}

/** Minutes that the present climb is behind its own plan; 0 where it has no pace. */
export function minutesLate(schedule: Schedule, track: PlanTrack, atMs: number, celsius: number): number {
  const segment = schedule.segments[track.segment];
  if (segment?.kind !== 'ramp' || typeof segment.rateCPerH !== 'number') return 0;
  const plannedS = Math.max(celsius - track.startC, 0) / perSecond(segment.rateCPerH);
  return (secondsBetween(track.startedAtMs, atMs) - plannedS) / 60;
}
