/** What the look ahead remembers of one firing. */
import type { LineFit, TimedC } from '../numbers/line-fit.ts';
import type { Schedule } from '../plan/schedule.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { type Lines, NO_LINES } from './lines.ts';
import { JUDGED } from './looks.ts';
import { type Judged, NOT_JUDGED } from './promises.ts';
import type { Prospect } from './prospect.ts';

export interface Foresight {
  readonly lines: Lines;
  readonly readingCount: number;
  /** What each opinion weighs at each judged look before it has proved anything, by the readings' spacing. */
  readonly firstWeights: readonly (readonly number[])[];
  /** How far single readings are off. */
  readonly noiseC: number;
  /** The highest and lowest of late, for each judged look; what is long past fades. */
  readonly highsC: readonly number[];
  readonly lowsC: readonly number[];
  /** The fastest climb so far, and the time in which it falls by itself; null until it was seen to fall. */
  readonly climbPerS: number;
  readonly fallS: number | null;
  /** What the plan wanted, as it then was. */
  readonly planned: readonly TimedC[];
  readonly judged: readonly Judged[];
  readonly prospect: Prospect | null;
}

export const NO_FORESIGHT: Foresight = {
  lines: NO_LINES,
  readingCount: 0,
  firstWeights: [],
  noiseC: 0,
  highsC: [],
  lowsC: [],
  climbPerS: 0,
  fallS: null,
  planned: [],
  judged: JUDGED.map(() => NOT_JUDGED),
  prospect: null,
};

export interface Known {
  readonly schedule: Schedule | null;
  readonly track: PlanTrack | null;
  /** Usual seconds between readings; null before the second one. */
  readonly intervalS: number | null;
  /** The reading leapt away from those before it, and was confirmed. */
  readonly isLeap: boolean;
  /** The present pace, where it can be told. */
  readonly rate: LineFit | undefined;
}
