/**
 * The plan of a firing: ramps and holds, what the lid may do, what the hand must do.
 * The shapes are those of the schedule file; `config/schedule-file.ts` reads and checks it.
 */
import { perSecond } from '../numbers/units.ts';

/** What the lid or door may be during a segment. */
export type Opening = 'closed' | 'propped' | 'free';

/** When an act of the hand falls due: at the segment's start or end, or as the kiln passes a temperature. */
export type ActMoment = 'start' | 'end' | { readonly atC: number };

/** Something the hand must do, and how long before to call it. */
export interface PlannedAct {
  readonly when: ActMoment;
  readonly do: string;
  readonly callMinutes?: number | undefined;
}

/** `flat-out` is as fast as the kiln can; `let-fall` is heat off, at the kiln's own pace. Neither has a planned duration. */
export type RampPace = number | 'flat-out' | 'let-fall';

export interface Ramp {
  readonly kind: 'ramp';
  readonly toC: number;
  /** °C/h, always positive: `toC` gives the direction. */
  readonly rateCPerH: RampPace;
  readonly minutes?: undefined;
  readonly opening?: Opening | undefined;
  readonly acts?: readonly PlannedAct[] | undefined;
}

export interface Hold {
  readonly kind: 'hold';
  readonly toC?: undefined;
  readonly rateCPerH?: undefined;
  readonly minutes: number;
  readonly opening?: Opening | undefined;
  readonly acts?: readonly PlannedAct[] | undefined;
}

export type Segment = Ramp | Hold;

/** The steepest change allowed between two temperatures, and why. Written from the higher to the lower one it is of the way down. */
export interface RateLimit {
  readonly fromC: number;
  readonly toC: number;
  readonly maxCPerH: number;
  readonly why: string;
}

export interface Schedule {
  readonly name: string;
  readonly segments: readonly Segment[];
  readonly glass?: string | undefined;
  readonly plateMm?: number | undefined;
  readonly toleranceC?: number | undefined;
  readonly safeOpenC?: number | undefined;
  readonly limits?: readonly RateLimit[] | undefined;
  /** The plan waits for the kiln (the default), or runs by the clock. */
  readonly waits?: boolean | undefined;
  readonly source?: string | undefined;
  readonly notes?: string | undefined;
}

export const isLimitOfFall = ({ fromC, toC }: RateLimit): boolean => fromC > toC;
export const limitLowC = ({ fromC, toC }: RateLimit): number => Math.min(fromC, toC);
export const limitHighC = ({ fromC, toC }: RateLimit): number => Math.max(fromC, toC);

/** Above the range in which glass anneals and below its strain point what is left to fall may fall. From practice, no source. */
export const ANNEALS_FROM_C = 425;

/** Where none is written downwards those of the glass count both ways; what the medium asks for never does. */
export function countsForFall({ limits }: Pick<Schedule, 'limits'>, limit: RateLimit): boolean {
  if (isLimitOfFall(limit)) return true;
  return limit.toC > ANNEALS_FROM_C && limits?.some(isLimitOfFall) !== true;
}

/** The temperature a hold keeps, or a ramp goes to: that of the ramp at or before `index`. */
export function targetC(schedule: Schedule, index: number): number {
  for (let i = Math.min(index, schedule.segments.length - 1); i >= 0; i--) {
    const segment = schedule.segments[i];
    if (segment?.kind === 'ramp') return segment.toC;
  }
  return 0;
}

/** Heat off, and the kiln falls at its own pace. */
export function isLetFall(segment: Segment | null | undefined): boolean {
  return segment?.kind === 'ramp' && segment.rateCPerH === 'let-fall';
}

/** Lid or door may stand open, or ajar, in this segment; a plan that says nothing wants it shut. */
export function mayStandOpen(segment: Segment | null | undefined): boolean {
  return (segment?.opening ?? 'closed') !== 'closed';
}

/** The segment comes out of a hold. */
export function isAfterHold(schedule: Schedule, index: number): boolean {
  return schedule.segments[index - 1]?.kind === 'hold';
}

/** Where the segment before led to, if lid or door might stand open in it, °C; null elsewhere. */
export function proppedToC(schedule: Schedule, index: number): number | null {
  return mayStandOpen(schedule.segments[index - 1]) ? targetC(schedule, index - 1) : null;
}

/** Let to fall to cold in one go: free it means once it is cold, and not while the glass anneals. */
export function isFreeFallToCold(segment: Segment | null | undefined): boolean {
  return isLetFall(segment) && segment?.opening === 'free' && (segment.toC ?? 0) < ANNEALS_FROM_C;
}

/** The hottest temperature that the plan asks for. */
export function peakC(schedule: Schedule): number {
  return schedule.segments.reduce((hottest, s) => (s.kind === 'ramp' ? Math.max(hottest, s.toC) : hottest), 0);
}

/** So near the top colours mind. Common practice, no source. */
const COLOURS_C = 40;

/** A hold or a turn so far below the plan's top that no colour minds how exactly it is kept. */
export function isFarBelowTop(schedule: Schedule, celsius: number): boolean {
  return celsius < peakC(schedule) - COLOURS_C;
}

/** A ramp that leads below what was before it. */
export function goesDown(schedule: Schedule, index: number): boolean {
  const segment = schedule.segments[index];
  return segment?.kind === 'ramp' && segment.toC < targetC(schedule, index - 1);
}

/** A ramp that leads above what was before it. */
export function isClimb(schedule: Schedule, index: number): boolean {
  const segment = schedule.segments[index];
  return segment?.kind === 'ramp' && segment.toC > targetC(schedule, index - 1);
}

/** The pace that a ramp is given, °C/s; null for a hold, or where it is flat out or let fall. */
export function pacePerS(segment: Segment | null | undefined): number | null {
  return typeof segment?.rateCPerH === 'number' ? perSecond(segment.rateCPerH) : null;
}

/** The hottest that the ramp at `index` and the climbs that follow it at once lead to. */
export function climbTopC(schedule: Schedule, index: number): number {
  let highC = targetC(schedule, index);
  for (let i = index + 1; i < schedule.segments.length; i++) {
    const next = schedule.segments[i];
    if (next?.kind !== 'ramp' || next.toC <= highC) break;
    highC = next.toC;
  }
  return highC;
}
