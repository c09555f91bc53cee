/** Two couples of one kiln part, and nobody can say which of them is right. */
import type { AlertKind } from '../events.ts';
import { fitLineOf } from '../numbers/line-fit.ts';
import { perHour, secondsBetween } from '../numbers/units.ts';
import { climbTopC, goesDown } from '../plan/schedule.ts';
import { isWider } from '../tracking/coming-apart.ts';
import { isRulingLow, type PairVerdict } from '../tracking/couple-pairs.ts';
import { type Finding, type Opinion, type Rule, soundBeside, type View } from './rule.ts';
import { wording } from './wording.ts';

/** By how much a hold was reached, and for how long it was kept, nobody knows then. */
const EXPLAINS = ['hold-short'] as const;
/** A controller goes by a couple of its own: it may be done and let the kiln fall where ours thinks the hold has just begun. */
const DONE_EXPLAINS = ['lid-open-hot', 'heat-lost', 'cooling-too-fast', 'hold-short'] as const;
/** The others climb as the plan wants within these shares of its pace, over so long. Ours. */
const AS_PLANNED = { least: 0.75, most: 1.25 } as const;
const BESIDE_S = 300;

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
  priority: 'now',
  judge,
  afterwards: () => wording.disagreeWas,
};

function judge(view: View): Opinion {
  const ruling = view.ruling?.name ?? '';
  for (const [other, { verdict }] of Object.entries(view.pairs)) {
    // Where it is known which of them it is, `sensor-fault` says so.
    if (verdict?.pace !== 'slow' || isRulingLow(verdict) || view.watches[other]?.health.fault != null) continue;
    return {
      phase: 'happening',
      // At worst it is the one that the plan goes by, which is as urgent as if it were known.
      priority: verdict.left === 'other' || isCooling(view) ? 'soon' : 'now',
      explains: explainedBy(view, other, verdict),
      sensor: other,
      message: wording.disagree(view.kiln.heat, ruling, other, verdict.byC, isWider(verdict)),
      because: wording.disagreeBecause(ruling, other, verdict.byC, secondsBetween(verdict.sinceMs, view.nowMs)),
    };
  }
  return undefined;
}

const isCooling = (view: View): boolean => view.track !== null && view.segment === null;

function explainedBy(view: View, other: string, { left, byC, beforeC }: PairVerdict): Finding['explains'] {
  if (left === 'other') return [];
  const isDone = view.kiln.heat === 'electric' && isAtTop(view, Math.max(Math.abs(byC), partedC(view, other, beforeC)));
  return [...(isDone ? DONE_EXPLAINS : EXPLAINS), ...itsOwn(view, byC)];
}

/** A pace that the ruling one alone shows, and the others not, is what parts them. */
function itsOwn(view: View, byC: number): readonly AlertKind[] {
  const { segment, ruling } = view;
  const wantedCPerH = segment?.kind === 'ramp' ? segment.rateCPerH : null;
  if (typeof wantedCPerH !== 'number') return [];
  const ratios = soundBeside(view, ruling?.name ?? '').map(
    ({ recent }) => perHour(fitLineOf(recent, BESIDE_S)?.slopePerS ?? Number.NaN) / wantedCPerH,
  );
  if (byC > 0) return ratios.every((ratio) => ratio > AS_PLANNED.least) ? ['running-late'] : [];
  return ratios.every((ratio) => ratio < AS_PLANNED.most) ? ['heating-too-fast'] : [];
}

/** What drifts may have gone on since it was told. */
function partedC({ ruling, sensors }: View, other: string, beforeC: number): number {
  const otherC = sensors.find((s) => s.name === other)?.last?.celsius;
  return ruling?.last == null || otherC === undefined ? 0 : Math.abs(otherC - ruling.last.celsius - beforeC);
}

/** By one of the two the kiln has come to the top of its climb. */
function isAtTop({ schedule, track, segment, ruling, toleranceC }: View, apartC: number): boolean {
  if (schedule === null || track === null || ruling?.peakC == null) return false;
  if (goesDown(schedule, segment?.kind === 'hold' ? track.segment - 1 : track.segment)) return false;
  return climbTopC(schedule, track.segment) - ruling.peakC < toleranceC + apartC;
}
