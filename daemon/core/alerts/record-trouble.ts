/** The disk does not take the record. */
import type { Rule } from './rule.ts';
import { wording } from './wording.ts';

export const recordTrouble: Rule = {
  alert: 'record-trouble',
  onDelayS: 0,
  offDelayS: 0,
  cause: 'a full, broken or read-only disk',
  consequence: 'nobody can prove later what the kiln did',
  whatToDo: {
    gas: 'free some space on the disk, or give it back its rights',
    electric: 'free some space on the disk, or give it back its rights',
  },
  timeToAct: 'until the memory is full: some hours',
  priority: 'soon',
  judge: (view) =>
    view.recordLost === null
      ? undefined
      : {
          phase: 'happening',
          priority: 'soon',
          message: wording.recordTrouble(view.recordLost),
          because: wording.recordBecause,
        },
  afterwards: (_told, lastedS) => wording.recordWas(lastedS),
};
