/** All watches over one sensor: whether its figures may be believed, and if not, why. */

import { type Calm, calmDown, UNHEARD } from './calm.ts';
import { coldJunction } from './cold-junction.ts';
import {
  type Detector,
  type DetectorContext,
  type FaultCause,
  type HealthContext,
  type HealthSample,
  isShown,
  type SensorFault,
} from './detector.ts';
import { drift } from './drift.ts';
import { frozen } from './frozen.ts';
import { jump, leapInDoubt } from './jump.ts';
import { openCircuit } from './open-circuit.ts';
import { outOfRange } from './out-of-range.ts';
import { reversed } from './reversed.ts';
import { sentinel } from './sentinel.ts';
import { slipped } from './slipped.ts';

/** What a figure itself gives away; such figures are kept from the watches that follow its way. */
const FIGURES = { sentinel, reversed, 'out-of-range': outOfRange, 'open-circuit': openCircuit } as const;
const WAYS = { 'cold-junction': coldJunction, jump, slipped, frozen, drift } as const;
const DETECTORS = { ...FIGURES, ...WAYS } satisfies Record<FaultCause, unknown>;
/** Where several are told at once the first is the likelier cause of the others. */
const FIGURE_CAUSES: readonly (keyof typeof FIGURES)[] = ['sentinel', 'reversed', 'out-of-range', 'open-circuit'];
export type WayCause = keyof typeof WAYS;
const WAY_CAUSES: readonly WayCause[] = ['cold-junction', 'jump', 'slipped', 'frozen', 'drift'];

type States = { readonly [Cause in FaultCause]: (typeof DETECTORS)[Cause]['begin'] };

export interface SensorHealth {
  readonly states: States;
  readonly calm: Calm;
  /** The fault that is told. */
  readonly fault: SensorFault | null;
  /** What will be told if it stands a little longer: till then the same figures prove nothing else. */
  readonly doubt: SensorFault | null;
}

export interface SensorWatch {
  readonly health: SensorHealth;
  /** When it last said anything at all, a temperature or not. */
  readonly spokenAtMs: number;
  /** null where it never leapt. */
  readonly leapt: Leapt | null;
}

/** What is known of a contact that has leapt. */
export interface Leapt {
  /** Until when it was told. */
  readonly untilMs: number;
  readonly fault: SensorFault;
  /** How often it has leapt, without long rests between. */
  readonly count: number;
}

/** A contact that leaps and comes back, and does so again within this, is bad, and so all the time between. Ours. */
export const LEAPS_AGAIN_S = 900;

export const SOUND: SensorHealth = {
  states: {
    sentinel: sentinel.begin,
    reversed: reversed.begin,
    'out-of-range': outOfRange.begin,
    'open-circuit': openCircuit.begin,
    'cold-junction': coldJunction.begin,
    jump: jump.begin,
    slipped: slipped.begin,
    frozen: frozen.begin,
    drift: drift.begin,
  },
  calm: UNHEARD,
  fault: null,
  doubt: null,
};

/**
 * Carries the sensor's health on by one figure. The cause that was told first is kept as long as it lasts: what follows
 * from it is no news, and when it ends all begin anew.
 *
 * @param ways which of the watches that follow a sensor's way are asked
 */
export function judgeSensor(
  health: SensorHealth,
  sample: HealthSample,
  context: HealthContext,
  ways: readonly WayCause[] = WAY_CAUSES,
): SensorHealth {
  const calm = isShown(sample) ? calmDown(health.calm, sample) : health.calm;
  const known = withCalm(context, calm.calmC ?? sample.celsius ?? 0, calm.noiseC);
  const states = copyOf(health.states);
  const faults: SensorFault[] = [];
  const ask = (cause: FaultCause): void => {
    // The record of states and the record of detectors have the same keys, which the compiler can't follow in a loop.
    const detector = DETECTORS[cause] as Detector<unknown>;
    const judged = detector.judge(states[cause], sample, known);
    if (judged.state !== states[cause]) (states as Record<FaultCause, unknown>)[cause] = judged.state;
    if (judged.fault !== null) faults.push(judged.fault);
  };
  for (const cause of FIGURE_CAUSES) ask(cause);
  if (faults.length === 0) for (const cause of ways) ask(cause);
  else for (const cause of ways) keepTold(states[cause].fault, faults);
  const told = faults.find((f) => f.cause === health.fault?.cause);
  // What was mended begins anew: the way that the figures came back is no fault of its own.
  if (health.fault !== null && told === undefined) return SOUND;
  const fault = told ?? faults[0] ?? null;
  const doubt = fault === null ? leapInDoubt(states.jump, known) : null;
  return { states, calm, fault, doubt };
}

function withCalm(context: HealthContext, calmC: number, noiseC: number): DetectorContext {
  return {
    sensor: context.sensor,
    range: context.range,
    instrumentRange: context.instrumentRange,
    stepC: context.stepC,
    heat: context.heat,
    isElectric: context.isElectric,
    heading: context.heading,
    isOpen: context.isOpen,
    isOpenByHeat: context.isOpenByHeat,
    hasMovedLid: context.hasMovedLid,
    others: context.others,
    codesC: context.codesC,
    calmC,
    noiseC,
  };
}

/** One copy for all that change with a reading. */
function copyOf(states: States): { -readonly [Cause in FaultCause]: States[Cause] } {
  return {
    sentinel: states.sentinel,
    reversed: states.reversed,
    'out-of-range': states['out-of-range'],
    'open-circuit': states['open-circuit'],
    'cold-junction': states['cold-junction'],
    jump: states.jump,
    slipped: states.slipped,
    frozen: states.frozen,
    drift: states.drift,
  };
}

function keepTold(fault: SensorFault | null, faults: SensorFault[]): void {
  if (fault !== null) faults.push(fault);
}
