/**
 * Walk D, its second half: at 612 °C on the way up the wind blows the flame out while nobody looks. Told two minutes
 * later, the painter shuts the gas, airs the kiln, and lights it again about ten minutes after it went out.
 */
import type { FiringScenario } from '../firing-scenario.ts';
import { heavyGasKiln } from '../gas-kiln.ts';
import { carefulOperator } from '../operator.ts';
import { quietGas } from './quiet-gas.ts';

export function flameOut(options: { toldAfterS?: number; seed?: number } = {}): FiringScenario {
  return {
    ...quietGas(options.seed ?? 71),
    name: 'flame out',
    plant: { heat: 'gas', spec: heavyGasKiln },
    operator: { ...carefulOperator, leaves: { atC: 605, opensBy: 0 } },
    faults: [
      { kind: 'blown-out', when: { climbingC: 612 } },
      { kind: 'called', when: { afterPreviousS: options.toldAfterS ?? 120 }, alert: 'heat-lost', phase: 'happening' },
    ],
  };
}
