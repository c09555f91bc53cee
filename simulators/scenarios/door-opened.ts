/** Walk E: 6 mm glass is cooling; somebody opens the door at 310 °C for 40 s. With a switch at the door and without. */
import type { FiringScenario } from '../firing-scenario.ts';
import { studioGasKiln } from '../gas-kiln.ts';
import { carefulOperator } from '../operator.ts';
import { mattSchedule } from './matt-schedule.ts';
import { gasKilnSetup, onMonday, shelfCouple } from './workshop.ts';

export function doorOpened(options: { lidSwitch: boolean; seed?: number }): FiringScenario {
  return {
    name: options.lidSwitch ? 'door opened, switch at the door' : 'door opened, no switch',
    seed: options.seed ?? 41,
    startedAtMs: onMonday(9, 0),
    kiln: { ...gasKilnSetup('Kiln 4', ['shelf'], options.lidSwitch), plateMm: 6 },
    schedule: { ...mattSchedule(), name: 'Matt, 6 mm pieces', plateMm: 6 },
    plant: {
      heat: 'gas',
      spec: { ...studioGasKiln, chamber: { ...studioGasKiln.chamber, plateMm: 6 } },
    },
    operator: carefulOperator,
    couples: [{ ...shelfCouple, lagS: 20 }],
    sampleS: 5,
    lidSwitch: options.lidSwitch,
    faults: [{ kind: 'door-opened', when: { fallingC: 310 }, openRatio: 0.6, forS: 40 }],
    endsAfterS: 14 * 3600,
  };
}
