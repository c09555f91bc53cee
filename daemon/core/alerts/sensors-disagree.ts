/** Two couples of one kiln part, and nobody can say which of them is right. */
import { secondsBetween } from '../numbers/units.ts';
import { isRulingLow } from '../tracking/couple-pairs.ts';
import type { Opinion, Rule, View } from './rule.ts';
import { wording } from './wording.ts';

export const sensorsDisagree: Rule = {
  alert: 'sensors-disagree',
  onDelayS: 0,
  offDelayS: 60,
  cause: 'a couple that ages or slips out little by little, or one half of the kiln that no longer heats',
  consequence: 'if it is the one that the plan goes by, the firing is too hot or too cold by as much',
  whatToDo: {
    gas: 'look at both couples and at the flame; go by the gloss, eyes protected, or by the hand pyrometer',
    electric: 'look at both couples and at the elements; go by the gloss, eyes protected, or by the hand pyrometer',
  },
  timeToAct: 'half an hour or so, until the error spoils a colour',
  priority: 'soon',
  judge,
  afterwards: () => wording.disagreeWas,
};

function judge(view: View): Opinion {
  const ruling = view.ruling?.name ?? '';
  for (const [other, { verdict }] of Object.entries(view.pairs)) {
    // Where it is known which of them it is, `sensor-fault` says so.
    if (verdict?.pace !== 'slow' || isRulingLow(verdict)) continue;
    return {
      phase: 'happening',
      priority: 'soon',
      sensor: other,
      message: wording.disagree(view.kiln.heat, ruling, other, verdict.byC),
      because: wording.disagreeBecause(ruling, other, verdict.byC, secondsBetween(verdict.sinceMs, view.nowMs)),
    };
  }
  return undefined;
}
