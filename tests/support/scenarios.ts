/** The scenarios that come along, with the few changes that tests make to them. */
import type { FiringScenario, Happening } from '../../simulators/firing-scenario.ts';
import { readScenario } from '../../simulators/scenario-file.ts';

/** @param seed another than the file's own */
export function shipped(name: string, seed?: number): FiringScenario {
  const scenario = readScenario(name);
  return seed === undefined ? scenario : { ...scenario, seed };
}

export const quietGas = (seed?: number): FiringScenario => shipped('quiet-gas', seed);
export const quietElectric = (seed?: number): FiringScenario => shipped('quiet-electric', seed);
export const flameOut = (seed?: number): FiringScenario => shipped('flame-out', seed);

export function lateHand(options: { comes: boolean; seed?: number } = { comes: true }): FiringScenario {
  return shipped(options.comes ? 'late-hand' : 'nobody-comes', options.seed);
}

/** @param options.toldAfterS seconds from the frost until somebody calls the painter */
export function sinkingBottle(options: { toldAfterS?: number; seed?: number } = {}): FiringScenario {
  const scenario = shipped('sinking-bottle', options.seed);
  if (options.toldAfterS === undefined) return scenario;
  const called: Happening = { called: 'stalled-ramp', when: { afterPreviousS: options.toldAfterS } };
  return { ...scenario, happenings: [...scenario.happenings, called] };
}

export function doorOpened(options: { lidSwitch: boolean; seed?: number }): FiringScenario {
  return shipped(options.lidSwitch ? 'door-opened' : 'door-opened-no-switch', options.seed);
}

export function silentLine(options: { forS?: number; seed?: number } = {}): FiringScenario {
  const scenario = shipped('silent-line', options.seed);
  if (options.forS === undefined) return scenario;
  const { forS } = options;
  return { ...scenario, happenings: scenario.happenings.map((h) => ('effects' in h ? { ...h, forS } : h)) };
}
