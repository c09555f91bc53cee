/** Swapped leads: the couple shows less the hotter it is, mirrored about its terminals. */
import { secondsBetween } from '../../numbers/units.ts';
import {
  type Detector,
  type DetectorContext,
  degrees,
  isShown,
  medianOf,
  type SensorFault,
  type Shown,
} from './detector.ts';

export interface ReversedState {
  /** The figures of sensor and others as the heat came on; null once the sensor has risen and is known to be right. */
  readonly start: { readonly atMs: number; readonly ownC: number; readonly othersC: number | null } | null;
  readonly isProven: boolean;
  readonly last: Shown | null;
  readonly lastCalmC: number | null;
  /** Scatter of one figure about the line through its neighbours, °C, and the figure before the last. */
  readonly scatterC: number;
  readonly lastButOne: Shown | null;
  readonly belowSinceMs: number | null;
  readonly belowCount: number;
  readonly fault: SensorFault | null;
}

/** No workshop is that cold. */
const NEVER_C = -40;
/** Below its start by this while heat goes in; a draught takes less. Common practice, no source. */
const FALL_C = 5;
/** A little less where it falls this fast, which no kiln near the room's temperature does with its door shut. Ours. */
const FAST_FALL_C = 3;
const FAST_PER_S = 0.04;
/** A kiln that is still warm from yesterday may fall to the room's temperature with its door open. From memory. */
const ROOM_C = 25;
const RISEN_C = 15;
/** In a noisy hour a fall must stand out. */
const NOISE_RATIO = 6;
const SCATTER_SHARE = 0.1;
/** ... and in its first seconds nobody knows how noisy it is. */
const SCATTER_KNOWN_S = 10;
/** Only a cold start can tell: a hot kiln may fall for many reasons. */
const COLD_C = 45;
const REPEATED = 3;
/** A mirror image is plain at once; one garbled figure is none. */
const REPEATED_FAR = 2;
/** What falls by more than this from one reading to the next has leapt: the start is moved with it. */
const LEAP_C = 12;
const LEAP_C_PER_S = 0.5;
/** Leads swapped in the middle of a firing: the figure leaps to its mirror image about terminals of a usual warmth. */
const TERMINALS_C = 30;
const MIRROR_WIDTH_C = 50;
const MIRROR_FROM_C = 120;

const begin: ReversedState = {
  start: null,
  isProven: false,
  last: null,
  lastCalmC: null,
  scatterC: 0,
  lastButOne: null,
  belowSinceMs: null,
  belowCount: 0,
  fault: null,
};

export const reversed: Detector<ReversedState> = {
  begin,
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    if (isLongProven(state, sample)) {
      return { state: { ...begin, isProven: true, last: sample, lastCalmC: context.calmC }, fault: null };
    }
    const othersC = medianOf(context.others.map((o) => o.celsius));
    const start = moveWithLeap(startOf(state, othersC, sample.atMs, context), state, sample, context);
    const scatterC = scatterOf(state, sample);
    const isProven = state.isProven || (start !== null && context.calmC > start.ownC + RISEN_C);
    const isMirrored = state.last !== null && isMirrorImage(state.last.celsius, sample.celsius);
    const isFar = isMirrored || (sample.celsius < NEVER_C && sample.celsius >= context.range.fromC);
    const isBelow =
      isFar || (!isProven && start !== null && isFalling(start, othersC, state, sample, scatterC, context));
    // What was below stays so until the figure is warm again.
    const isStill = state.fault !== null && (sample.celsius < NEVER_C || context.calmC < (start?.ownC ?? 0));
    const belowCount = isBelow || isStill ? state.belowCount + 1 : 0;
    const belowSinceMs = belowCount > 0 ? (state.belowSinceMs ?? sample.atMs) : null;
    const fault: SensorFault | null =
      belowSinceMs !== null && belowCount >= (isFar ? REPEATED_FAR : REPEATED)
        ? told(context, sample, belowSinceMs)
        : null;
    const last = isMirrored ? state.last : sample;
    const lastButOne = isMirrored ? state.lastButOne : state.last;
    const known = { start, isProven, last, lastButOne, scatterC, lastCalmC: context.calmC };
    return { state: { ...known, belowSinceMs, belowCount, fault }, fault };
  },
};

