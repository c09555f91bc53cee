/** The couple slides out of the chamber: its figure falls though heat goes in, and stays low. */
import { S_PER_MIN, secondsBetween } from '../../numbers/units.ts';
import {
  type Detector,
  type DetectorContext,
  degrees,
  isShown,
  medianOf,
  type SensorFault,
  stepOf,
} from './detector.ts';

export interface SlippedState {
  /** The last minutes, thinned, oldest first. */
  readonly way: readonly Point[];
  readonly fall: Fall | null;
  readonly fault: SensorFault | null;
  /** The figure from which the standing fault fell. */
  readonly fellFromC: number;
}

interface Point {
  readonly atMs: number;
  readonly ownC: number;
  readonly othersC: number | null;
}

interface Fall {
  readonly from: Point;
  /** The most that the others showed just before or since; null without others. */
  readonly othersHighC: number | null;
  readonly lowC: number;
  readonly lowAtMs: number;
  /** Over half a minute, °C/s, positive. */
  readonly steepestPerS: number;
}

const EVERY_S = 5;
const WAY_S = 4 * S_PER_MIN;
/** A fall that is worth a thought. A sheathed couple in a flickering flame stays within this. Ours. */
const FALL_C = 15;
/** In a noisy hour a fall must stand out. */
const NOISE_RATIO = 5;
/** With others beside it: they fall by less than this share, so it is not the kiln. */
const OTHERS_RATIO = 0.15;
/** A door that was opened and shut again shows in this time, since the wall warms the couple again. */
const BESIDE_S = 150;
/** Alone it takes longer, and more, to tell it from a door and from a flame that was lit again. */
const ALONE_C = 40;
const ALONE_S = 4 * S_PER_MIN;
/** A flame that is out goes on falling for longer than a couple takes to come to its new place. */
const ALONE_FALLS_S = 15 * S_PER_MIN;
/** A kiln without its flame falls by up to 15 °C a minute in a sheath; a couple drawn into the wall faster. From memory. */
const ALONE_STEEP_PER_S = 0.3;
const STEEP_OVER_S = 30;
const REGAINED_RATIO = 0.25;
/** Without a verdict a fall is forgotten. */
const FORGOTTEN_S = 25 * S_PER_MIN;

export const slipped: Detector<SlippedState> = {
  begin: { way: [], fall: null, fault: null, fellFromC: 0 },
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    const othersC = medianOf(context.others.map((o) => o.celsius));
    const now: Point = { atMs: sample.atMs, ownC: context.calmC, othersC };
    const way = extend(state.way, now);
    const next = { ...state, way };
    if (state.fault !== null) return stand(next, now);
    if (context.isOpen || context.heat === 'off') return { state: { ...next, fall: null }, fault: null };
    const fall = state.fall === null ? beginFall(way, now, context) : followFall(state.fall, way, now, context);
    const fault = fall === null ? null : verdict(fall, now, context);
    // A fall that was made good is over: what is still missing is no new one.
    const isMadeGood = state.fall !== null && fall === null;
    return {
      state: { way: isMadeGood ? [now] : way, fall, fault, fellFromC: fault === null ? 0 : (fall?.from.ownC ?? 0) },
      fault,
    };
  },
};

function extend(way: readonly Point[], now: Point): readonly Point[] {
  const last = way[way.length - 1];
  if (last !== undefined && secondsBetween(last.atMs, now.atMs) < EVERY_S) return way;
  return [...way.filter((p) => secondsBetween(p.atMs, now.atMs) <= WAY_S), now];
}

/** From the highest point of the last minutes on. */
function beginFall(way: readonly Point[], now: Point, context: DetectorContext): Fall | null {
  const from = way.reduce<Point | null>((high, p) => (high === null || p.ownC >= high.ownC ? p : high), null);
  if (from === null || from.ownC - now.ownC < Math.max(FALL_C, 6 * stepOf(context), NOISE_RATIO * context.noiseC))
    return null;
  const othersC = way.flatMap((p) => (p.othersC === null ? [] : [p.othersC]));
  const othersHighC = othersC.length === way.length ? Math.max(...othersC) : null;
  return { from, othersHighC, lowC: now.ownC, lowAtMs: now.atMs, steepestPerS: steepnessPerS(way, now) };
}

function steepnessPerS(way: readonly Point[], now: Point): number {
  for (let i = way.length - 1; i >= 0; i--) {
    const then = way[i];
    const forS = then === undefined ? 0 : secondsBetween(then.atMs, now.atMs);
    if (then !== undefined && forS >= STEEP_OVER_S) return (then.ownC - now.ownC) / forS;
  }
  return 0;
}

function followFall(fall: Fall, way: readonly Point[], now: Point, context: DetectorContext): Fall | null {
  const deepC = fall.from.ownC - fall.lowC;
  const regainedC = now.ownC - fall.lowC;
  const isForgotten = secondsBetween(fall.from.atMs, now.atMs) > FORGOTTEN_S;
  const isHandled = context.heat !== 'on' && now.othersC === null;
  if (isForgotten || isHandled || regainedC > REGAINED_RATIO * Math.max(deepC, FALL_C)) return null;
  const steepestPerS = Math.max(fall.steepestPerS, steepnessPerS(way, now));
  return now.ownC < fall.lowC
    ? { ...fall, lowC: now.ownC, lowAtMs: now.atMs, steepestPerS }
    : { ...fall, steepestPerS };
}

function verdict(fall: Fall, now: Point, context: DetectorContext): SensorFault | null {
  const fellC = fall.from.ownC - now.ownC;
  const sinceS = secondsBetween(fall.from.atMs, now.atMs);
  const hasOthers = now.othersC !== null && fall.othersHighC !== null;
  if (hasOthers) {
    const othersFellC = (fall.othersHighC ?? 0) - (now.othersC ?? 0);
    if (
      sinceS < BESIDE_S ||
      fellC < Math.max(FALL_C, NOISE_RATIO * context.noiseC) ||
      othersFellC > OTHERS_RATIO * fellC
    )
      return null;
    return told(fall, now, context, 'the others did not');
  }
  const restedS = secondsBetween(fall.lowAtMs, now.atMs);
  const fallingS = secondsBetween(fall.from.atMs, fall.lowAtMs);
  if (context.heat !== 'on' || fellC < ALONE_C || restedS < ALONE_S || fallingS > ALONE_FALLS_S) return null;
  if (fall.steepestPerS < ALONE_STEEP_PER_S) return null;
  return told(fall, now, context, 'heat goes in');
}

function told(fall: Fall, now: Point, context: DetectorContext, but: string): SensorFault {
  return {
    cause: 'slipped',
    sinceMs: fall.from.atMs,
    sentence: `${context.sensor} fell from ${degrees(fall.from.ownC)} to ${degrees(now.ownC)} and ${but}: the couple may have slipped out, and the kiln may be hotter than it says.`,
  };
}

/** A couple that was pushed back comes up to where it was, or to where the others are by now. */
function stand(state: SlippedState, now: Point) {
  const isBack = now.ownC >= state.fellFromC && state.way.some((p) => now.ownC - p.ownC > FALL_C);
  const next = isBack ? { ...state, fault: null, fall: null, fellFromC: 0, way: [] } : state;
  return { state: next, fault: next.fault };
}
