/** Looks ahead over a made-up way of a kiln, as core does with each reading. */
import { type Foresight, NO_FORESIGHT } from '../../../daemon/core/forecast/foresight.ts';
import { lookAhead } from '../../../daemon/core/forecast/look-ahead.ts';
import type { Prospect } from '../../../daemon/core/forecast/prospect.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { type PlanTrack, startPlan, trackPlan } from '../../../daemon/core/tracking/plan-track.ts';
import { atS } from '../feeding.ts';

export interface Walk {
  readonly untilS: number;
  readonly everyS: number;
  readonly celsiusAt: (s: number) => number;
  readonly schedule?: Schedule;
}

export interface Looked {
  readonly s: number;
  readonly foresight: Foresight;
  readonly prospect: Prospect;
}

export function lookAlong({ untilS, everyS, celsiusAt, schedule }: Walk): Looked[] {
  const looked: Looked[] = [];
  let foresight = NO_FORESIGHT;
  let track: PlanTrack | null = null;
  for (let s = 0; s <= untilS; s += everyS) {
    const now = { atMs: atS(s), celsius: celsiusAt(s) };
    if (schedule !== undefined) track = trackPlan(schedule, track ?? startPlan(now), now, 6);
    foresight = lookAhead(foresight, now, {
      schedule: schedule ?? null,
      track,
      intervalS: s === 0 ? null : everyS,
      isLeap: false,
      rate: undefined,
    });
    if (foresight.prospect !== null) looked.push({ s, foresight, prospect: foresight.prospect });
  }
  return looked;
}

export function lookedAt(looked: readonly Looked[], s: number): Looked {
  const found = looked.findLast((one) => one.s <= s);
  if (found === undefined) throw new Error(`nothing was foreseen at ${s} s`);
  return found;
}
