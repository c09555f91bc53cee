/** What is known of one sensor lately: its readings of the last minutes, its pace, and whether it speaks at all. */
import type { TimedC } from '../numbers/line-fit.ts';
import { countOf, NO_READINGS, readingAt, type TimedList, withReading } from '../numbers/timed-list.ts';

/** The first of the readings that leapt and agree, and how many they are. */
export interface Leapt extends TimedC {
  readonly count: number;
  readonly lastMs: number;
}

export interface SensorTrack {
  readonly name: string;
  /** Good readings of the last `RECENT_S`, oldest first. */
  readonly recent: TimedList;
  readonly last: TimedC | null;
  /** A reading that leapt away and waits for others to agree with it. */
  readonly leapt: Leapt | null;
  readonly lastGoodAtMs: number | null;
  /** Usual seconds between two readings, learned as they come. */
  readonly intervalS: number | null;
  readonly peakC: number | null;
  /** So many more readings may be judged at once. */
  readonly spareCount: number;
}

/** Long enough for the slowest judgement (a climb against itself 15 minutes ago). */
const RECENT_S = 1200;
/** The front is cut in strides, so that a reading does not cost a copy of a shifted list each time. */
const STRIDE_RATIO = 1.25;

/**
 * No kiln does anything in a quarter of a second: of a couple that speaks more often so many readings a second are judged,
 * besides a few that come at once, as doubled and delayed ones do. Ours.
 */
const JUDGED_PER_S = 4;
const MOST_AT_ONCE = 16;

export function newSensorTrack(name: string): SensorTrack {
  return {
    name,
    recent: NO_READINGS,
    last: null,
    leapt: null,
    lastGoodAtMs: null,
    intervalS: null,
    peakC: null,
    spareCount: MOST_AT_ONCE,
  };
}

/** Files a good reading. `readings` is usually one; two when a leap turned out to be true. */
export function fileReading(track: SensorTrack, reading: TimedC): SensorTrack {
  const recent = appendRecent(track.recent, reading);
  const intervalS = usualIntervalS(recent) ?? track.intervalS;
  return heardOf(track, reading, { recent, intervalS, spareCount: Math.max(spareAt(track, reading.atMs) - 1, 0) });
}

/** A good reading of which only this is remembered: that it came, and how hot it was. */
export function noteReading(track: SensorTrack, reading: TimedC): SensorTrack {
  const { recent, intervalS } = track;
  return heardOf(track, reading, { recent, intervalS, spareCount: spareAt(track, reading.atMs) });
}

function heardOf(
  { name, peakC }: SensorTrack,
  reading: TimedC,
  { recent, intervalS, spareCount }: Pick<SensorTrack, 'recent' | 'intervalS' | 'spareCount'>,
): SensorTrack {
  return {
    name,
    recent,
    last: reading,
    leapt: null,
    lastGoodAtMs: reading.atMs,
    intervalS,
    peakC: Math.max(peakC ?? reading.celsius, reading.celsius),
    spareCount,
  };
}

/** The couple speaks faster than is judged: this reading is recorded and shown, and noted only. */
export function isOneOfMany(track: SensorTrack, atMs: number): boolean {
  return track.last !== null && atMs >= track.last.atMs && spareAt(track, atMs) < 1;
}

function spareAt({ last, spareCount }: SensorTrack, atMs: number): number {
  if (last === null) return spareCount;
  return Math.min(spareCount + (JUDGED_PER_S * (atMs - last.atMs)) / 1000, MOST_AT_ONCE);
}

function appendRecent(recent: TimedList, reading: TimedC): TimedList {
  const { atMs } = reading;
  return withReading(recent, reading, atMs - RECENT_S * 1000, atMs - RECENT_S * 1000 * STRIDE_RATIO);
}

/** The middle one of the last intervals: one reading late, lost or doubled teaches nothing, and a pause never does. */
const INTERVALS = 7;
/** A sensor that speaks each ten minutes is slow; what is longer is a pause. Ours. */
const PAUSE_S = 900;

function usualIntervalS(recent: TimedList): number | null {
  const intervals: number[] = [];
  let laterMs = readingAt(recent, countOf(recent) - 1)?.atMs ?? 0;
  for (let i = countOf(recent) - 2; i >= 0 && intervals.length < INTERVALS; i--) {
    const atMs = readingAt(recent, i)?.atMs ?? 0;
    const sinceS = (laterMs - atMs) / 1000;
    laterMs = atMs;
    if (sinceS > 0 && sinceS <= PAUSE_S) intervals.push(sinceS);
  }
  return middleOf(intervals);
}

/** The lower middle one; by counting those below, since the language's own sort is slow for so few. */
function middleOf(values: readonly number[]): number | null {
  const place = (values.length - 1) >> 1;
  for (const value of values) {
    let below = 0;
    let same = 0;
    for (const other of values) {
      if (other < value) below++;
      else if (other === value) same++;
    }
    if (below <= place && place < below + same) return value;
  }
  return null;
}
