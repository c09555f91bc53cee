/**
 * What the owner of a kiln has learnt from test tiles: how much hotter the glass is than the ruling couple shows, and how
 * far the controller's own couple is from it. The plan is made by the ruling couple, the controller is trimmed to it, and
 * harm is counted from there.
 */
import { rulingSensor } from '../daemon/core/plan/kiln.ts';
import { peakC } from '../daemon/core/plan/schedule.ts';
import { type FiringScenario, liveFiring } from './firing-scenario.ts';

export interface KilnHabits {
  /** Glass less what the ruling couple shows, in the hold at the top. */
  readonly glassC: number;
  /** What the ruling couple shows less the controller's setpoint, in that hold; 0 at a kiln fired by hand. */
  readonly controllerOffC: number;
}

const CHUNK_MS = 60_000;

/** @param quiet the firing with nothing wrong. @returns zeros where it never comes to its top */
export function kilnHabits(quiet: FiringScenario): KilnHabits {
  const topC = peakC(quiet.schedule);
  const ruling = rulingSensor(quiet.kiln);
  const firing = liveFiring(quiet);
  const toleranceC = quiet.schedule.toleranceC ?? quiet.kiln.toleranceC ?? 6;
  let glassSumC = 0;
  let offSumC = 0;
  let count = 0;
  while (!firing.ended()) {
    const before = count;
    const { rows } = firing.step(firing.atMs() + CHUNK_MS);
    const controller = firing.plant.controller();
    const inHold = controller !== null && quiet.schedule.segments[controller.segment]?.kind === 'hold';
    for (const { sensor, celsius, glassC } of rows) {
      if (sensor !== ruling || celsius === null) continue;
      const holds =
        controller === null ? Math.abs(celsius - topC) <= toleranceC : inHold && controller.setpointC === topC;
      if (!holds) continue;
      glassSumC += glassC - celsius;
      offSumC += controller === null ? 0 : celsius - controller.setpointC;
      count += 1;
    }
    if (count > 0 && count === before) break;
  }
  return count === 0
    ? { glassC: 0, controllerOffC: 0 }
    : { glassC: glassSumC / count, controllerOffC: offSumC / count };
}
