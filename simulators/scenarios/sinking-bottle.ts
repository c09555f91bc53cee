/**
 * Walk D, its first half: at 480 °C the bottle frosts; the climb sinks from 150 to 55 °C/h over 20 minutes while nobody
 * touches the valve. `toldAfterS`: seconds from then until the painter is told and changes the bottle.
 */
import type { FiringScenario } from '../firing-scenario.ts';
import { studioGasKiln } from '../gas-kiln.ts';
import { carefulOperator } from '../operator.ts';
import { mattSchedule } from './matt-schedule.ts';
import { gasKilnSetup, onMonday, shelfCouple } from './workshop.ts';

export function sinkingBottle(options: { toldAfterS?: number; seed?: number } = {}): FiringScenario {
  const plan = mattSchedule();
  return {
    name: 'sinking bottle',
    seed: options.seed ?? 31,
    startedAtMs: onMonday(10, 0),
    kiln: gasKilnSetup('Gas kiln', ['shelf'], false),
    // 150 °C/h from 380 to 560, so that the climb has settled before the bottle fails.
    schedule: {
      ...plan,
      segments: plan.segments.map((s, i) => {
        if (i === 0 && s.kind === 'ramp') return { ...s, toC: 380 };
        return i === 1 && s.kind === 'ramp' ? { ...s, rateCPerH: 150 } : s;
      }),
    },
    plant: { heat: 'gas', spec: studioGasKiln },
    operator: { ...carefulOperator, overcorrectRatio: 1, leaves: { atC: 466, opensBy: 0.5 } },
    couples: [shelfCouple],
    sampleS: 5,
    lidSwitch: false,
    faults: [
      { kind: 'bottle-sinks', when: { climbingC: 480 }, overS: 1200, toRatio: 0.75 },
      ...(options.toldAfterS === undefined
        ? []
        : [
            {
              kind: 'called',
              when: { afterPreviousS: options.toldAfterS },
              alert: 'stalled-ramp',
              phase: 'happening',
            } as const,
          ]),
    ],
    endsAfterS: 12 * 3600,
  };
}
