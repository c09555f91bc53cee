/** At 600 °C on the way up the line from the instrument goes silent for four minutes; the firing goes on. */
import type { FiringScenario } from '../firing-scenario.ts';
import { quietGas } from './quiet-gas.ts';

export function silentLine(options: { forS?: number; seed?: number } = {}): FiringScenario {
  return {
    ...quietGas(options.seed ?? 51),
    name: 'silent line',
    faults: [{ kind: 'silence', when: { climbingC: 600 }, forS: options.forS ?? 240 }],
  };
}
