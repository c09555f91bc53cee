/** Recognises that the heat has gone though the plan wants it: a flame out, a fuse, an empty bottle. */
import { perHour, perSecond } from '../numbers/units.ts';
import { type HeatContext, LEFT_S, swingUpTo } from './heat-wish.ts';
import { fallsBeyond, type Swing } from './swing.ts';
import { celsiusAgo, filledLine, latelyLine, momentLine, type Trace, type TraceLine, traceLine } from './trace.ts';
import { type Turn, wentC } from './turn.ts';

/**
 * A controller that eases into its hold falls back by its tolerance and a little, within a minute; and after the corner it
 * may swing by the whole tolerance. Common practice, no source.
 */
const ROUNDS_S = 60;
const ROUNDS_C = 2;
const FIRST_SWING_RATIO = 1;
/** It swings in for so long, and what falls in its first swing comes back within so long, or by less in an hour than this share of its °C. */
const SWINGS_IN_S = 600;
const FIRST_SWING_S = 120;
/** And where it catches what was let to fall, elements warm up first. Common practice, no source. */
const CAUGHT_S = 240;
const SWINGS_IN_RATIO = 0.5;
/** So long after a lid was moved a controller still swings. From simulated firings. */
const LID_SWING_S = 600;
/** What falls by so many times the pace of its plan has no heat. Ours. */
const UNGUIDED_RATIO = 3;
/** The swing of a controller that guides a fall shows as it begins and ends, for so long. */
const GUIDANCE_S = 900;
/** As far back as the swing after a door's shutting goes. From memory. */
const PROPPED_BACK_S = 420;
/**
 * A kiln without any heat sheds this share of its °C in an hour; one that has lost a part of its heat falls at first and
 * then ever less. From simulated firings and from memory.
 */
const SHEDS_RATIO = 0.3;
/**
 * What a gas kiln sheds at least whose flame goes out in a climb: with the bottle or the pressure sinking it has a part of
 * its heat left, and its stall is told. Ours, from six kinds of simulated kilns: 0.8 and more as a flame goes out, 0.55 and
 * more as a bottle that sank gives out, 0.2 to 0.5 with a part left.
 */
const FLAME_RATIO = 0.5;
/** A fall so much steeper, or so deep within moments, is no loss of a part. */
const PLAINLY_RATIO = 0.62;
const PLAINLY_GAS_C = 14;
const PLAINLY_GAS_S = 66;
/** No kiln without heat sheds more than this share of its °C in an hour; cold air is gone, or told as such, after so long. From memory. */
const AIR_RATIO = 1.6;
const AIR_GOES_ON_S = 48;
const STEEP_GOES_ON_S = 40;
/**
 * The share of its °C that an electric kiln sheds in an hour by pure lack of power as it climbs. What has lost a part falls
 * as fast at first, and within two minutes the rest of the elements and the walls hold it; what has lost all of it falls
 * on. Before these two minutes it is told only where it falls as steeply as no kiln does that has a half left. Ours, from
 * five kinds of simulated kilns: after 50 s 1.4 to 4 without any power, 1.2 and less with a part of it left, all but one;
 * two minutes after, 0.8 and more without any power, 0.6 and less with a third or a half of it left; readings so sparse
 * that a minute holds no line look further back, where both fell faster.
 */
const NO_POWER_AT_ONCE_S = 50;
const NO_POWER_AT_ONCE_RATIO = 1.3;
const NOT_ABATING_RATIO = 0.9;
const NO_POWER_AFTER_S = 100;
const NO_POWER_RATIO = 0.8;
const NO_POWER_SPARSE_RATIO = 1;
const NO_POWER_LONG_RATIO = 0.6;
const NO_POWER_LONG_S = 300;
/**
 * A hand that turns down too far at the top lets it fall by less than this share of its °C in an hour; a flame that is out
 * by more. Of 16 simulated kilns each, 12 and all but one. Ours.
 */
const HAND_RATIO = 0.75;
/** In a soak far below the top the small flame of the hand makes waves as wide as the band. Common practice, no source. */
const SOAK_TOLERANCES = 1;
/** A climb at rest that ought to have been over, and its hold too, for so long is waited for no longer. Ours. */
const GIVEN_UP_S = 2700;
/** What has less than this share of its pace left is at rest. Ours. */
const RESTS_RATIO = 0.25;
/** What has rested so little since the corner has not been caught. Ours. */
const CAUGHT_BY_HAND_S = 90;
/** Else it must have gone on for so long. A fall older than the second is looked at again by itself: at its end it keeps this share of its pace. */
const GOES_ON_S = 75;
const LOOKED_AT_AGAIN_S = 40;
const FALLS_ON_RATIO = 0.75;
/**
 * Below this a gas kiln burns with a small flame: a step of the valve is much of it, so that whoever finds it climbing too
 * fast lets it fall as if the flame were out, and comes back to it within so long. Common practice, no source for the numbers.
 */
const SMALL_FLAME_C = 250;
const SMALL_FLAME_S = 150;
/** Its end is so long. Ours. */
const END_S = 21;

