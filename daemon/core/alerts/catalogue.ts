/** All rules, in the order in which they explain things: the first cause first, for no rule explains one before it. */
import { clockTrouble } from './clock-trouble.ts';
import { coolingTooFast } from './cooling-too-fast.ts';
import { heatLost } from './heat-lost.ts';
import { heatingTooFast } from './heating-too-fast.ts';
import { holdLong } from './hold-long.ts';
import { holdShort } from './hold-short.ts';
import { lidOpenHot } from './lid-open-hot.ts';
import { overshoot } from './overshoot.ts';
import { recordTrouble } from './record-trouble.ts';
import type { Rule } from './rule.ts';
import { runningLate } from './running-late.ts';
import { sensorFault } from './sensor-fault.ts';
import { sensorsDisagree } from './sensors-disagree.ts';
import { silence } from './silence.ts';
import { stalledRamp } from './stalled-ramp.ts';
import { uncontrolledHeat } from './uncontrolled-heat.ts';

export const CATALOGUE: readonly Rule[] = [
  clockTrouble,
  silence,
  sensorFault,
  sensorsDisagree,
  lidOpenHot,
  heatLost,
  uncontrolledHeat,
  overshoot,
  heatingTooFast,
  coolingTooFast,
  holdShort,
  holdLong,
  stalledRamp,
  runningLate,
  recordTrouble,
];
