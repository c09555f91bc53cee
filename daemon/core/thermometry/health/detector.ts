/** What each watch over a sensor is handed, and what it answers. */

/** The causes of a `sensor-fault` that the outside may rely on. */
export type FaultCause =
  | 'open-circuit'
  | 'reversed'
  | 'frozen'
  | 'jump'
  | 'out-of-range'
  | 'drift'
  | 'slipped'
  | 'sentinel'
  | 'cold-junction';

/** One figure of the sensor as it was decoded, before anything was thought of it. */
export interface HealthSample {
  readonly atMs: number;
  /** null where the instrument answered and gave no temperature. */
  readonly celsius: number | null;
  /** What the instrument says of its terminals, where it does. */
  readonly coldJunctionC?: number | undefined;
}

/** Another trusted sensor of the same kiln: its last figure, and how fast it moves. */
export interface OtherSensor {
  readonly name: string;
  readonly celsius: number;
  /** Over about two minutes; null while that is not known. */
  readonly ratePerS: number | null;
  /** Its figures wander about just now, as those of free wires do. */
  readonly wanders: boolean;
}

/** What is known round the sensor at the instant of a sample. */
export interface HealthContext {
  readonly sensor: string;
  /** What the couple of this letter can give. */
  readonly range: { readonly fromC: number; readonly toC: number };
  /** Where the instrument's own figures end, if it is known: a broken wire is often shown as the upper end. */
  readonly instrumentRange?: { readonly fromC: number; readonly toC: number } | undefined;
  /** The last digit; null where it is not known, it is then learned from the figures. */
  readonly stepC: number | null;
  /** `on` where heat is meant to go in and nobody has turned it down lately; `off` where it has been off for a while. */
  readonly heat: 'on' | 'off' | 'unknown';
  /** Elements heat it, which are slow; a flame is not. */
  readonly isElectric?: boolean | undefined;
  /** Where the plan goes now. */
  readonly heading: 'up' | 'level' | 'down' | 'unknown';
  /** Lid or door is open, or was within the last minutes. */
  readonly isOpen: boolean;
  /** That is concluded from the fall of this very temperature, which may be the couple's own. */
  readonly isOpenByHeat?: boolean | undefined;
  /** It was opened or shut within the last minutes, as far as anybody knows. */
  readonly hasMovedLid: boolean;
  readonly others: readonly OtherSensor[];
  /** Figures by which this instrument says that it has none, beyond the usual ones. */
  readonly codesC: readonly number[];
}

/** With what `calm.ts` knows of the sensor's own last figures. */
export interface DetectorContext extends HealthContext {
  /** The present figure without sparks; that of the sample itself where there are no others yet. */
  readonly calmC: number;
  /** How much one figure scatters: standard deviation. */
  readonly noiseC: number;
}

export interface SensorFault {
  readonly cause: FaultCause;
  readonly sinceMs: number;
  /** For the person: what is seen, and what it may be. */
  readonly sentence: string;
  /** By how much it shows too much, or too little if negative, where that is known. */
  readonly byC?: number;
  /** What is shown meanwhile is no temperature, where the cause alone does not say so. */
  readonly isNoTemperature?: boolean;
}

export interface Judged<State> {
  readonly state: State;
  readonly fault: SensorFault | null;
}

/**
 * One kind of fault. Pure: the same samples in the same context give the same answers. A fault lasts as long as the
 * answer is one.
 */
export interface Detector<State> {
  readonly begin: State;
  judge(state: State, sample: HealthSample, context: DetectorContext): Judged<State>;
}

/** A sample that has a temperature. */
export interface Shown extends HealthSample {
  readonly celsius: number;
}

export function isShown(sample: HealthSample): sample is Shown {
  return sample.celsius !== null && Number.isFinite(sample.celsius);
}

/** The last digit, or a coarse one where nothing is known. */
export function stepOf(context: HealthContext): number {
  return context.stepC ?? 1;
}

/** A figure for a sentence: without digits that say nothing. */
export function degrees(celsius: number): string {
  return `${Math.round(celsius)} °C`;
}

/** By insertion: a few figures for each reading, for which the language's own sort is slow. */
function sortedOf(values: readonly number[]): number[] {
  const sorted = values.slice();
  for (let i = 1; i < sorted.length; i++) {
    const value = sorted[i] ?? 0;
    let at = i;
    for (; at > 0 && (sorted[at - 1] ?? 0) > value; at--) sorted[at] = sorted[at - 1] ?? 0;
    sorted[at] = value;
  }
  return sorted;
}

export function medianOf(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = sortedOf(values);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] ?? 0;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? upper) + upper) / 2;
}
