/** How far from the plan is still on the plan. What the schedule says comes before what the kiln says. */
import type { KilnSetup } from '../plan/kiln.ts';
import type { Schedule } from '../plan/schedule.ts';

/** Ten degrees too much spoil a colour (the trade's own word): so a little less. Common practice, no source. */
const USUAL_C = 8;

export function toleranceOf(kiln: KilnSetup, schedule: Schedule | null): number {
  return schedule?.toleranceC ?? kiln.toleranceC ?? USUAL_C;
}
