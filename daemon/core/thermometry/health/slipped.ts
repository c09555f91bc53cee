/** The couple slides out of the chamber: its figure falls though heat goes in, and stays low. */
import { fitSettling } from '../../numbers/settling.ts';
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
  /** Its pace before, °C/s; null where it is not known. */
  readonly beforePerS: number | null;
}

const EVERY_S = 5;
const WAY_S = 5 * S_PER_MIN;
/** A fall that is worth a thought. A sheathed couple in a flickering flame stays within this. Ours. */
const FALL_C = 15;
/** In a noisy hour a fall must stand out. */
const NOISE_RATIO = 5;
/** With others beside it: they fall by less than this share, so it is not the kiln. */
const OTHERS_RATIO = 0.15;
/** A door that was opened and shut again shows in this time, since the wall warms the couple again. */
const BESIDE_S = 150;
/**
 * Alone it takes longer, and more, to tell it from a door and from a flame that was lit again: from its low point it must
 * climb on as it came, for a quick couple at once. A flame that is out goes on falling, one that is lit again and a door
 * that was shut bring most of it back, and a gap at the door takes up to fifty degrees. Of 520 simulated firings six did so,
 * each with a couple that had slipped. Ours.
 */
const ALONE_C = 55;
const ALONE_S = 3 * S_PER_MIN;
const ALONE_FALLS_S = 10 * S_PER_MIN;
/** Its pace since, as a share of that before, and what a hold may stray by, °C/s. */
const GOES_ON_RATIO = 0.4;
const HURRIES_RATIO = 2.5;
const STRAYS_PER_S = 15 / 3600;
const PACE_OVER_S = 90;
const REGAINED_RATIO = 0.25;
/**
 * Sooner it is told by how it comes to rest: what is drawn at once into a cooler place falls by its own lag to what that
 * place is, to the end. A door takes it down at once and then on and on with the walls; a bare bead over a burner falls by
 * as much as the flame goes, and has not rested for so long. Ours: in 830 firings of five kinds of simulated kilns nine lone
 * couples that slid out in a climb or hold strayed by less than a hundredth of their fall from such a way, and nothing
 * else there did for so long.
 */
const SETTLES_C = 80;
const SETTLES_S = 60;
/** Over so many of its lags, so near to its rest, and so little off that way, as shares of its fall. */
const SETTLES_LAGS = 2;
const NEAR_RATIO = 0.12;
const OFF_RATIO = 0.01;
const OFF_C = 0.5;
/** What a sheath, and a hand that pulls, round of the fall's beginning. */
const BEGUN_RATIO = 0.15;
/** The lags of couples, s; what settles more slowly, as far as it is looked for, is a kiln. */
const LEAST_LAG_S = 4;
const MOST_LAG_S = 120;
const SLOWEST_S = 300;
/**
 * Without any power an electric kiln whose lid is shut loses a fiftieth of its heat in a minute, a small one a thirtieth, and
 * goes on so. What fell faster, and rests or turns within minutes, has left its place. Ours: in 880 simulated firings the
 * fastest power cut took 4 % in its fastest minute, and fell on.
 */
const NEVER_LOST_PER_MIN = 0.033;
const TURNS_S = 30;
const TURNS_WITHIN_S = 150;
const ROOM_C = 20;
/** Pushed back it comes up within this, in a thick sheath, by this share of its fall; in a climb it gets there by itself. */
const BACK_WITHIN_S = 2 * S_PER_MIN;
const BACK_RATIO = 0.5;
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
    const isSaidOpen = context.isOpen && context.isOpenByHeat !== true;
    if (isSaidOpen || context.heat === 'off') return { state: { ...next, fall: null }, fault: null };
    // What falls because the plan does begins anew where the plan rests.
    if (context.heading === 'down') return { state: { ...next, way: [now], fall: null }, fault: null };
    const fall = state.fall === null ? beginFall(way, now, context) : followFall(state.fall, now);
    const fault = fall === null ? null : verdict(fall, way, now, context);
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
  const from = highestOf(way);
  if (from === null || from.ownC - now.ownC < Math.max(FALL_C, 6 * stepOf(context), NOISE_RATIO * context.noiseC))
    return null;
  const othersC = way.flatMap((p) => (p.othersC === null ? [] : [p.othersC]));
  const othersHighC = othersC.length === way.length ? Math.max(...othersC) : null;
  return { from, othersHighC, lowC: now.ownC, lowAtMs: now.atMs, beforePerS: paceUntil(way, from) };
}

/** The latest of the highest. */
function highestOf(way: readonly Point[]): Point | null {
  let high: Point | null = null;
  for (const point of way) if (high === null || point.ownC >= high.ownC) high = point;
  return high;
}

function paceUntil(way: readonly Point[], to: Point): number | null {
  const first = way[0];
  const forS = first === undefined ? 0 : secondsBetween(first.atMs, to.atMs);
  return first === undefined || forS < PACE_OVER_S ? null : (to.ownC - first.ownC) / forS;
}

