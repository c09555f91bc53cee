/** The plan by the clock: how long each segment is, and where each lies when it is kept to the minute. */
import { perSecond } from '../numbers/units.ts';
import { type Schedule, type Segment, targetC } from './schedule.ts';

/** A segment of a plan that is kept to the minute; seconds since the plan began. */
export interface PlannedSegment {
  readonly index: number;
  readonly segment: Segment;
  readonly fromC: number;
  readonly toC: number;
  readonly fromS: number;
  /** Infinity where it has no planned pace. */
  readonly lengthS: number;
}

/** Planned seconds of a ramp from `startC`; Infinity where it has no planned pace. */
export function rampS(segment: Extract<Segment, { kind: 'ramp' }>, startC: number): number {
  if (typeof segment.rateCPerH !== 'number') return Number.POSITIVE_INFINITY;
  return Math.abs(segment.toC - startC) / perSecond(segment.rateCPerH);
}

/** It is asked with each reading, of one plan and from one beginning throughout a firing. */
const KNOWN = new WeakMap<Schedule, { readonly startC: number; readonly planned: readonly PlannedSegment[] }>();

/** Segment after segment, from where the kiln began. */
export function programme(schedule: Schedule, startC: number): readonly PlannedSegment[] {
  let known = KNOWN.get(schedule);
  if (known?.startC !== startC) {
    known = { startC, planned: layOut(schedule, startC) };
    KNOWN.set(schedule, known);
  }
  return known.planned;
}

function layOut(schedule: Schedule, startC: number): readonly PlannedSegment[] {
  let fromC = startC;
  let fromS = 0;
  return schedule.segments.map((segment, index) => {
    const toC = targetC(schedule, index);
    const lengthS = segment.kind === 'hold' ? segment.minutes * 60 : rampS(segment, fromC);
    const planned = { index, segment, fromC, toC, fromS, lengthS };
    fromC = toC;
    fromS += lengthS;
    return planned;
  });
}
