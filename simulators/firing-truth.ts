/** What really went wrong in a simulated firing, and from when it harmed: for judging alerts, never shown to them. */
import type { AlertKind } from '../daemon/core/events.ts';
import { peakC, type Schedule } from '../daemon/core/plan/schedule.ts';

export interface FaultTruth {
  readonly class: AlertKind;
  readonly onsetMs: number;
  /** When the glass first left the tolerance, or the kiln was 15 minutes late above 500 °C; null where it never was. */
  readonly harmMs: number | null;
  readonly endsMs: number | null;
}

export interface TruthKeeper {
  begins(kind: AlertKind, atMs: number): void;
  ends(kind: AlertKind, atMs: number): void;
  /** Once a second. `lateSinceMs`: when the turn at the top was due that nobody made; `isAtValve`: somebody is there now. */
  watch(atMs: number, glassC: number, lateSinceMs: number | null, isAtValve: boolean): void;
  faults(): readonly FaultTruth[];
}

const LATE_MS = 15 * 60_000;
const LATE_ABOVE_C = 500;
/** A fall of the glass that an open door must cause before it counts as harm. From memory, of the order of thin plates. */
const SHOCK_C = 40;

interface Open {
  kind: AlertKind;
  onsetMs: number;
  onsetC: number;
  harmMs: number | null;
  endsMs: number | null;
}

export function truthKeeper(schedule: Schedule, toleranceC: number): TruthKeeper {
  const faults: Open[] = [];
  const topC = peakC(schedule);
  let glassC = 0;
  let overshoot: Open | null = null;

  const begin = (kind: AlertKind, atMs: number): Open => {
    const fault: Open = { kind, onsetMs: atMs, onsetC: glassC, harmMs: null, endsMs: null };
    faults.push(fault);
    return fault;
  };

  /** Minutes that the plan's own climb needs for what the glass climbed since the onset, against those it took. */
  function isLate(fault: Open, atMs: number): boolean {
    if (glassC < LATE_ABOVE_C) return false;
    let planMs = 0;
    let fromC = fault.onsetC;
    for (const segment of schedule.segments) {
      if (segment.kind !== 'ramp' || typeof segment.rateCPerH !== 'number' || segment.toC <= fromC) continue;
      const toC = Math.min(segment.toC, Math.max(glassC, fromC));
      planMs += ((toC - fromC) / segment.rateCPerH) * 3_600_000;
      fromC = toC;
      if (segment.toC >= topC) break;
    }
    return atMs - fault.onsetMs - planMs > LATE_MS;
  }

  function harms(fault: Open, atMs: number): boolean {
    if (fault.kind === 'overshoot') return glassC > topC + toleranceC;
    if (fault.kind === 'stalled-ramp' || fault.kind === 'heat-lost') return isLate(fault, atMs);
    if (fault.kind === 'lid-open-hot') return fault.onsetC - glassC > SHOCK_C;
    return false;
  }

  return {
    begins: begin,
    ends(kind, atMs) {
      for (const fault of faults) if (fault.kind === kind && fault.endsMs === null) fault.endsMs = atMs;
    },
    watch(atMs, celsius, lateSinceMs, isAtValve) {
      glassC = celsius;
      if (overshoot === null && lateSinceMs !== null) overshoot = begin('overshoot', lateSinceMs);
      for (const fault of faults) {
        if (fault.harmMs === null && fault.endsMs === null && harms(fault, atMs)) fault.harmMs = atMs;
      }
      // Averted where he came in time, else over when the glass is back within the tolerance.
      if (overshoot?.endsMs === null && isAtValve && celsius <= topC + toleranceC) overshoot.endsMs = atMs;
    },
    faults: () => faults.map((f) => ({ class: f.kind, onsetMs: f.onsetMs, harmMs: f.harmMs, endsMs: f.endsMs })),
  };
}
