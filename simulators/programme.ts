/** The setpoint's way along a schedule, as a controller goes it by itself. */
import { type Schedule, targetC } from '../daemon/core/plan/schedule.ts';

export interface Programme {
  setpointC(): number;
  /** Index into the segments; their length when it is over. */
  segment(): number;
  /** True while it gives no heat: the kiln is let fall, or the plan is over. */
  isOff(): boolean;
  /** @param shownC what the controller's couple shows, null where it shows nothing */
  step(shownC: number | null, durationS: number): void;
  /** Goes to a segment's beginning, the setpoint from what is shown; the segments' length ends it. */
  jump(segment: number, shownC: number): void;
}

/** It waits when the kiln is so far behind. Ours. */
const WAITS_BEHIND_C = 8;

/** @param waits false: ramps and holds run by the clock, whatever the kiln does */
export function programme(schedule: Schedule, startC: number, waits: boolean): Programme {
  let index = 0;
  let setC = startC;
  let heldS = 0;
  const { segments } = schedule;
  const next = (): void => {
    index += 1;
    heldS = 0;
  };

  function stepRate(goalC: number, rateCPerH: number, shownC: number | null, durationS: number): void {
    const rising = goalC >= setC;
    const behindC = shownC === null ? 0 : rising ? setC - shownC : shownC - setC;
    if (!waits || (shownC !== null && behindC < WAITS_BEHIND_C)) {
      const moveC = (rateCPerH / 3600) * durationS;
      setC = rising ? Math.min(goalC, setC + moveC) : Math.max(goalC, setC - moveC);
    }
    if (setC !== goalC) return;
    const isThere = shownC !== null && (rising ? shownC >= goalC - 1 : shownC <= goalC + 1);
    if (!waits || isThere) next();
  }

  return {
    setpointC: () => setC,
    segment: () => index,
    isOff() {
      const segment = segments[index];
      return segment === undefined || (segment.kind === 'ramp' && segment.rateCPerH === 'let-fall');
    },
    step(shownC, durationS) {
      const segment = segments[index];
      if (segment === undefined) return;
      if (segment.kind === 'hold') {
        heldS += durationS;
        if (heldS >= segment.minutes * 60) next();
        return;
      }
      const goalC = targetC(schedule, index);
      if (typeof segment.rateCPerH === 'number') {
        stepRate(goalC, segment.rateCPerH, shownC, durationS);
        return;
      }
      setC = goalC;
      if (shownC === null) return;
      if (Math.abs(shownC - goalC) <= 1 || (segment.rateCPerH === 'let-fall' && shownC < goalC)) next();
    },
    jump(segment, shownC) {
      index = Math.min(segments.length, Math.max(0, Math.floor(segment)));
      heldS = 0;
      setC = segments[index]?.kind === 'hold' ? targetC(schedule, index) : shownC;
    },
  };
}
