/**
 * When a firing that went wrong has done its harm: what the glass bears, second by second. For judging alerts only;
 * no product code may see it.
 *
 * "Ten degrees or five minutes too much spoil a colour"; fifteen minutes late harms above 500 °C; the rest as marked.
 */
import { isLimitOfFall, limitHighC, limitLowC, peakC, type Ramp, type Schedule } from '../daemon/core/plan/schedule.ts';

export type Harm =
  /** Hotter than the plan's top and its tolerance. */
  | 'too-hot'
  /** Fifteen minutes behind the plan's own pace, above 500 °C, on the way to the top. */
  | 'too-late'
  /** Left the hold's tolerance downwards with less than four fifths of its minutes. */
  | 'hold-too-short'
  /** Five minutes longer within the hold's tolerance than plan, climb and fall make it. */
  | 'hold-too-long'
  /** Steeper, over five minutes, than the plan's limits; where it has none, than half more than its ramp. */
  | 'heated-too-fast'
  | 'cooled-too-fast'
  /** Fell by 40 °C within two minutes: cold air over a hot pane. */
  | 'chilled';

export interface HarmWatch {
  /** Once a second. Gives what harms at this very moment. */
  watch(glassC: number): ReadonlySet<Harm>;
  /** Minutes behind the plan's own pace since an onset; 0 below 500 °C and once the top was reached. */
  minutesLate(sinceMs: number, sinceC: number, atMs: number): number;
}

const LATE_MINUTES = 15;
const LATE_ABOVE_C = 500;
const LONG_S = 300;
/** A pane left to fall passes its tolerance in about two minutes. From memory. */
const FALL_THROUGH_S = 120;
const SHORT_SHARE = 0.8;
const RATE_OVER_S = 300;
/** Of the order at which thin plates crack; `reference/stress` computes about as much for 3 to 6 mm. From memory. */
const CHILL_C = 40;
const CHILL_OVER_S = 120;

/** Planned minutes at the top: the holds that follow the ramp to the hottest temperature. */
export function topHoldMinutes(schedule: Schedule): number {
  const topC = peakC(schedule);
  let toC = 0;
  let minutes = 0;
  for (const segment of schedule.segments) {
    if (segment.kind === 'ramp') toC = segment.toC;
    else if (toC === topC) minutes += segment.minutes;
  }
  return minutes;
}

function topRampCPerH(schedule: Schedule): number {
  const topC = peakC(schedule);
  const ramp = schedule.segments.find((s): s is Ramp => s.kind === 'ramp' && s.toC === topC);
  return typeof ramp?.rateCPerH === 'number' ? ramp.rateCPerH : 300;
}

/** Minutes that the plan's own climb takes between two temperatures; what is flat out takes none. */
export function plannedClimbMinutes(schedule: Schedule, fromC: number, toC: number): number {
  let minutes = 0;
  let atC = fromC;
  for (const segment of schedule.segments) {
    if (segment.kind !== 'ramp' || segment.toC <= atC) continue;
    const upToC = Math.min(segment.toC, toC);
    if (upToC <= atC) break;
    if (typeof segment.rateCPerH === 'number') minutes += ((upToC - atC) / segment.rateCPerH) * 60;
    atC = upToC;
  }
  return minutes;
}

/**
 * The limit that the plan sets at a temperature, °C/h; null where it sets none. One that is written downwards is of the way
 * down; the others then are of the way up, and else of both.
 */
function limitCPerH({ limits = [] }: Schedule, celsius: number, isUp: boolean): number | null {
  const isOfFall = !isUp && limits.some(isLimitOfFall);
  const counts = limits.filter(
    (l) => isLimitOfFall(l) === isOfFall && celsius >= limitLowC(l) && celsius <= limitHighC(l),
  );
  return counts.length === 0 ? null : Math.min(...counts.map((l) => l.maxCPerH));
}

/** Half more than the steepest of the plan's own ramps between two temperatures; null where one of them has no pace. */
function rampLimitCPerH(schedule: Schedule, fromC: number, toC: number): number | null {
  const lowC = Math.min(fromC, toC);
  const highC = Math.max(fromC, toC);
  let atC = 20;
  let steepest: number | null = null;
  for (const segment of schedule.segments) {
    if (segment.kind !== 'ramp') continue;
    const [startC, endC] = [atC, segment.toC];
    atC = endC;
    const isSameWay = endC > startC === toC > fromC;
    if (!isSameWay || Math.max(startC, endC) < lowC || Math.min(startC, endC) > highC) continue;
    if (typeof segment.rateCPerH !== 'number') return null;
    steepest = Math.max(steepest ?? 0, segment.rateCPerH * 1.5);
  }
  return steepest;
}

export function harmWatch(schedule: Schedule, toleranceC: number): HarmWatch {
  const topC = peakC(schedule);
  const plannedS = topHoldMinutes(schedule) * 60;
  const longS = plannedS + (toleranceC / topRampCPerH(schedule)) * 3600 + FALL_THROUGH_S + LONG_S;
  const past = new Float64Array(RATE_OVER_S);
  let seconds = 0;
  let inBandS = 0;
  let wasInBand = false;
  let reachedTop = false;

  const ago = (s: number): number => past[(seconds - s + RATE_OVER_S) % RATE_OVER_S] as number;

  return {
    watch(glassC) {
      const harms = new Set<Harm>();
      const isInBand = Math.abs(glassC - topC) <= toleranceC;
      if (isInBand) {
        inBandS += 1;
        reachedTop = true;
      }
      if (glassC > topC + toleranceC) harms.add('too-hot');
      if (wasInBand && glassC < topC - toleranceC && inBandS < SHORT_SHARE * plannedS) harms.add('hold-too-short');
      if (plannedS > 0 && inBandS > longS) harms.add('hold-too-long');
      wasInBand = isInBand;
      if (seconds >= CHILL_OVER_S && ago(CHILL_OVER_S) - glassC > CHILL_C) harms.add('chilled');
      if (seconds >= RATE_OVER_S) {
        const rateCPerH = ((glassC - ago(RATE_OVER_S)) / RATE_OVER_S) * 3600;
        const allowed =
          limitCPerH(schedule, glassC, rateCPerH > 0) ?? rampLimitCPerH(schedule, ago(RATE_OVER_S), glassC);
        if (allowed !== null && Math.abs(rateCPerH) > allowed) {
          harms.add(rateCPerH > 0 ? 'heated-too-fast' : 'cooled-too-fast');
        }
      }
      past[seconds % RATE_OVER_S] = glassC;
      seconds += 1;
      return harms;
    },
    minutesLate(sinceMs, sinceC, atMs) {
      if (reachedTop) return 0;
      const nowC = ago(1);
      if (nowC < LATE_ABOVE_C) return 0;
      return (atMs - sinceMs) / 60_000 - plannedClimbMinutes(schedule, sinceC, nowC);
    },
  };
}

export function isTooLate(minutes: number): boolean {
  return minutes > LATE_MINUTES;
}
