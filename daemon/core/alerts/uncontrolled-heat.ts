/** Heat goes in though the plan wants none, or no more: a relay that sticks, a programme that began again. */
import { perMinute } from '../numbers/units.ts';
import { changeRateCPerH } from '../tracking/heat-change.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

export const uncontrolledHeat: Rule = {
  alert: 'uncontrolled-heat',
  onDelayS: 4,
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
  if (change?.kind !== 'unwanted' || ruling?.last == null) return undefined;
  const nowC = ruling.last.celsius;
  return {
    phase: 'happening',
    priority: 'now',
    sensor: ruling.name,
    explains: ['overshoot', 'heating-too-fast', 'hold-long'],
    message: wording.heatStuck(view.kiln.heat, nowC, change.wish === 'hold'),
    because: wording.heatStuckBecause(change.fromC, nowC, perMinute(changeRateCPerH(change))),
  };
}
