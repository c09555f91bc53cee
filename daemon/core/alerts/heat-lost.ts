/** Heat is wanted and none comes: the flame is out, the power gone. */
import type { AlertKind } from '../events.ts';
import { readingUntil } from '../numbers/timed-list.ts';
import { perMinute, perSecond, secondsBetween } from '../numbers/units.ts';
import { targetC } from '../plan/schedule.ts';
import { changeRateCPerH, HEATED_RATIO, type HeatChange } from '../tracking/heat-change.ts';
import { isHoldFromAbove, plannedNowC } from '../tracking/plan-track.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { momentLine } from '../tracking/trace.ts';
import { controllerWaits } from './controller-waits.ts';
import { isTold, sinceToldS, TOO_MUCH_HEAT } from './lately.ts';
import { heard, isLidOpen, type Opinion, type Rule, soundBeside, type View } from './rule.ts';
import { wording } from './wording.ts';

/** Who was told of too much heat takes it away; within this time, as long as the kiln is not far below where it should be. */
const TAKEN_AWAY_S = 1200;
const FAR_TOLERANCES = 2;
/** The bend of a fall may be found so long after what was told is over. Ours. */
const WAS_TOLD_S = 30;
const OFF_AT_BOTTLE: readonly AlertKind[] = ['uncontrolled-heat'];
const TAKES_AWAY: readonly AlertKind[] = ['uncontrolled-heat', 'clock-trouble'];

/** What a lid took with it comes back within so long of its shutting. Common practice, no source. */
const FALLS_ON_S = 120;

/** What opening a lid took has been taken by then; the bend of a fall is found some ten seconds before or after. Ours. */
const LONG_OPEN_S = 300;

/**
 * What falls by less than this share of the ruling couple's fall stays. A sheath hardly shows for half a minute that a flame
 * is out, and nobody waits for it: until it must have shown, and has not at all, the fall is the flame's. Ours.
 */
const BESIDE_RATIO = { gas: 0, electric: 0.1 } as const;
const BESIDE_FROM_S = { gas: 60, electric: 0 } as const;

export const heatLost: Rule = {
  alert: 'heat-lost',
  onDelayS: 1,
  offDelayS: 60,
  cause: 'wind in the burner, an empty bottle, a fuse, a broken relay or element',
  consequence: 'unburnt gas gathers in the kiln; the firing comes late, or the hold is lost',
  whatToDo: {
    gas: 'gas off at the bottle, damper open, no flame or sparks; air it, then relight as the installer taught you',
    electric: 'look at power, fuse and elements; keep it shut',
  },
  timeToAct: 'a minute with gas, a few with electricity',
  priority: 'now',
  needsReset: (kiln) => kiln.heat === 'gas',
  judge,
  afterwards: (_told, lastedS) => wording.heatLostWas(lastedS),
};

function judge(view: View): Opinion {
  if (heard(view)?.last == null) return view.change?.kind === 'gone' ? 'unknown' : undefined;
  const { change, ruling } = view;
  if (change?.kind !== 'gone' || ruling?.last == null) return undefined;
  // An open lid explains it better. In a gas kiln a fall alone may be the flame's, and that is the worse of the two.
  const mayBeDoor = view.kiln.heat === 'gas' && view.lidOpen === null;
  if (isLidOpen(view) && !mayBeDoor && !hasLongBeenOpen(view, change)) return undefined;
  const nowC = ruling.last.celsius;
  // With no flame that may be out, and nothing to be fired any more, what matters is that the glass cools too fast.
  if (isAnnealing(view)) return undefined;
  if (isLidsFall(view, change)) return undefined;
  if (staysBeside(view, ruling, change)) return 'unsure';
  if (isTakenAway(view, change, nowC) || !(isTold(view, ['heat-lost']) || isFalling(view, nowC))) return undefined;
  const rateCPerH = changeRateCPerH(change);
  return {
    phase: 'happening',
    priority: 'now',
    sensor: ruling.name,
    explains: ['hold-short', 'stalled-ramp', 'running-late', 'cooling-too-fast'],
    replaces: ['stalled-ramp'],
    message: wording.heatLost(view.kiln.heat, nowC, mayBeDoor),
    because: wording.heatLostBecause(
      change.fromC,
      nowC,
      perMinute(rateCPerH),
      secondsBetween(change.sinceMs, view.nowMs),
    ),
  };
}

