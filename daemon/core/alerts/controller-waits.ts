/** A controller that runs its programme by the clock gives no heat while the kiln is hotter than that. */
import { plannedByClockC } from '../tracking/by-clock.ts';
import { sinceToldS, TOO_MUCH_HEAT } from './lately.ts';
import type { View } from './rule.ts';

/** So far above, in tolerances, it is ahead; from simulated firings. */
const AHEAD_TOLERANCES = 2;
/** Coming down from too much heat it swings a little below before the controller gives heat again. From simulated firings. */
const SWINGS_S = 2400;

/** Whether the controller of an electric kiln waits for its plan, or has come to the end of it. */
export function controllerWaits(view: View, nowC: number): boolean {
  const { schedule, track, kiln, toleranceC } = view;
  if (kiln.heat !== 'electric' || schedule === null || track === null) return false;
  const byClockC = plannedByClockC(schedule, track, view.nowMs);
  if (byClockC === null) return false;
  const isComingDown = sinceToldS(view, TOO_MUCH_HEAT) < SWINGS_S;
  return nowC > byClockC + (isComingDown ? -AHEAD_TOLERANCES : AHEAD_TOLERANCES) * toleranceC;
}
