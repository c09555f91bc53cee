/** Heat is wanted and none comes: the flame is out, the power gone. */
import { perMinute, secondsBetween } from '../numbers/units.ts';
import { targetC } from '../plan/schedule.ts';
import { changeRateCPerH } from '../tracking/heat-change.ts';
import { plannedNowC } from '../tracking/plan-track.ts';
import { sinceToldS, TOO_MUCH_HEAT } from './lately.ts';
import { heard, isLidOpen, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** Who was told of too much heat takes it away; within this time, and as long as the kiln is not far below where it should be. */
const TAKEN_AWAY_S = 1200;
const FAR_BELOW_TOLERANCES = 2;

export const heatLost: Rule = {
  alert: 'heat-lost',
  onDelayS: 4,
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
  // An open lid explains it better.
  if (isLidOpen(view)) return undefined;
  if (isTakenAway(view, ruling.last.celsius)) return undefined;
  const nowC = ruling.last.celsius;
  const rateCPerH = changeRateCPerH(change);
  return {
    phase: 'happening',
    priority: 'now',
    sensor: ruling.name,
    explains: ['hold-short', 'stalled-ramp', 'running-late', 'cooling-too-fast'],
    replaces: ['stalled-ramp'],
    message: wording.heatLost(view.kiln.heat, nowC),
    because: wording.heatLostBecause(
      change.fromC,
      nowC,
      perMinute(rateCPerH),
      secondsBetween(change.sinceMs, view.nowMs),
    ),
  };
}

/** The hand, or the controller of a kiln that is ahead of its plan, took the heat away by right. */
function isTakenAway(view: View, nowC: number): boolean {
  const { schedule, track, segment, toleranceC } = view;
  if (schedule === null || track === null) return false;
  const isClimb = segment?.kind === 'ramp';
  const wantedC = isClimb ? plannedNowC(schedule, track, view.nowMs) : targetC(schedule, track.segment);
  const isAhead = isClimb && view.kiln.heat === 'electric' && wantedC !== null && nowC > wantedC + FAR_BELOW_TOLERANCES * toleranceC;
  if (isAhead) return true;
  if (sinceToldS(view, TOO_MUCH_HEAT) > TAKEN_AWAY_S) return false;
  return nowC > (wantedC ?? Number.NEGATIVE_INFINITY) - FAR_BELOW_TOLERANCES * toleranceC;
}
