/** The kiln's pace over several stretches, worked out once for each reading of the ruling sensor. */
import type { LineFit } from '../numbers/line-fit.ts';
import { presentRate, rateAgo, rateOver } from './heating-rate.ts';
import type { SensorTrack } from './sensor-track.ts';

export interface Pace {
  readonly present: LineFit | undefined;
  readonly over8Min: LineFit | undefined;
  /** Five minutes long, as it was ten minutes ago. */
  readonly ago10Min: LineFit | undefined;
}

export function paceOf(track: SensorTrack): Pace {
  return {
    present: presentRate(track),
    over8Min: rateOver(track, 480),
    ago10Min: rateAgo(track, 600, 300),
  };
}
