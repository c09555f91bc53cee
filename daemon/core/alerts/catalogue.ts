/** All rules, in the order in which they explain things: the first cause first, for no rule explains one before it. */
import { lidOpenHot } from './lid-open-hot.ts';
import { overshoot } from './overshoot.ts';
import { recordTrouble } from './record-trouble.ts';
import type { Rule } from './rule.ts';
import { silence } from './silence.ts';
import { stalledRamp } from './stalled-ramp.ts';

export const CATALOGUE: readonly Rule[] = [silence, lidOpenHot, overshoot, stalledRamp, recordTrouble];
