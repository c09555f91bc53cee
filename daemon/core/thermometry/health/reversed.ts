/** Swapped leads: the couple shows less the hotter it is, mirrored about its terminals. */
import {
  type Detector,
  type DetectorContext,
  degrees,
  isShown,
  medianOf,
  type SensorFault,
  type Shown,
  stepOf,
} from './detector.ts';

export interface ReversedState {
  /** The figures of sensor and others as the heat came on; null once the sensor has risen and is known to be right. */
  readonly start: { readonly ownC: number; readonly othersC: number | null } | null;
  readonly isProven: boolean;
  readonly last: Shown | null;
  readonly lastCalmC: number | null;
  readonly belowSinceMs: number | null;
  readonly belowCount: number;
  readonly fault: SensorFault | null;
}

/** No workshop is that cold. */
const NEVER_C = -40;
/** Below its start by this while heat goes in; a draught takes less. Common practice, no source. */
const FALL_C = 5;
const RISEN_C = 15;
/** In a noisy hour a fall must stand out. */
const NOISE_RATIO = 5;
/** Only a cold start can tell: a hot kiln may fall for many reasons. */
const COLD_C = 60;
const REPEATED = 3;
/** A mirror image is plain at once; one garbled figure is none. */
const REPEATED_FAR = 2;
/** What falls by more than this from one reading to the next has leapt: the start is moved with it. */
const LEAP_C = 5;
/** Leads swapped in the middle of a firing: the figure leaps to its mirror image about terminals of a usual warmth. */
const TERMINALS_C = 30;
const MIRROR_WIDTH_C = 50;
const MIRROR_FROM_C = 120;

export const reversed: Detector<ReversedState> = {
  begin: { start: null, isProven: false, last: null, lastCalmC: null, belowSinceMs: null, belowCount: 0, fault: null },
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    const othersC = medianOf(context.others.map((o) => o.celsius));
    const start = moveWithLeap(startOf(state, othersC, context), state, context);
    const isProven = state.isProven || (start !== null && context.calmC > start.ownC + RISEN_C);
    const isMirrored = state.last !== null && isMirrorImage(state.last.celsius, sample.celsius);
    const isFar = isMirrored || (sample.celsius < NEVER_C && sample.celsius >= context.range.fromC);
    const isBelow = isFar || (!isProven && start !== null && isFalling(start, othersC, context));
    // What was below stays so until the figure is warm again.
    const isStill = state.fault !== null && (sample.celsius < NEVER_C || context.calmC < (start?.ownC ?? 0));
    const belowCount = isBelow || isStill ? state.belowCount + 1 : 0;
    const belowSinceMs = belowCount > 0 ? (state.belowSinceMs ?? sample.atMs) : null;
    const fault: SensorFault | null =
      belowSinceMs !== null && belowCount >= (isFar ? REPEATED_FAR : REPEATED)
        ? told(context, sample, belowSinceMs)
        : null;
    const last = isMirrored ? state.last : sample;
    return { state: { start, isProven, last, lastCalmC: context.calmC, belowSinceMs, belowCount, fault }, fault };
  },
};

function startOf(state: ReversedState, othersC: number | null, context: DetectorContext): ReversedState['start'] {
  const isHeated = context.heat === 'on' || hasRisen(state.start?.othersC ?? null, othersC);
  if (state.start !== null && isHeated) return state.start;
  return { ownC: context.calmC, othersC };
}

function moveWithLeap(
  start: ReversedState['start'],
  { lastCalmC, fault }: ReversedState,
  context: DetectorContext,
): ReversedState['start'] {
  if (start === null || lastCalmC === null || fault !== null) return start;
  const byC = context.calmC - lastCalmC;
  return Math.abs(byC) > Math.max(LEAP_C, NOISE_RATIO * context.noiseC) ? { ...start, ownC: start.ownC + byC } : start;
}

function hasRisen(fromC: number | null, toC: number | null): boolean {
  return fromC !== null && toC !== null && toC > fromC + FALL_C;
}

function isFalling(
  start: NonNullable<ReversedState['start']>,
  othersC: number | null,
  context: DetectorContext,
): boolean {
  if (start.ownC > COLD_C || context.heading === 'down' || context.isOpen) return false;
  // Others that are there must have risen: an open vent may cool all of them a little.
  if (othersC !== null && start.othersC !== null && !hasRisen(start.othersC, othersC)) return false;
  return context.calmC < start.ownC - Math.max(FALL_C, 3 * stepOf(context), NOISE_RATIO * context.noiseC);
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
