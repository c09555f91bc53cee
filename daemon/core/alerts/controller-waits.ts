/** A controller that runs its programme by the clock gives no heat while the kiln is hotter than that. */
import { secondsBetween } from '../numbers/units.ts';
import { plannedByClockC } from '../tracking/by-clock.ts';
import { sinceToldS, TOO_MUCH_HEAT } from './lately.ts';
import type { View } from './rule.ts';

/** So far above, in tolerances, it is ahead; from simulated firings. */
const AHEAD_TOLERANCES = 2;
/** Who was told of heat that nobody can stop has switched off at the wall: it has not been as hot since. */
const STUCK_ON = ['uncontrolled-heat'] as const;
/** Coming down from too much heat it swings a little below before the controller gives heat again. From simulated firings. */
const SWINGS_S = 2400;

/** Whether the controller of an electric kiln waits for its plan, has come to the end of it, or was switched off. */
export function controllerWaits(view: View, nowC: number): boolean {
  const { schedule, track, kiln, toleranceC } = view;
  if (kiln.heat !== 'electric' || schedule === null || track === null) return false;
  const stuckS = sinceToldS(view, STUCK_ON);
  if (stuckS < SWINGS_S && secondsBetween(track.highUntilMs, view.nowMs) >= stuckS) return true;
  const byClockC = plannedByClockC(schedule, track, view.nowMs);
  if (byClockC === null) return false;
  const isComingDown = sinceToldS(view, TOO_MUCH_HEAT) < SWINGS_S;
  return nowC > byClockC + (isComingDown ? -AHEAD_TOLERANCES : AHEAD_TOLERANCES) * toleranceC;
}
