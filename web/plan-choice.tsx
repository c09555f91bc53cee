/** The schedules of the shelf, each with its small curve. */
import { celsius } from './format.ts';
import { holdsOfPlan, peakOf, sketchOfPlan } from './plan-sketch.ts';
import { Sketch } from './sketch.tsx';
import type { Schedule } from './wire-types.ts';
import { begin as words } from './wording.ts';

interface PlanChoiceProps {
  readonly schedules: readonly { readonly key: string; readonly schedule: Schedule }[];
  /** A key, null for none, undefined while nothing was chosen. */
  readonly plan: string | null | undefined;
  readonly mayBeNone: boolean;
  choose(plan: string | null): void;
}

export function PlanChoice({ schedules, plan, mayBeNone, choose }: PlanChoiceProps) {
  return (
    <fieldset class="plans" aria-label={words.whichPlan}>
      {schedules.length === 0 && <p class="quiet">{words.noPlans}</p>}
      {schedules.map(({ key, schedule }) => (
        <label key={key} class="choice plan-choice">
          <input type="radio" name="plan" checked={plan === key} onChange={() => choose(key)} />
          <Sketch points={sketchOfPlan(schedule)} isPlan />
          <span>
            <b>{schedule.name}</b>
            <span class="small">
              {[words.peak(celsius(peakOf(schedule))), holdsOfPlan(schedule)].filter((part) => part !== '').join(', ')}
            </span>
            {schedule.source !== undefined && <span class="small plan-source">{schedule.source}</span>}
          </span>
        </label>
      ))}
      {mayBeNone && (
        <label class="choice plan-choice">
          <input type="radio" name="plan" checked={plan === null} onChange={() => choose(null)} />
          <Sketch points={[]} />
          <span>
            <b>{words.withoutPlan}</b>
            <span class="small">{words.withoutPlanNote}</span>
          </span>
        </label>
      )}
    </fieldset>
  );
}
