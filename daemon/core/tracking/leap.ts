/** Tells a reading that leapt further than a kiln can move from one to believe. */
import { clamp, secondsBetween } from '../numbers/units.ts';
import type { SensorTrack } from './sensor-track.ts';

/**
 * The largest step between two readings that is believed at once, and the pace that is added for the time between them.
 * A bare couple over a relit burner rises a few °C/s; a door thrown open takes more off at once.
 * Common practice, no source; the fall of 22 °C in half a second seen in a small oven (tests/data) is believed with its second reading.
 */
const RISE_C = 12;
const FALL_C = 25;
const PACE_C_PER_S = 3;
/** Two leapt readings agree within this. */
const AGREE_C = 15;
/** One that follows sooner than this share of the usual time is the same one, brought twice by a network. Ours. */
const TWICE_RATIO = 0.1;

export type Leap = 'no' | 'wait' | 'confirmed';

/** `wait`: the reading stands alone until a second one agrees with it; `confirmed`: it is that second one. */
export function judgeLeap(track: SensorTrack, atMs: number, celsius: number): Leap {
  const { last, leapt, intervalS } = track;
  if (last === null) return 'no';
  const allowedS = clamp(secondsBetween(last.atMs, atMs), 0, 120);
  const stepC = celsius - last.celsius;
  const limitC = (stepC > 0 ? RISE_C : FALL_C) + PACE_C_PER_S * allowedS;
  if (Math.abs(stepC) <= limitC) return 'no';
  if (leapt === null || secondsBetween(leapt.atMs, atMs) < TWICE_RATIO * (intervalS ?? 0)) return 'wait';
  return Math.abs(celsius - leapt.celsius) <= AGREE_C ? 'confirmed' : 'wait';
}