/** How far it must have fallen, in °C, and how fast it must be falling. From the corpus of simulated firings, and from memory. */
export function isHeatGone(turn: Turn, trace: Trace, context: HeatContext, nowC: number): boolean {
  const { wish, heat, goalC, toleranceC } = context;
  const fellC = wentC(turn, -1, trace.noiseC, nowC);
  const plainC = Math.max(heat === 'gas' ? 5 : 3.2, 5 * trace.noiseC);
  if (turn.sincePerS > -perSecond(90) || fellC < plainC) return false;
  // While a cold kiln is being lit flame and couple are restless, a controller swings in, and nothing is lost yet.
  if (nowC < 100 || (nowC < 200 && context.sinceLightS < 1800)) return false;
  // What a lid let in takes a controller over the top, and down again.
  if (heat === 'electric' && context.sinceLidS < LID_SWING_S) return false;
  const swing = swingUpTo(turn, trace, context);
  if (swing !== null && !fallsBeyond(swing, trace)) return false;
  const leastC = Math.max(plainC, swing === null ? 1.5 * context.rippleC + 1.5 : context.rippleC);
  if (fellC < leastC) return false;
  if (!isAllOfIt(turn, trace, context, fellC, nowC)) return false;
  switch (wish) {
    case 'climb':
      if (isGivenUp(turn, context)) return false;
      if (heat === 'gas' && turn.fromC < SMALL_FLAME_C && turn.agoS < SMALL_FLAME_S) return false;
      // Just after smoke was let off, door and flame are still being set; a door shut lets couple and controller swing up
      // and back, above where they were.
      if (context.isPropped && nowC >= (celsiusAgo(trace, PROPPED_BACK_S) ?? nowC)) return false;
      if (context.sinceCornerS < 240 && turn.beforePerS > perSecond(300)) return fellC > 15;
      return !context.isPropped || (nowC > 150 && turn.agoS >= 100 && fellC > 1.6 * leastC);
    case 'arrival':
    case 'hold': {
      // A hand turns down too far, and turns up again; a controller lets it ripple. Far below the goal neither would.
      const belowC = goalC - nowC;
      if (heat === 'electric') {
        // Its first swing after the corner may take it to the edge of the band; what it does later is known.
        if (wish === 'arrival' && (turn.agoS < ROUNDS_S || fellC < toleranceC + ROUNDS_C)) return false;
        const isKnown = swing !== null && context.landsOnC === null;
        const leastBelowC = Math.max(1.5, (wish === 'hold' && !isKnown ? FIRST_SWING_RATIO : 0.3) * toleranceC);
        if (wish === 'hold' && isSwingingIn(turn, trace, context, swing, nowC)) return false;
        return fellC >= 1.3 * leastC && belowC > leastBelowC && isControllerBehind(turn, belowC, toleranceC);
      }
      if (isNeverCaught(turn, context, nowC)) return false;
      const isDeep =
        fellC >= Math.max(16, leastC) ||
        (turn.agoS >= 60 && turn.sincePerS < -perSecond(200) && fellC >= Math.max(8, leastC));
      const leastBelowC = (context.isFarBelowTop ? SOAK_TOLERANCES : 0.5) * toleranceC;
      return isDeep && belowC > leastBelowC && shedsNow(trace, HAND_RATIO * nowC);
    }
    case 'guided-fall':
      return isLeftToItself(trace, context, nowC) && !isNeverGuided(turn, context, nowC);
    case 'ending':
    case 'fall':
      return false;
  }
}

/** It has come to rest in its climb, long past its time: whoever turns it off has given it up. */
function isGivenUp(turn: Turn, context: HeatContext): boolean {
  return context.overdueS > GIVEN_UP_S && isAtRest(turn, context);
}

function isAtRest({ beforePerS }: Turn, { wantedPerS }: HeatContext): boolean {
  return wantedPerS !== null && beforePerS < RESTS_RATIO * wantedPerS;
}

/**
 * It has fallen so since about the corner into the hold that was to catch it: the flame was off by right, and the hand has
 * caught it above and is done with it, or has not caught it.
 */
function isNeverCaught({ sincePerS }: Turn, { landsOnC, startC, sinceCornerS }: HeatContext, nowC: number): boolean {
  return landsOnC !== null && sinceCornerS - (startC - nowC) / -sincePerS < CAUGHT_BY_HAND_S;
}

/** A controller that guides a fall gives heat as soon as the kiln is below its plan; not as it catches it or lets it go. */
function isLeftToItself(trace: Trace, context: HeatContext, nowC: number): boolean {
  const { heat, plannedC, wantedPerS, goalC, toleranceC, guidanceFromC, sinceCornerS } = context;
  if (heat === 'gas' || plannedC === null || wantedPerS === null) return false;
  const isCaught = guidanceFromC === null || sinceCornerS >= GUIDANCE_S;
  const isEnding = plannedC - goalC < wantedPerS * GUIDANCE_S;
  const isBehind = nowC < plannedC - toleranceC && shedsNow(trace, UNGUIDED_RATIO * perHour(wantedPerS));
  return isCaught && !isEnding && isBehind && shedsNow(trace, SHEDS_RATIO * nowC);
}

