/** Heat goes in though the plan wants none, or no more: a relay that sticks, a programme that began again. */
import type { AlertKind } from '../events.ts';
import { fitLineOf } from '../numbers/line-fit.ts';
import { clamp, perMinute, secondsBetween } from '../numbers/units.ts';
import { changeRateCPerH, type HeatChange } from '../tracking/heat-change.ts';
import { fallsSinceMs } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { latelyLine } from '../tracking/trace.ts';
import { COLD_AIR, isTold, sinceToldS, TOO_LITTLE_HEAT } from './lately.ts';
import { ceilingOf } from './overshoot.ts';
import { heard, type Opinion, type Rule, soundBeside, type View } from './rule.ts';
import { wording } from './wording.ts';

/** What let cold air in is closed, and the couple comes up to the walls again: by so much, for so long. From simulated firings. */
const COLD_AIR_S = 3600;
const COMES_UP_C = 60;
const COMES_UP_S = 420;

/** A fall that began by lost heat is taken for the plan's within so long of it. Ours. */
const LOST_WITHIN_S = 300;

const NO_HEAT: readonly AlertKind[] = ['heat-lost', 'hold-short'];

/** So near its top what climbs on will be over it. Ours. */
const NEAR_TOLERANCES = 3;

/** Another couple that has bent up by less than this share, over so long since, has not. Ours. */
const BESIDE_RATIO = 0.25;
const BESIDE_LEAST_S = 20;
const BESIDE_MOST_S = 60;

export const uncontrolledHeat: Rule = {
  alert: 'uncontrolled-heat',
  onDelayS: 0,
  offDelayS: 60,
  cause: 'a relay welded shut, a valve that does not close, a programme that began again',
  consequence: 'the kiln runs on until the glass melts and the elements burn',
  whatToDo: {
    gas: 'gas off at the bottle, damper after',
    electric: 'switch off at the wall',
  },
  timeToAct: 'one to two minutes',
  priority: 'now',
  judge,
  afterwards: (_told, lastedS) => wording.heatStuckWas(lastedS),
};

function judge(view: View): Opinion {
  const { change, ruling } = view;
  if (heard(view)?.last == null) return change?.kind === 'unwanted' ? 'unknown' : undefined;
  if (ruling?.last == null) return undefined;
  const nowC = ruling.last.celsius;
  if (change?.kind !== 'unwanted')
    return isTold(view, ['uncontrolled-heat']) && goesOver(view, nowC) ? 'unsure' : undefined;
  if (isShutAgain(view, nowC) || isPowerBack(view)) return undefined;
  if (!isTold(view, ['uncontrolled-heat']) && isAlone(view, ruling.name, change)) return 'unsure';
  const isClimb = change.wish === 'climb' || change.wish === 'arrival';
  const when = change.wish === 'hold' || change.wish === 'ending' ? 'hold' : isClimb ? 'climb' : 'fall';
  return {
    phase: 'happening',
    priority: 'now',
    sensor: ruling.name,
    explains: ['overshoot', 'heating-too-fast', 'hold-long'],
    message: wording.heatStuck(view.kiln.heat, nowC, when),
    because: wording.heatStuckBecause(change.fromC, nowC, perMinute(changeRateCPerH(change)), when === 'climb'),
  };
}

/** As long as it is too hot by it, or still about to be, it is one trouble, whatever the pace. */
function goesOver({ schedule, track, toleranceC, trace }: View, nowC: number): boolean {
  const ceilingC = schedule === null || track === null ? null : ceilingOf(schedule, track.segment);
  if (ceilingC === null) return false;
  const isClimbing = (latelyLine(trace)?.perS ?? 0) > 0;
  return nowC > ceilingC + toleranceC || (isClimbing && nowC > ceilingC - NEAR_TOLERANCES * toleranceC);
}

/** No other couple has bent up with it: this one has slipped towards the heat, or come back to its place. */
function isAlone(view: View, ruling: string, { sinceMs, beforePerS, sincePerS }: HeatChange): boolean {
  const others = soundBeside(view, ruling);
  const overS = clamp(secondsBetween(sinceMs, view.nowMs), BESIDE_LEAST_S, BESIDE_MOST_S);
  const goesOn = ({ recent }: SensorTrack): boolean =>
    (fitLineOf(recent, overS)?.slopePerS ?? sincePerS) - beforePerS < BESIDE_RATIO * (sincePerS - beforePerS);
  return others.length > 0 && others.every(goesOn);
}

/** By lost heat the plan's fall began: as power is back the controller goes on where it was, and somebody wants that. */
function isPowerBack(view: View): boolean {
  if (view.change?.wish !== 'fall' || view.kiln.heat !== 'electric') return false;
  const fallsS = secondsBetween(fallsSinceMs(view), view.nowMs);
  return sinceToldS(view, NO_HEAT) < fallsS + LOST_WITHIN_S;
}

function isShutAgain(view: View, nowC: number): boolean {
  const { change, nowMs, trace } = view;
  if (change === null || change.wish === 'hold') return false;
  const sinceS = sinceToldS(view, change.wish === 'fall' ? COLD_AIR : [...COLD_AIR, ...TOO_LITTLE_HEAT]);
  if (sinceS > COLD_AIR_S) return false;
  const comesUp = secondsBetween(change.sinceMs, nowMs) < COMES_UP_S || (latelyLine(trace)?.perS ?? 0) <= 0;
  return nowC - change.fromC < COMES_UP_C && comesUp;
}
