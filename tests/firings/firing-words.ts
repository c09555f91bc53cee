/** A firing's alerts in few words, for the tests of whole firings. */
import type { AlertEvent } from '../../daemon/core/events.ts';
import { type FiredScenario, type FiringScenario, fireScenario } from '../../simulators/firing-scenario.ts';
import { type Ran, type RunOptions, runScenario } from '../support/run-core.ts';

export interface Told {
  readonly ran: Ran;
  /** "overshoot foreseen", in order. */
  readonly stages: readonly string[];
  readonly alert: (kind: AlertEvent['alert'], phase?: AlertEvent['phase']) => AlertEvent | undefined;
  /** What really happened, by the simulator's own book. */
  readonly truth: FiredScenario;
}

export function fired(scenario: FiringScenario, options: RunOptions = {}): Told {
  const ran = runScenario(scenario, options);
  let truth: FiredScenario | undefined;
  return {
    ran,
    get truth() {
      truth ??= fireScenario(scenario);
      return truth;
    },
    stages: ran.alerts.map((a) => `${a.alert} ${a.phase}`),
    alert: (kind, phase) => ran.alerts.find((a) => a.alert === kind && (phase === undefined || a.phase === phase)),
  };
}

export function minutesBetween(fromMs: number | undefined, toMs: number | undefined): number {
  return ((toMs ?? Number.NaN) - (fromMs ?? Number.NaN)) / 60_000;
}

/** 12 May 2025, the day of the scenarios. */
export function onTheDay(hour: number, minute: number): number {
  return Date.UTC(2025, 4, 12, hour, minute);
}
