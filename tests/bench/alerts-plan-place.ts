/** Where a firing is on its plan, as plain watchers count it: the plan waits for the kiln, or runs by the clock. */
import { goesDown, pacePerS, type Schedule, targetC } from '../../daemon/core/plan/schedule.ts';

export type Stretch = 'climb' | 'hold' | 'fall' | 'over';

export interface Place {
  /** Index of the present segment; the number of segments once the plan is over. */
  readonly index: number;
  readonly stretch: Stretch;
  readonly sinceS: number;
  /** Where the segment began. */
  readonly fromC: number;
  /** The coolest of this segment. */
  readonly lowC: number;
  /** The kiln has been within tolerance of the segment's temperature. */
  readonly hasBeenIn: boolean;
}

/** So much warmer than it was, the kiln has begun to climb; before that it is not lit yet. */
const LIT_C = 5;

export const firstPlace = (schedule: Schedule, atS: number, celsius: number): Place =>
  placeAt(schedule, 0, atS, celsius, celsius);

export function nextPlace(schedule: Schedule, place: Place, atS: number, celsius: number, toleranceC: number): Place {
  if (isOver(schedule, place, atS, celsius, toleranceC)) {
    const index = place.index + 1;
    const fromC = schedule.waits === false ? targetC(schedule, place.index) : celsius;
    return placeAt(schedule, index, atS, celsius, fromC);
  }
  const lowC = Math.min(place.lowC, celsius);
  const hasBeenIn = place.hasBeenIn || Math.abs(celsius - targetC(schedule, place.index)) <= toleranceC;
  const isUnlit = place.index === 0 && place.stretch === 'climb' && celsius < lowC + LIT_C;
  return { ...place, lowC, hasBeenIn, ...(isUnlit && { sinceS: atS, fromC: celsius }) };
}

function placeAt(schedule: Schedule, index: number, sinceS: number, lowC: number, fromC: number): Place {
  return { index, stretch: stretchAt(schedule, index), sinceS, fromC, lowC, hasBeenIn: false };
}

function stretchAt(schedule: Schedule, index: number): Stretch {
  const segment = schedule.segments[index];
  if (segment === undefined) return 'over';
  if (segment.kind === 'hold') return 'hold';
  return goesDown(schedule, index) ? 'fall' : 'climb';
}

function isOver(schedule: Schedule, place: Place, atS: number, celsius: number, toleranceC: number): boolean {
  const { index, stretch, sinceS, fromC } = place;
  const segment = schedule.segments[index];
  if (segment === undefined) return false;
  if (segment.kind === 'hold') return atS - sinceS >= segment.minutes * 60;
  const pace = pacePerS(segment);
  if (schedule.waits === false && pace !== null) return atS - sinceS >= Math.abs(segment.toC - fromC) / pace;
  return stretch === 'fall' ? celsius <= segment.toC + toleranceC : celsius >= segment.toC - toleranceC;
}
