/**
 * Walk B: 660 ± 6, climbing 2 °C a minute to the top. The painter is called at 13:52, sees 648 foreseen to run over at
 * 13:58, is at the valve at 14:00: the peak is 664. In the twin nobody comes: past 672.
 */
import type { FiringScenario } from '../firing-scenario.ts';
import { studioGasKiln } from '../gas-kiln.ts';
import { carefulOperator } from '../operator.ts';
import { mattSchedule } from './matt-schedule.ts';
import { gasKilnSetup, onMonday, shelfCouple } from './workshop.ts';

export function lateHand(options: { comes: boolean; seed?: number } = { comes: true }): FiringScenario {
  return {
    name: options.comes ? 'late hand' : 'nobody comes',
    seed: options.seed ?? 3,
    startedAtMs: onMonday(10, 44),
    kiln: gasKilnSetup('Gas kiln', ['shelf'], false),
    schedule: mattSchedule({ callAtC: 648 }),
    plant: { heat: 'gas', spec: studioGasKiln },
    operator: {
      ...carefulOperator,
      // He trusts a mark that is a little too much, and looks at the hold only every two minutes.
      holdMark: 8.25,
      standsEveryS: 120,
      turnsDownBeforeC: 12,
      late: { goesBeforeC: 22, minutes: options.comes ? 2 : 25, opensBy: 0.75 },
    },
    couples: [shelfCouple],
    sampleS: 5,
    lidSwitch: false,
    faults: [],
    endsAfterS: 14 * 3600,
  };
}
