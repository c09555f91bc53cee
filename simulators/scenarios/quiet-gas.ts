/** A gas firing by a painter who knows the kiln and is there in time: nothing goes wrong. */
import type { FiringScenario } from '../firing-scenario.ts';
import { studioGasKiln } from '../gas-kiln.ts';
import { carefulOperator } from '../operator.ts';
import { mattSchedule } from './matt-schedule.ts';
import { gasKilnSetup, onMonday, shelfCouple, topCouple } from './workshop.ts';

export function quietGas(seed = 11): FiringScenario {
  return {
    name: 'quiet gas firing',
    seed,
    startedAtMs: onMonday(9, 0),
    kiln: gasKilnSetup('Gas kiln', ['shelf', 'top'], false),
    schedule: mattSchedule(),
    plant: { heat: 'gas', spec: studioGasKiln },
    operator: carefulOperator,
    couples: [shelfCouple, topCouple],
    sampleS: 10,
    lidSwitch: false,
    faults: [],
    endsAfterS: 14 * 3600,
  };
}
