/** The forecast as it is told to the page. */
import type { ForecastEvent, PositionEvent } from '../events.ts';
import { toForecastEvent } from '../forecast/forecast.ts';
import type { FiringState } from '../state.ts';

export function describeForecast(state: FiringState, position: PositionEvent): ForecastEvent | null {
  const { schedule, track } = state;
  const { prospect } = state.foresight;
  if (prospect === null) return null;
  const isRamp = track !== null && schedule?.segments[track.segment]?.kind === 'ramp';
  return toForecastEvent(prospect, isRamp ? position.segmentEndsAtMs : null);
}