/** It has risen with the heat, and shows what a kiln may: of such a couple there is nothing to ask for each reading. */
function isLongProven({ isProven, last, belowCount }: ReversedState, { celsius }: Shown): boolean {
  return isProven && belowCount === 0 && celsius > 0 && (last === null || !isMirrorImage(last.celsius, celsius));
}

function startOf(
  state: ReversedState,
  othersC: number | null,
  atMs: number,
  context: DetectorContext,
): ReversedState['start'] {
  const isHeated = context.heat === 'on' || hasRisen(state.start?.othersC ?? null, othersC);
  if (state.start !== null && isHeated) return state.start;
  return { ownC: context.calmC, othersC, atMs };
}

function moveWithLeap(
  start: ReversedState['start'],
  { lastCalmC, last, fault }: ReversedState,
  sample: Shown,
  context: DetectorContext,
): ReversedState['start'] {
  if (start === null || lastCalmC === null || fault !== null) return start;
  const byC = context.calmC - lastCalmC;
  const limitC = LEAP_C + LEAP_C_PER_S * (last === null ? 0 : secondsBetween(last.atMs, sample.atMs));
  return Math.abs(byC) > Math.max(limitC, NOISE_RATIO * context.noiseC) ? { ...start, ownC: start.ownC + byC } : start;
}

function hasRisen(fromC: number | null, toC: number | null): boolean {
  return fromC !== null && toC !== null && toC > fromC + FALL_C;
}

function isFalling(
  start: NonNullable<ReversedState['start']>,
  othersC: number | null,
  { last }: ReversedState,
  sample: Shown,
  scatterC: number,
  context: DetectorContext,
): boolean {
  if (start.ownC > COLD_C || context.heading === 'down') return false;
  // Others that are there must have risen: an open vent may cool all of them a little.
  if (othersC !== null && start.othersC !== null && !hasRisen(start.othersC, othersC)) return false;
  const fellC = start.ownC - sample.celsius;
  const fallS = secondsBetween(start.atMs, sample.atMs);
  if (fallS < SCATTER_KNOWN_S) return false;
  // Only what goes on falling counts.
  if (last === null || sample.celsius > last.celsius + 2 * scatterC) return false;
  const isFast = fellC / fallS >= FAST_PER_S && !context.isOpen;
  const leastC = isFast ? FAST_FALL_C : FALL_C;
  return fellC > Math.max(leastC, stepC(context), NOISE_RATIO * scatterC) + Math.max(start.ownC - ROOM_C, 0);
}

function stepC({ stepC: known }: DetectorContext): number {
  return known === null ? 0 : 3 * known;
}

/** Mean size of what is off the line, over the standard deviation of one figure: √(2/π) × √1.5. */
const OFF_RATIO = 0.98;

function scatterOf({ lastButOne, last, scatterC }: ReversedState, now: Shown): number {
  if (lastButOne === null || last === null || now.atMs <= lastButOne.atMs) return scatterC;
  const share = secondsBetween(lastButOne.atMs, last.atMs) / secondsBetween(lastButOne.atMs, now.atMs);
  const offC = Math.abs(last.celsius - lastButOne.celsius - share * (now.celsius - lastButOne.celsius));
  return scatterC + SCATTER_SHARE * (Math.min(offC / OFF_RATIO, 3) - scatterC);
}

function isMirrorImage(beforeC: number, nowC: number): boolean {
  return beforeC > MIRROR_FROM_C && Math.abs(beforeC + nowC - 2 * TERMINALS_C) < MIRROR_WIDTH_C;
}

function told(context: DetectorContext, sample: Shown, sinceMs: number): SensorFault {
  return {
    cause: 'reversed',
    sinceMs,
    sentence: `${context.sensor} shows ${degrees(sample.celsius)} and less the hotter the kiln grows: its two wires are swapped.`,
  };
}
