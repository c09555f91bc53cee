/** The stamps of the readings make no sense: the instrument's clock stands, was set back or leapt ahead, or was never right. */
import type { Finding, Opinion, Rule, View } from './rule.ts';
import { wording } from './wording.ts';

/** Stamps that make no sense leave gaps, and minutes that never were. */
const EXPLAINS = ['silence', 'stalled-ramp', 'running-late'] as const;

export const clockTrouble: Rule = {
  alert: 'clock-trouble',
  onDelayS: 0,
  offDelayS: 5,
  cause: "the instrument's clock has an empty battery, or somebody or a time server has set it",
  consequence: 'climbs, holds and forecasts are reckoned by times that are wrong',
  whatToDo: {
    gas: "look at the instrument's clock, and go by your own watch meanwhile",
    electric: "look at the instrument's clock, and go by your own watch meanwhile",
  },
  timeToAct: 'until the next hand is needed',
  priority: 'soon',
  judge,
  afterwards: () => wording.clockWas,
};

function judge(view: View): Opinion {
  const { trouble } = view.stamps;
  if (trouble === null) return view.clockOffS === 0 ? undefined : ofBoard(view.clockOffS);
  return {
    phase: 'happening',
    priority: trouble.kind === 'set' ? 'note' : 'soon',
    explains: trouble.kind === 'set' ? [] : EXPLAINS,
    message: wording.clockTrouble(trouble.kind, trouble.byS),
    because: wording.clockBecause(trouble.kind),
  };
}

/** Its readings are watched all the same, by when they arrive. */
function ofBoard(offS: number): Finding {
  return {
    phase: 'happening',
    priority: 'note',
    message: wording.boardClock(offS),
    because: wording.boardClockBecause(offS),
  };
}
