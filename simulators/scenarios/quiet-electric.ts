/** Enamel in an electric kiln: the controller does the work, the painter closes the lid in time and opens it late. */
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { studioElectricKiln } from '../electric-kiln.ts';
import type { FiringScenario } from '../firing-scenario.ts';
import { carefulOperator } from '../operator.ts';
import { gasKilnSetup, onMonday, shelfCouple } from './workshop.ts';

/** Common practice, no source. */
const enamelSchedule: Schedule = {
  name: 'Enamel, 3 mm pieces',
  plateMm: 3,
  toleranceC: 5,
  safeOpenC: 150,
  segments: [
    {
      kind: 'ramp',
      toC: 450,
      rateCPerH: 200,
      opening: 'propped',
      acts: [{ when: 'end', do: 'close the lid', callMinutes: 3 }],
    },
    { kind: 'ramp', toC: 590, rateCPerH: 200 },
    { kind: 'hold', minutes: 10 },
    { kind: 'ramp', toC: 530, rateCPerH: 120 },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall', acts: [{ when: 'end', do: 'crack the lid', callMinutes: 5 }] },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' },
  ],
  source: 'common practice, no source',
};

export function quietElectric(seed = 61): FiringScenario {
  return {
    name: 'quiet electric firing',
    seed,
    startedAtMs: onMonday(8, 30),
    kiln: { ...gasKilnSetup('Electric kiln', ['shelf'], false), heat: 'electric', closure: 'lid', toleranceC: 5 },
    schedule: enamelSchedule,
    plant: { heat: 'electric', spec: studioElectricKiln },
    operator: carefulOperator,
    couples: [shelfCouple],
    sampleS: 10,
    lidSwitch: false,
    faults: [],
    endsAfterS: 16 * 3600,
  };
}
