/** What happened in a firing so far, gathered from what core said: the curve, the alerts, the acts. */
import type { ActEvent, AlertEvent, FiringEvent, GapEvent } from '../events.ts';
import type { Photo } from '../inputs.ts';
import type { Schedule } from '../plan/schedule.ts';

/** One sensor's readings, in order. A `null` temperature breaks the curve. */
export interface Trace {
  readonly atMs: number[];
  readonly celsius: (number | null)[];
}

export interface Chronicle {
  readonly startedAtMs: number;
  endedAtMs: number | null;
  endedBy: string | null;
  endedWhy: string | null;
  schedule: Schedule | null;
  readonly traces: Map<string, Trace>;
  readonly peakC: Map<string, number>;
  /** Each alert as it stands now or stood at its end, by its id. */
  readonly alerts: Map<string, AlertEvent>;
  /** All that was told of alerts, but for mere refreshes: what a record holds too. */
  readonly told: AlertEvent[];
  readonly alertCounts: Map<string, number>;
  readonly acts: ActEvent[];
  /** The list before lighting, as it was last filed. */
  list: ActEvent | null;
  readonly notes: { atMs: number; by: string; text: string; photo?: Photo | undefined }[];
  readonly gaps: GapEvent[];
  readings: number;
}

/** A pause in one sensor's readings longer than this breaks its curve, or than eight of its usual intervals. */
const BREAK_MS = 60_000;

export function newChronicle(startedAtMs: number, schedule: Schedule | null): Chronicle {
  return {
    startedAtMs,
    endedAtMs: null,
    endedBy: null,
    endedWhy: null,
    schedule,
    traces: new Map(),
    peakC: new Map(),
    alerts: new Map(),
    told: [],
    alertCounts: new Map(),
    acts: [],
    list: null,
    notes: [],
    gaps: [],
    readings: 0,
  };
}

/** Adds one event. The chronicle grows in place: a long firing is not copied at each reading. */
export function chronicle(story: Chronicle, event: FiringEvent): void {
  switch (event.type) {
    case 'reading':
      if (event.quality === 'good' && event.celsius !== null) {
        story.readings++;
        trace(story, event.sensor, event.atMs, event.celsius);
      }
      return;
    case 'alert':
      if (!story.alerts.has(event.id)) {
        story.alertCounts.set(event.alert, (story.alertCounts.get(event.alert) ?? 0) + 1);
      }
      story.alerts.set(event.id, event);
      if (event.refresh !== true) story.told.push(event);
      return;
    case 'act':
      if (event.deed === 'note') {
        const { atMs, by, what: text, photo } = event;
        story.notes.push({ atMs, by, text, ...(photo !== undefined && { photo }) });
      } else if (event.deed === 'list') story.list = event;
      else story.acts.push(event);
      return;
    case 'gap':
      story.gaps.push(event);
      return;
    case 'plan':
      story.schedule = event.schedule;
      return;
    case 'ended':
      story.endedAtMs = event.atMs;
      story.endedBy = event.by;
      story.endedWhy = event.why;
      return;
    case 'lid':
    case 'controller':
    case 'rejected':
    case 'position':
    case 'forecast':
    case 'call':
      return;
  }
}

function trace(story: Chronicle, sensor: string, atMs: number, celsius: number): void {
  const known = story.traces.get(sensor) ?? { atMs: [], celsius: [] };
  story.traces.set(sensor, known);
  const lastMs = known.atMs[known.atMs.length - 1];
  const beforeMs = known.atMs[known.atMs.length - 2];
  // A pause is not what is usual: two of them with one reading between are two breaks.
  const isAfterBreak = known.celsius[known.celsius.length - 2] === null;
  const usualMs = lastMs !== undefined && beforeMs !== undefined && !isAfterBreak ? lastMs - beforeMs : 0;
  if (lastMs !== undefined && atMs - lastMs > Math.max(BREAK_MS, 8 * usualMs)) {
    known.atMs.push(lastMs + 1);
    known.celsius.push(null);
  }
  known.atMs.push(atMs);
  known.celsius.push(celsius);
  story.peakC.set(sensor, Math.max(story.peakC.get(sensor) ?? celsius, celsius));
}
