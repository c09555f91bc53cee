/** A plan as core keeps it: each segment, ramp or hold, with the fields of both in one order. */
import type { Schedule, Segment } from './schedule.ts';

/**
 * Nearly all of core reads the present segment. To an engine things with other fields are of another shape: at each corner
 * of the plan it would throw away what it had made quick for the shape before.
 */
export function evenPlan(schedule: Schedule): Schedule {
  return { ...schedule, segments: schedule.segments.map(evenSegment) };
}

function evenSegment(segment: Segment): Segment {
  const { opening, acts } = segment;
  return segment.kind === 'ramp'
    ? { kind: 'ramp', toC: segment.toC, rateCPerH: segment.rateCPerH, minutes: undefined, opening, acts }
    : { kind: 'hold', toC: undefined, rateCPerH: undefined, minutes: segment.minutes, opening, acts };
}