/** What stands open since long before it began to fall, as the plan has it while smoke is let off, did not begin it. */
function hasLongBeenOpen({ lidOpen, lidSinceMs }: View, { sinceMs }: HeatChange): boolean {
  return lidOpen === true && lidSinceMs !== null && secondsBetween(lidSinceMs, sinceMs) > LONG_OPEN_S;
}

function isAnnealing({ kiln, schedule, track }: View): boolean {
  return kiln.heat === 'electric' && schedule !== null && track !== null && isHoldFromAbove(schedule, track.segment);
}

/** What a lid did that is shut again, or a gap that is there to stay, has been: what has lost its heat falls on. */
function isFalling({ trace }: View, nowC: number): boolean {
  const still = momentLine(trace);
  return still !== null && still.perS < -perSecond(HEATED_RATIO * nowC);
}

/** Every other couple goes on as before: this one has slipped, or a draught is at it. */
function staysBeside(view: View, { name, last }: SensorTrack, { sinceMs, fromC }: HeatChange): boolean {
  const { heat } = view.kiln;
  if (secondsBetween(sinceMs, view.nowMs) < BESIDE_FROM_S[heat]) return false;
  const fellC = fromC - (last?.celsius ?? fromC);
  const others = soundBeside(view, name);
  const stays = (other: SensorTrack): boolean => {
    const thenC = readingUntil(other.recent, sinceMs)?.celsius;
    return thenC !== undefined && other.last !== null && thenC - other.last.celsius <= BESIDE_RATIO[heat] * fellC;
  };
  return others.length > 0 && others.every(stays);
}

/** A switch has told of a lid, and what fell since before it was shut is the lid's, until it has gone on falling long after. */
function isLidsFall(view: View, { sinceMs }: HeatChange): boolean {
  const shutS = sinceToldS(view, ['lid-open-hot']);
  return view.lidOpen === false && shutS < FALLS_ON_S && shutS < secondsBetween(sinceMs, view.nowMs);
}

/** The hand, or the controller of a kiln that is ahead of its plan or has come to its end, took the heat away by right. */
function isTakenAway(view: View, change: HeatChange, nowC: number): boolean {
  const { schedule, track, segment, toleranceC } = view;
  if (schedule === null || track === null) return false;
  if (controllerWaits(view, nowC)) return true;
  const lastedS = secondsBetween(change.sinceMs, view.nowMs);
  // What heats by itself is switched off at the wall, or at the bottle, and may stay so, however far it falls; and a controller
  // whose clock leapt is elsewhere in its programme.
  if (sinceToldS(view, view.kiln.heat === 'electric' ? TAKES_AWAY : OFF_AT_BOTTLE) < lastedS + WAS_TOLD_S) return true;
  const wantedC =
    segment?.kind === 'ramp' ? plannedNowC(schedule, track, view.nowMs) : targetC(schedule, track.segment);
  // A controller that has run so far ahead runs another programme, and that one has let go.
  const isAhead =
    view.kiln.heat === 'electric' && change.fromC > (wantedC ?? Number.POSITIVE_INFINITY) + FAR_TOLERANCES * toleranceC;
  if (isAhead && segment?.kind === 'ramp') return true;
  if (sinceToldS(view, TOO_MUCH_HEAT) - lastedS > TAKEN_AWAY_S) return false;
  const thenWantedC = plannedNowC(schedule, track, change.sinceMs) ?? wantedC;
  // What was far too hot as it began to fall was turned off, and may stay so.
  if (change.fromC > (thenWantedC ?? Number.POSITIVE_INFINITY) + FAR_TOLERANCES * toleranceC) return true;
  return nowC > (wantedC ?? Number.NEGATIVE_INFINITY) - FAR_TOLERANCES * toleranceC;
}
