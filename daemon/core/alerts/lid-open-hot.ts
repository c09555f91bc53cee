/** Lid or door open while the kiln is hot and the schedule wants it shut. */
import { coolingTimeS } from '../forecast/course.ts';
import { timeOfDay } from '../numbers/time-of-day.ts';
import { perSecond, secondsBetween } from '../numbers/units.ts';
import {
  ANNEALS_FROM_C,
  goesDown,
  isClimb,
  isFreeFallToCold,
  isLetFall,
  mayStandOpen,
  proppedToC,
} from '../plan/schedule.ts';
import { JUST_OFF_S } from '../tracking/heat-state.ts';
import type { OpeningSign } from '../tracking/opening.ts';
import { celsiusAgo, momentLine } from '../tracking/trace.ts';
import { isTold, sinceToldS, TOO_MUCH_HEAT } from './lately.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** Where neither schedule nor kiln says: crack it below this, °C; common practice, no source. */
export const CRACK_C = 150;

/**
 * After a segment in which it may stand open, closing it may take this long; longer where it has stood open ever since: the
 * smoke ends by the glass, which follows the couple, and the air is no colder than before. Common practice, no source.
 */
const CLOSING_S = 240;
const STILL_OPEN_S = 600;
/** The plan goes on so little below a climb's end. */
const SMOKE_ENDS_C = 2;

/** A look takes less from the couple, in °C, and has ended so long after its fall shows. Common practice, no source. */
const LOOK_C = 16;
const LOOK_S = 10;

/**
 * In a kiln that cools, below the range in which glass anneals, somebody may look through the open lid for less than a
 * minute: what has taken less than so much from the couple by then has not chilled the glass. A plan that leaves the lid
 * free means so all the way down from there, and one that wants it shut where glass is about as cold as it is hard to crack.
 * Common practice, no source.
 */
const LOOKS_BELOW_C = 300;
const LOOKED_S = 50;
const CHILLS_C = 18;

/** By then a flame that has gone out is found out. Ours. */
const FLAME_S = 30;

/** Cold air explains a fall and a climb that dies away. A fall without a switch that says so may be the flame's as well. */
const EXPLAINS = ['cooling-too-fast', 'stalled-ramp', 'hold-short', 'running-late'] as const;
const REPLACES = ['heat-lost'] as const;
/** It falls faster than what has only lost its heat. */
const AIR_EXPLAINS = [...EXPLAINS, ...REPLACES] as const;

export const lidOpenHot: Rule = {
  alert: 'lid-open-hot',
  onDelayS: 2,
  offDelayS: 15,
  cause: 'somebody opened it, or it did not close',
  consequence: 'cold air on hot glass cracks it; the lid and the hot air burn',
  whatToDo: {
    gas: 'close the door gently',
    electric: 'close the lid gently',
  },
  timeToAct: 'none: the cold air is on the glass',
  priority: 'now',
  judge,
  afterwards: (_told, lastedS) => wording.lidWas(lastedS),
};

export function crackBelowC(view: Pick<View, 'schedule' | 'kiln'>): number {
  return view.schedule?.safeOpenC ?? view.kiln.safeOpenC ?? CRACK_C;
}

function judge(view: View): Opinion {
  const limitC = crackBelowC(view);
  if (mayBeOpen(view) || isLookAtCooling(view)) return undefined;
  const lastC = view.ruling?.last?.celsius ?? null;
  if (view.lidOpen === true) {
    // With the lid open the couple may read low at once: what it was as the lid opened counts too.
    if (lastC === null) return 'unknown';
    const openedC = view.sign?.beforeC ?? lastC;
    if (Math.max(lastC, openedC) <= limitC) return undefined;
    return {
      phase: 'happening',
      priority: 'now',
      sensor: view.ruling?.name,
      explains: EXPLAINS,
      replaces: REPLACES,
      message: wording.lidOpen(view.kiln.closure, Math.max(lastC, openedC), crackTime(view, limitC)),
      because: wording.lidBecause(view.kiln.closure, lastC, limitC, true),
    };
  }
  // A switch that says closed is believed before the temperature's fall.
  if (view.lidOpen === false) return undefined;
  if (heard(view) === null) return 'unknown';
  const sign = view.sign;
  if (sign === null || sign.beforeC <= limitC || lastC === null || isPlannedFall(view)) return undefined;
  // A look through the spyhole lets in a little, and is over by the time that this would be told.
  if (sign.fallC < LOOK_C && secondsBetween(sign.sinceMs, view.nowMs) < LOOK_S) return undefined;
  // Flame or elements that were told to be too hot have been turned off, and the couple falls with them.
  const wasTooHot = sinceToldS(view, TOO_MUCH_HEAT) - secondsBetween(sign.sinceMs, view.nowMs) < JUST_OFF_S;
  if (!sign.isAir && wasTooHot) return undefined;
  const isHeated = view.segment?.kind === 'hold' || (view.goalC ?? 0) > sign.beforeC;
  if (!sign.isAir && (isFlameOut(view, sign) || isLetGo(view, sign) || (isHeated && mayBeFlame(view, sign))))
    return undefined;
  return {
    phase: 'happening',
    priority: 'now',
    sensor: sign.sensor,
    ...(sign.isAir ? { explains: AIR_EXPLAINS, replaces: REPLACES } : { explains: EXPLAINS }),
    message: wording.lidSeemsOpen(view.kiln.heat, view.kiln.closure, sign.fallC, sign.beforeC, isHeated),
    because: wording.lidBecause(view.kiln.closure, lastC, limitC, false),
  };
}

