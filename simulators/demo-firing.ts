/**
 * The firing of the demonstration: a little gas kiln, trace and matt on test pieces. The painter has gone from the
 * valve and comes when called, or a quarter of an hour late; in the cooling somebody opens the door too hot.
 */
import type { AlertKind, Phase } from '../daemon/core/events.ts';
import type { KilnSetup } from '../daemon/core/plan/kiln.ts';
import type { Schedule } from '../daemon/core/plan/schedule.ts';
import { type DeviceSource, sourceOf } from './device.ts';
import { type FiringScenario, liveFiring } from './firing-scenario.ts';
import { littleGasKiln } from './gas-kiln.ts';
import { carefulOperator } from './operator.ts';
import { gasKilnSetup, shelfCouple, topCouple } from './scenarios/workshop.ts';

/** Figures: common practice, no source; quick, since thin test pieces bear it. */
const demoSchedule: Schedule = {
  name: 'Trace and matt, test pieces',
  plateMm: 3,
  toleranceC: 6,
  safeOpenC: 150,
  segments: [
    {
      kind: 'ramp',
      toC: 450,
      rateCPerH: 330,
      opening: 'propped',
      acts: [{ when: 'end', do: 'close the door', callMinutes: 3 }],
    },
    { kind: 'ramp', toC: 560, rateCPerH: 240 },
    {
      kind: 'ramp',
      toC: 655,
      rateCPerH: 150,
      acts: [{ when: { atC: 645 }, do: 'turn the gas down', callMinutes: 5 }],
    },
    { kind: 'hold', minutes: 12, acts: [{ when: 'end', do: 'gas off, damper after', callMinutes: 3 }] },
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall', acts: [{ when: 'end', do: 'crack the door', callMinutes: 5 }] },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' },
  ],
  source: 'common practice, no source',
  notes: 'Invented for the demonstration.',
};

const sensors = ['shelf', 'top'] as const;

/** Whatever the clock's speed, the same instants and the same calls give the same readings. */
export interface DemoFiring extends DeviceSource {
  readonly schedule: Schedule;
  readonly kiln: KilnSetup;
  /** The painter hears an alert, at the instant that the firing has reached. */
  told(alert: AlertKind, phase: Phase): void;
}

export function demoScenario(seed: number, startedAtMs: number): FiringScenario {
  return {
    name: 'demonstration',
    seed,
    startedAtMs,
    kiln: gasKilnSetup('Workshop kiln', sensors, true),
    schedule: demoSchedule,
    plant: { heat: 'gas', spec: littleGasKiln },
    operator: {
      ...carefulOperator,
      looksEveryS: 260,
      overcorrectRatio: 2.4,
      markStep: 0.5,
      climbPerMarkCPerH: 75,
      holdMark: 7.5,
      turnsDownBeforeC: 7,
      walkS: 75,
      crackRatio: 0.08,
      late: { goesBeforeC: 30, minutes: 14, opensBy: 0.5 },
    },
    couples: [
      { ...shelfCouple, lagS: 45 },
      { ...topCouple, missedRatio: 0 },
    ],
    sampleS: 5,
    lidSwitch: true,
    faults: [{ kind: 'door-opened', when: { fallingC: 300 }, openRatio: 0.6, forS: 60 }],
    endsAfterS: 14 * 3600,
    coolsForS: 5 * 3600,
  };
}

export function demoFiring(seed: number, startedAtMs: number): DemoFiring {
  const scenario = demoScenario(seed, startedAtMs);
  const firing = liveFiring(scenario);
  return { ...sourceOf(firing), schedule: scenario.schedule, kiln: scenario.kiln, told: firing.told };
}
