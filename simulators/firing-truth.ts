/** What really went wrong in a simulated firing, and from when it harmed: for judging alerts, never shown to them. */
import type { AlertKind } from '../daemon/core/events.ts';
import type { Schedule } from '../daemon/core/plan/schedule.ts';
import { type Harm, harmWatch, isTooLate } from './harm.ts';

export interface FaultTruth {
  readonly class: AlertKind;
  readonly onsetMs: number;
  /** When the glass first left its tolerance because of it; null where it never did. */
  readonly harmMs: number | null;
  /** null while it lasts. */
  readonly endsMs: number | null;
}

export interface TruthKeeper {
  /** Gives the number of the fault, by which it is ended. */
  begins(kind: AlertKind, atMs: number): number;
  ends(fault: number, atMs: number): void;
  /** Once a second, with the temperature of the glass. */
  watch(atMs: number, glassC: number): void;
  faults(): readonly FaultTruth[];
}

/**
 * By what each kind of fault harms the glass. A wrong or missing reading harms by what the hand or the controller then
 * does; a record that is lost harms no glass.
 */
const HARMS: Readonly<Record<AlertKind, readonly Harm[]>> = {
  overshoot: ['too-hot'],
  'stalled-ramp': ['too-late'],
  'running-late': ['too-late'],
  'heating-too-fast': ['heated-too-fast', 'too-hot'],
  'cooling-too-fast': ['cooled-too-fast', 'chilled'],
  'lid-open-hot': ['chilled', 'cooled-too-fast', 'hold-too-short', 'too-late'],
  'heat-lost': ['too-late', 'hold-too-short', 'cooled-too-fast'],
  'uncontrolled-heat': ['too-hot', 'hold-too-long', 'heated-too-fast'],
  'hold-short': ['hold-too-short'],
  'hold-long': ['hold-too-long', 'too-hot'],
  'sensor-fault': ['too-hot', 'too-late', 'hold-too-short', 'hold-too-long'],
  'sensors-disagree': ['too-hot', 'too-late', 'hold-too-short', 'hold-too-long'],
  silence: ['too-hot', 'too-late', 'hold-too-short', 'hold-too-long'],
  'clock-trouble': ['too-hot', 'too-late'],
  'record-trouble': [],
};

/** A fault goes on harming for a while after it is mended: heat that is in the brick. */
const AFTERMATH_MS = 20 * 60_000;

interface Open {
  readonly kind: AlertKind;
  readonly onsetMs: number;
  readonly onsetC: number;
  harmMs: number | null;
  endsMs: number | null;
}

export function truthKeeper(schedule: Schedule, toleranceC: number): TruthKeeper {
  const faults: Open[] = [];
  const glass = harmWatch(schedule, toleranceC);
  let glassC = 0;

  function harms(fault: Open, now: ReadonlySet<Harm>, atMs: number): boolean {
    if (fault.harmMs !== null) return false;
    if (fault.endsMs !== null && atMs > fault.endsMs + AFTERMATH_MS) return false;
    return HARMS[fault.kind].some((harm) =>
      harm === 'too-late' ? isTooLate(glass.minutesLate(fault.onsetMs, fault.onsetC, atMs)) : now.has(harm),
    );
  }

  return {
    begins(kind, atMs) {
      faults.push({ kind, onsetMs: atMs, onsetC: glassC, harmMs: null, endsMs: null });
      return faults.length - 1;
    },
    ends(index, atMs) {
      const fault = faults[index];
      if (fault !== undefined && fault.endsMs === null) fault.endsMs = atMs;
    },
    watch(atMs, celsius) {
      glassC = celsius;
      const now = glass.watch(celsius);
      for (const fault of faults) if (harms(fault, now, atMs)) fault.harmMs = atMs;
    },
    faults: () => faults.map(({ kind, onsetMs, harmMs, endsMs }) => ({ class: kind, onsetMs, harmMs, endsMs })),
  };
}
