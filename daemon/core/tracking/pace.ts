/** The kiln's pace over several stretches, as the rules of one reading share it. */
import type { LineFit } from '../numbers/line-fit.ts';
import { presentRate, rateAgo, rateOver } from './heating-rate.ts';
import type { SensorTrack } from './sensor-track.ts';

export interface Pace {
  readonly present: LineFit | undefined;
  readonly over8Min: LineFit | undefined;
  /** Five minutes long, as it was ten minutes ago. */
  readonly ago10Min: LineFit | undefined;
}

export const NO_PACE: Pace = { present: undefined, over8Min: undefined, ago10Min: undefined };

/** The long stretches hardly change from one second to the next: they are worked out so often, or with each reading. Ours. */
const LONG_EACH_MS = 5000;

/** @param before the pace as it was told last, at `lastAtMs`; null before the first reading */
export function paceOf(track: SensorTrack, before: Pace, lastAtMs: number | null): Pace {
  const nowMs = track.last?.atMs ?? 0;
  const isLongDue = lastAtMs === null || Math.floor(nowMs / LONG_EACH_MS) !== Math.floor(lastAtMs / LONG_EACH_MS);
  return {
    present: presentRate(track),
    over8Min: isLongDue ? rateOver(track, 480) : before.over8Min,
    ago10Min: isLongDue ? rateAgo(track, 600, 300) : before.ago10Min,
  };
}