function followFall(fall: Fall, now: Point): Fall | null {
  const deepC = fall.from.ownC - fall.lowC;
  const regainedC = now.ownC - fall.lowC;
  const isForgotten = secondsBetween(fall.from.atMs, now.atMs) > FORGOTTEN_S;
  if (isForgotten || regainedC > REGAINED_RATIO * Math.max(deepC, FALL_C)) return null;
  return now.ownC < fall.lowC ? { ...fall, lowC: now.ownC, lowAtMs: now.atMs } : fall;
}

function verdict(fall: Fall, way: readonly Point[], now: Point, context: DetectorContext): SensorFault | null {
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
  const isOut =
    (fellC >= ALONE_C && goesOn(fall, way, now)) ||
    (fellC >= SETTLES_C && settles(fall, way, now, context)) ||
    (hasNoDoor(context) && isTooFastForKiln(fall, way, now));
  if (context.heat !== 'on' || !isOut) return null;
  return told(fall, now, context, 'heat goes in');
}

/** It fell at once and has climbed on from there since, to the end. */
function goesOn({ from, lowC, lowAtMs, beforePerS }: Fall, way: readonly Point[], now: Point): boolean {
  const restedS = secondsBetween(lowAtMs, now.atMs);
  if (beforePerS === null || restedS < ALONE_S || secondsBetween(from.atMs, lowAtMs) > ALONE_FALLS_S) return false;
  const middle = way.find((p) => secondsBetween(p.atMs, now.atMs) <= restedS / 2);
  const latelyPerS = middle === undefined ? 0 : (now.ownC - middle.ownC) / secondsBetween(middle.atMs, now.atMs);
  const leastPerS = GOES_ON_RATIO * beforePerS - STRAYS_PER_S;
  const sincePerS = (now.ownC - lowC) / restedS;
  return latelyPerS >= leastPerS && sincePerS >= leastPerS && sincePerS <= HURRIES_RATIO * beforePerS + STRAYS_PER_S;
}

/** Faster than it cools without power, and no further. */
function isTooFastForKiln({ from, lowC, lowAtMs }: Fall, way: readonly Point[], now: Point): boolean {
  const fallsS = secondsBetween(from.atMs, lowAtMs);
  if (fallsS > TURNS_WITHIN_S || secondsBetween(lowAtMs, now.atMs) < TURNS_S) return false;
  const mostPerS = (NEVER_LOST_PER_MIN / S_PER_MIN) * (from.ownC - ROOM_C);
  return way.some((p) => {
    const overS = secondsBetween(p.atMs, lowAtMs);
    return p.atMs >= from.atMs && overS >= S_PER_MIN && p.ownC - lowC > mostPerS * overS;
  });
}

/** A switch says that it is none, and elements that are off take nothing so fast. */
const hasNoDoor = ({ isElectric, isOpenByHeat }: DetectorContext): boolean =>
  isElectric === true && isOpenByHeat === false;

/** As a couple does that was put into a cooler place and left there. */
function settles({ from }: Fall, way: readonly Point[], now: Point, context: DetectorContext): boolean {
  // Of an older fall the beginning is gone, and its end alone looks like many things.
  if (secondsBetween(from.atMs, now.atMs) > WAY_S) return false;
  const fellC = from.ownC - now.ownC;
  const readings = way.flatMap(({ atMs, ownC }) =>
    atMs < from.atMs || from.ownC - ownC < BEGUN_RATIO * fellC ? [] : [{ atMs, celsius: ownC }],
  );
  const [first] = readings;
  const forS = first === undefined ? 0 : secondsBetween(first.atMs, now.atMs);
  const settling = forS < SETTLES_S && !hasNoDoor(context) ? null : fitSettling(readings, LEAST_LAG_S, SLOWEST_S);
  if (settling === null || settling.tauS > MOST_LAG_S || forS < SETTLES_LAGS * settling.tauS) return false;
  const isNear = Math.abs(now.ownC - settling.restC) < NEAR_RATIO * fellC;
  return isNear && settling.strayC < OFF_RATIO * fellC + OFF_C;
}

function told(fall: Fall, now: Point, context: DetectorContext, but: string): SensorFault {
  return {
    cause: 'slipped',
    sinceMs: fall.from.atMs,
    sentence: `${context.sensor} fell from ${degrees(fall.from.ownC)} to ${degrees(now.ownC)} and ${but}: the couple may have slipped out, and the kiln may be hotter than it says.`,
  };
}

/** A couple that was pushed back comes up at once, to where it was or to where the others are by now. */
function stand(state: SlippedState, now: Point) {
  const { fellFromC, fall } = state;
  const leastC = Math.max(FALL_C, BACK_RATIO * (fellFromC - (fall?.lowC ?? fellFromC)));
  const lately = state.way.filter((p) => secondsBetween(p.atMs, now.atMs) <= BACK_WITHIN_S);
  const isBack = now.ownC >= fellFromC && lately.some((p) => now.ownC - p.ownC > leastC);
  const next = isBack ? { ...state, fault: null, fall: null, fellFromC: 0, way: [] } : state;
  return { state: next, fault: next.fault };
}
