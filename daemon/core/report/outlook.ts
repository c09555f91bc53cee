/** The forecast as it is told: the kiln's own course, or the plan ahead where a controller follows it closely. */
import type { ForecastEvent, PositionEvent } from '../events.ts';
import { outlookOf, planAtC, toForecastEvent } from '../forecast/forecast.ts';
import { bandScale } from '../forecast/own-errors.ts';
import { perSecond } from '../numbers/units.ts';
import type { FiringState } from '../state.ts';
import { toleranceOf } from '../tracking/tolerance.ts';

export function describeForecast(state: FiringState, position: PositionEvent): ForecastEvent | null {
  const { course, schedule, track } = state;
  if (course === null) return null;
  const followed = isFollowed(state, position) ? position.planLine : null;
  const outlook = outlookOf(course, bandScale(state.ownErrors), followed, position.deviationC ?? 0);
  const isRamp = track !== null && schedule?.segments[track.segment]?.kind === 'ramp';
  return toForecastEvent(outlook, course.atMs, isRamp ? position.segmentEndsAtMs : null);
}

/** A controller that keeps the kiln on its plan, at the plan's own pace, will round the plan's corners too. */
function isFollowed(state: FiringState, position: PositionEvent): boolean {
  const { course, schedule, track } = state;
  if (state.kiln.heat !== 'electric' || course === null || schedule === null || track === null) return false;
  if (position.plannedC === null || position.deviationC === null) return false;
  if (Math.abs(position.deviationC) > toleranceOf(state.kiln, schedule)) return false;
  const soonC = planAtC(position.planLine, course.atMs + 60_000);
  if (soonC === null) return false;
  const plannedPerS = (soonC - position.plannedC) / 60;
  return Math.abs(course.slopePerS - plannedPerS) < Math.max(0.3 * Math.abs(plannedPerS), perSecond(30));
}
