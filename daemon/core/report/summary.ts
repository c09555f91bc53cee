/** A firing in figures. */
import type { Schedule } from '../plan/schedule.ts';
import type { FiringState } from '../state.ts';

export interface HoldSummary {
  readonly segment: number;
  readonly plannedMinutes: number;
  readonly inBandMinutes: number;
}

/** A hold with what the plan's own clock counted, beside the minutes that the kiln was in band. */
export interface HoldFigure extends HoldSummary {
  /** Absent in records that did not keep it. */
  readonly clockMinutes?: number | undefined;
}

export interface Summary {
  readonly peakC: Readonly<Record<string, number>>;
  readonly holds: readonly HoldSummary[];
  readonly alerts: Readonly<Record<string, number>>;
  readonly readings: number;
  readonly rejected: number;
}

export function summarise(state: FiringState): Summary {
  const peaks = Object.values(state.sensors).flatMap((s) => (s.peakC === null ? [] : [[s.name, s.peakC] as const]));
  return {
    peakC: Object.fromEntries(peaks),
    holds: state.schedule === null ? [] : holdsOf(state.schedule, state),
    alerts: state.alertCounts,
    readings: state.readingCount,
    rejected: state.rejectedCount,
  };
}

export function holdFigures(state: FiringState): HoldFigure[] {
  return summarise(state).holds.map((hold) => ({
    ...hold,
    clockMinutes: Math.round((state.track?.holds[hold.segment]?.doneS ?? 0) / 6) / 10,
  }));
}

function holdsOf(schedule: Schedule, state: FiringState): HoldSummary[] {
  return schedule.segments.flatMap((segment, i) => {
    if (segment.kind !== 'hold') return [];
    const inBandS = state.track?.holds[i]?.inBandS ?? 0;
    return [{ segment: i, plannedMinutes: segment.minutes, inBandMinutes: Math.round(inBandS / 6) / 10 }];
  });
}
