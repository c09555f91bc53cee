/** A plan laid out from the room's temperature, for its small drawing and its length. */

import type { CurvePoint } from '../daemon/wire/live-messages.ts';
import type { Schedule } from './wire-types.ts';

const ROOM_C = 20;
/** A kiln's own pace is not in the plan: for the drawing alone, a small kiln's (from memory). */
const DRAWN_FLAT_OUT_C_PER_H = 400;
const DRAWN_FALL_C_PER_H = 120;
const HOUR_MS = 3_600_000;

export function sketchOfPlan(schedule: Schedule): CurvePoint[] {
  let atMs = 0;
  let celsius = ROOM_C;
  const points: CurvePoint[] = [[atMs, celsius]];
  for (const segment of schedule.segments) {
    if (segment.kind === 'hold') atMs += segment.minutes * 60_000;
    else {
      const pace = segment.rateCPerH;
      const cPerH = pace === 'flat-out' ? DRAWN_FLAT_OUT_C_PER_H : pace === 'let-fall' ? DRAWN_FALL_C_PER_H : pace;
      atMs += (Math.abs(segment.toC - celsius) / cPerH) * HOUR_MS;
      celsius = segment.toC;
    }
    points.push([atMs, celsius]);
  }
  return points;
}

export function peakOf(schedule: Schedule): number {
  return Math.max(...schedule.segments.map((segment) => (segment.kind === 'ramp' ? segment.toC : 0)));
}

/** "hold 15 min at 660, 20 min at 540" */
export function holdsOfPlan(schedule: Schedule): string {
  let celsius = ROOM_C;
  const holds: string[] = [];
  for (const segment of schedule.segments) {
    if (segment.kind === 'ramp') celsius = segment.toC;
    else holds.push(`${segment.minutes} min at ${celsius}`);
  }
  return holds.length === 0 ? '' : `hold ${holds.join(', ')}`;
}
