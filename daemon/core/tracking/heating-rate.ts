/** How fast the kiln heats or cools, over a stretch long enough for its readings. */
import { fitLineOf, type LineFit } from '../numbers/line-fit.ts';
import { fitRobustLine } from '../numbers/robust-line.ts';
import { countUntil, readingAt } from '../numbers/timed-list.ts';
import { clamp } from '../numbers/units.ts';
import type { SensorTrack } from './sensor-track.ts';

/** Two minutes, or so many readings where they are sparse; never less than three of them. */
const WINDOW_S = 120;
const SPARSE_READINGS = 8;
const LONGEST_S = 480;
const LEAST_READINGS = 3.5;

/** The present pace: over two minutes, longer where readings are sparse; a single wild reading is left out. */
export function presentRate(track: SensorTrack): LineFit | undefined {
  const intervalS = track.intervalS ?? 1;
  const windowS = Math.max(clamp(intervalS * SPARSE_READINGS, WINDOW_S, LONGEST_S), intervalS * LEAST_READINGS);
  return fitRobustLine(track.recent, windowS);
}

/** The pace over the last `windowS`, or undefined while that stretch is not filled to four fifths. */
export function rateOver(track: SensorTrack, windowS: number): LineFit | undefined {
  const first = readingAt(track.recent, 0);
  const last = track.last;
  if (first === undefined || last === null || last.atMs - first.atMs < windowS * 800) return undefined;
  return fitLineOf(track.recent, windowS);
}

/** The pace over `windowS` as it was `agoS` before the last reading. */
export function rateAgo(track: SensorTrack, agoS: number, windowS: number): LineFit | undefined {
  const last = track.last;
  const first = readingAt(track.recent, 0);
  if (last === null || first === undefined) return undefined;
  const endMs = last.atMs - agoS * 1000;
  if (endMs - first.atMs < windowS * 800) return undefined;
  return fitLineOf(track.recent, windowS, countUntil(track.recent, endMs));
}