/** The schedule allows it, or has allowed it until a moment ago and the hand is on its way. */
function mayBeOpen(view: View): boolean {
  const { schedule, track, segment, trace } = view;
  if (mayStandOpen(segment)) return !isFreeFallToCold(segment);
  if (schedule === null || track === null) return false;
  const airedToC = proppedToC(schedule, track.segment);
  if (airedToC === null) return false;
  const isStillOpen = view.lidSinceMs !== null && view.lidSinceMs <= track.startedAtMs;
  const closingS = isStillOpen ? STILL_OPEN_S : CLOSING_S;
  if (secondsBetween(track.startedAtMs, view.nowMs) < closingS) return true;
  // A kiln that the clock or a rest has taken on to the next climb is not yet as hot as the smoke's end.
  if (!isStillOpen || !isClimb(schedule, track.segment - 1) || isTold(view, ['lid-open-hot'])) return false;
  const wasC = celsiusAgo(trace, STILL_OPEN_S);
  return wasC !== null && wasC < airedToC - SMOKE_ENDS_C;
}

/** Nothing is heated any more, and it has been open too short, or has lost too little, to chill the glass. */
function isLookAtCooling(view: View): boolean {
  const { schedule, track, segment, ruling, trace, lidOpen, lidSinceMs, sign, nowMs } = view;
  const lastC = ruling?.last?.celsius;
  const goesOn = segment !== null && (schedule === null || track === null || !goesDown(schedule, track.segment));
  if (goesOn || lastC === undefined || isTold(view, ['lid-open-hot'])) return false;
  const sinceMs = lidOpen === true ? lidSinceMs : (sign?.sinceMs ?? null);
  const openS = sinceMs === null ? 0 : secondsBetween(sinceMs, nowMs);
  const openedC = (lidOpen === true ? celsiusAgo(trace, openS) : sign?.beforeC) ?? lastC;
  if (mayStandOpen(segment)) return openedC < ANNEALS_FROM_C;
  if (openedC - lastC >= CHILLS_C) return false;
  return lidOpen === true && openedC < LOOKS_BELOW_C && openS < LOOKED_S;
}

/** The plan itself lets it fall as fast, or did until the hold that is to catch it. */
function isPlannedFall(view: View): boolean {
  const { schedule, track, segment, trace } = view;
  if (schedule === null || track === null || isTold(view, ['lid-open-hot'])) return false;
  const index = segment?.kind === 'hold' ? track.segment - 1 : track.segment;
  const fall = schedule.segments[index];
  if (fall?.kind !== 'ramp' || typeof fall.rateCPerH !== 'number' || !goesDown(schedule, index)) return false;
  const lately = momentLine(trace);
  return lately !== null && -lately.perS <= perSecond(fall.rateCPerH);
}

/** When it may be cracked, if it is cooling and that can be told. */
function crackTime(view: View, limitC: number): string | null {
  const { ruling, pace } = view;
  const goesDown = view.segment === null || (view.goalC ?? Number.POSITIVE_INFINITY) < (ruling?.last?.celsius ?? 0);
  // The pace of ten minutes ago is the shut kiln's; with the lid open it falls too fast to say.
  const shut = pace.ago10Min ?? pace.over8Min;
  if (!goesDown || ruling?.last == null || shut === undefined || shut.slopePerS > -0.002) return null;
  const seconds = coolingTimeS(ruling.last.celsius, shut.slopePerS, limitC);
  return Number.isFinite(seconds) ? timeOfDay(view.nowMs + seconds * 1000, view.kiln.utcOffsetMinutes) : null;
}

/** Where a flame should burn a fall may be the flame's, until it has ended without heat being found gone. */
function mayBeFlame({ kiln, change, nowMs }: View, sign: OpeningSign): boolean {
  if (kiln.heat !== 'gas') return false;
  return change?.kind === 'gone' || secondsBetween(sign.sinceMs, nowMs) < FLAME_S;
}

/** The plan gave a hold up for this very fall: the heat was turned off before its time. */
function isLetGo({ track, segment }: View, sign: OpeningSign): boolean {
  return isLetFall(segment) && track !== null && sign.sinceMs < track.startedAtMs;
}

/** The flame was told to be out, and this is the fall that told it. */
function isFlameOut(view: View, sign: OpeningSign): boolean {
  return view.kiln.heat === 'gas' && sinceToldS(view, ['heat-lost']) < secondsBetween(sign.sinceMs, view.nowMs);
}
