/** The firing of the demonstration, `scenarios/demonstration.yaml`, for the daemon to watch. */
import type { AlertKind, Phase } from '../daemon/core/events.ts';
import type { KilnSetup } from '../daemon/core/plan/kiln.ts';
import type { Schedule } from '../daemon/core/plan/schedule.ts';
import { type DeviceSource, sourceOf } from './device.ts';
import { type FiringScenario, liveFiring } from './firing-scenario.ts';
import { readScenario } from './scenario-file.ts';

/** Whatever the clock's speed, the same instants and the same calls give the same readings. */
export interface DemoFiring extends DeviceSource {
  readonly schedule: Schedule;
  readonly kiln: KilnSetup;
  /** The painter hears an alert, at the instant that the firing has reached. */
  told(alert: AlertKind, phase: Phase): void;
}

export function demoScenario(seed: number, startedAtMs: number): FiringScenario {
  return { ...readScenario('demonstration'), seed, startedAtMs };
}

export function demoFiring(seed: number, startedAtMs: number): DemoFiring {
  const scenario = demoScenario(seed, startedAtMs);
  const firing = liveFiring(scenario);
  return { ...sourceOf(firing), schedule: scenario.schedule, kiln: scenario.kiln, told: firing.told };
}