/** It has fallen so since about the end of its hold: its programme lets it fall faster than the plan, and no heat has gone. */
function isNeverGuided({ sincePerS }: Turn, { letGoC, sinceCornerS }: HeatContext, nowC: number): boolean {
  return letGoC !== null && sinceCornerS - (letGoC - nowC) / -sincePerS < LEFT_S;
}

/** A controller that backed off at the top lets it fall as if without power, until its elements are warm again. */
function isSwingingIn(turn: Turn, trace: Trace, context: HeatContext, swing: Swing | null, nowC: number): boolean {
  if (context.sinceCornerS >= SWINGS_IN_S) return false;
  if (context.landsOnC !== null && context.sinceCornerS < CAUGHT_S) return true;
  return (swing === null && turn.agoS < FIRST_SWING_S) || !shedsNow(trace, SWINGS_IN_RATIO * nowC);
}

/** Whether it falls by so many °C an hour at this moment. */
function shedsNow(trace: Trace, cPerH: number): boolean {
  const still = momentLine(trace);
  return still !== null && -still.perS >= perSecond(cPerH);
}

/** All of the heat, not a part: an element broken, a gap at the door, a damper that slips let it fall and level out. */
function isAllOfIt(turn: Turn, trace: Trace, context: HeatContext, fellC: number, nowC: number): boolean {
  const { agoS, sincePerS } = turn;
  const { heat, wish } = context;
  const still = momentLine(trace);
  const stillPerS = still === null || agoS < LOOKED_AT_AGAIN_S ? sincePerS : still.perS;
  const endPerS = traceLine(trace, END_S)?.perS ?? stillPerS;
  const isClimb = wish === 'climb' || wish === 'arrival';
  if (heat === 'electric' && isClimb) return hasNoPower(turn, trace, nowC);
  // Over both stretches: what scatters makes the shorter one look steep for a moment, and what comes back shows in it first.
  const atLeastPerS = Math.max(endPerS, stillPerS);
  // In an electric kiln less is a controller that gives too little; that the hold is left is told by itself.
  if (-atLeastPerS < perSecond((isClimb ? FLAME_RATIO : SHEDS_RATIO) * nowC)) return false;
  const fallsOn = atLeastPerS < FALLS_ON_RATIO * sincePerS;
  const isSteep = -sincePerS >= perSecond(PLAINLY_RATIO * nowC);
  // What is left of a flame catches the fall by then; where the climb had died away a slower fall is the bottle that sinks.
  const isSinking = wish === 'climb' && isAtRest(turn, context) && -sincePerS < perSecond(HAND_RATIO * nowC);
  if (agoS >= GOES_ON_S) return heat === 'electric' || (fallsOn && !isSinking);
  if (heat === 'electric') {
    // What falls faster than any kiln is cold air at the couple: a plug drawn for a look, a draught, a door.
    const leastS = -sincePerS > perSecond(AIR_RATIO * nowC) ? AIR_GOES_ON_S : STEEP_GOES_ON_S;
    return isSteep && agoS >= leastS && fallsOn;
  }
  // A bare couple falls with any change of flame or draught, and at once no further.
  return (fellC >= PLAINLY_GAS_C && agoS <= PLAINLY_GAS_S) || (isSteep && agoS >= LOOKED_AT_AGAIN_S && fallsOn);
}

function hasNoPower({ agoS }: Turn, trace: Trace, nowC: number): boolean {
  const sheds = (line: TraceLine | null, ratio: number, sigmas = 0): boolean =>
    line !== null && -line.perS - sigmas * line.sigmaPerS >= perSecond(ratio * nowC);
  if (agoS < NO_POWER_AFTER_S) {
    return agoS >= NO_POWER_AT_ONCE_S && fallsOnUnabated(trace, agoS, nowC);
  }
  const minute = traceLine(trace, 60);
  const end = traceLine(trace, END_S);
  const fallsOn = end === null || sheds(end, NO_POWER_RATIO);
  if (minute === null ? sheds(latelyLine(trace), NO_POWER_SPARSE_RATIO) : sheds(minute, NO_POWER_RATIO, 1) && fallsOn)
    return true;
  return (
    sheds(filledLine(trace, NO_POWER_LONG_S), NO_POWER_LONG_RATIO) && sheds(momentLine(trace), NO_POWER_LONG_RATIO)
  );
}

/** As steep at its end as since its bend: what is left of a heat would have caught some of it. */
function fallsOnUnabated(trace: Trace, agoS: number, nowC: number): boolean {
  const since = traceLine(trace, agoS);
  const end = traceLine(trace, END_S);
  if (since === null || end === null) return false;
  const abatedPerS = NOT_ABATING_RATIO * since.perS;
  return -end.perS - 2 * end.sigmaPerS >= perSecond(NO_POWER_AT_ONCE_RATIO * nowC) && end.perS < abatedPerS;
}

/** A controller gives heat as soon as it is below its goal: what goes on falling there has none. */
function isControllerBehind(turn: Turn, belowC: number, toleranceC: number): boolean {
  return turn.agoS >= 20 && (turn.sincePerS < -perSecond(240) || belowC > 0.7 * toleranceC);
}
