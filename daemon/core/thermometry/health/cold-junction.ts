/** The instrument's own thermometer at the terminals: what it misses is missing from every reading. */
import { S_PER_MIN, secondsBetween } from '../../numbers/units.ts';
import { type Detector, type DetectorContext, degrees, isShown, medianOf, type SensorFault } from './detector.ts';

export interface ColdJunctionState {
  readonly badCount: number;
  readonly badSinceMs: number | null;
  /** The terminals' temperature about a minute ago. */
  readonly earlier: { readonly atMs: number; readonly coldJunctionC: number } | null;
  /** Since when, at a cold start, this sensor alone has been off. */
  readonly apartSinceMs: number | null;
  /** The kiln has been warm: from then on sensors may differ for good reasons. */
  readonly hasWarmed: boolean;
  readonly fault: SensorFault | null;
}

/** Terminals in a workshop, on a kiln's leg or in a box beside it. Common practice, no source. */
const LEAST_C = -20;
const MOST_C = 70;
/** A block of terminals warms by a few degrees in ten minutes; a thermometer that is coming loose leaps. Ours. */
const MOVED_C = 8;
const REPEATED = 3;
/** Before any heat all couples of a kiln are equally warm; two wires of class 2 and two converters differ by up to this. */
const APART_C = 9;
const APART_S = 2 * S_PER_MIN;
const COLD_C = 45;
const STILL_PER_S = 0.005;

export const coldJunction: Detector<ColdJunctionState> = {
  begin: { badCount: 0, badSinceMs: null, earlier: null, apartSinceMs: null, hasWarmed: false, fault: null },
  judge(state, sample, context) {
    const watched = watchTerminals(state, sample.atMs, sample.coldJunctionC, context);
    if (watched.fault !== null) return watched;
    if (!isShown(sample)) return { state: watched.state, fault: watched.state.fault };
    return compareCold(watched.state, sample.atMs, sample.celsius, context);
  },
};

function watchTerminals(
  state: ColdJunctionState,
  atMs: number,
  coldJunctionC: number | undefined,
  context: DetectorContext,
) {
  if (coldJunctionC === undefined) return { state, fault: null };
  const { earlier } = state;
  const isOldEnough = earlier === null || secondsBetween(earlier.atMs, atMs) >= S_PER_MIN;
  const movedC = earlier === null ? 0 : Math.abs(coldJunctionC - earlier.coldJunctionC);
  const isBad = !(coldJunctionC >= LEAST_C && coldJunctionC <= MOST_C) || movedC > MOVED_C;
  const badCount = isBad ? state.badCount + 1 : 0;
  const badSinceMs = isBad ? (state.badSinceMs ?? atMs) : null;
  // What was before the leap stays the measure, until the terminals' thermometer is back there.
  const next = { ...state, badCount, badSinceMs, earlier: isOldEnough && !isBad ? { atMs, coldJunctionC } : earlier };
  if (badSinceMs === null || badCount < REPEATED) return { state: next, fault: null };
  const fault: SensorFault = {
    cause: 'cold-junction',
    sinceMs: badSinceMs,
    sentence: `The terminals of ${context.sensor} are said to be at ${degrees(coldJunctionC)}, which cannot be; so all that it shows is off. Look at the instrument's place and its thermometer.`,
    isNoTemperature: true,
  };
  return { state: next, fault };
}

/** Only with two others that agree is it plain which of them is off. */
function compareCold(state: ColdJunctionState, atMs: number, celsius: number, context: DetectorContext) {
  const othersC = context.others.map((o) => o.celsius);
  const middleC = medianOf(othersC);
  const isMoving = context.others.some((o) => o.ratePerS === null || Math.abs(o.ratePerS) > STILL_PER_S);
  const hasWarmed = state.hasWarmed || othersC.some((c) => c > COLD_C);
  const areAgreed = Math.max(...othersC) - Math.min(...othersC) < APART_C / 2;
  const canCompare = !hasWarmed && middleC !== null && othersC.length >= 2 && !isMoving && areAgreed;
  if (!canCompare) {
    const fault = state.apartSinceMs === null ? null : state.fault;
    const isSame = hasWarmed === state.hasWarmed && fault === state.fault;
    return { state: isSame ? state : { ...state, hasWarmed, fault }, fault };
  }
  const awayC = celsius - middleC;
  if (Math.abs(awayC) <= APART_C) {
    return { state: { ...state, hasWarmed, apartSinceMs: null, fault: null }, fault: null };
  }
  const apartSinceMs = state.apartSinceMs ?? atMs;
  const fault: SensorFault | null =
    secondsBetween(apartSinceMs, atMs) < APART_S
      ? null
      : {
          cause: 'cold-junction',
          sinceMs: apartSinceMs,
          sentence: `${context.sensor} shows ${degrees(celsius)} in a cold kiln where the others show ${degrees(middleC)}: its instrument does not know how warm its terminals are.`,
        };
  return { state: { ...state, hasWarmed, apartSinceMs, fault }, fault };
}
