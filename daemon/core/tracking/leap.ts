/** Tells a reading that leapt further than a kiln can move from one to believe. */
import type { TimedC } from '../numbers/line-fit.ts';
import { countOf } from '../numbers/timed-list.ts';
import { clamp, secondsBetween } from '../numbers/units.ts';
import type { Leapt, SensorTrack } from './sensor-track.ts';

/**
 * The largest step between two readings that is believed at once, and the pace that is added for the time between them.
 * A bare couple over a relit burner rises a few °C/s; a door thrown open takes more off at once.
 * Common practice, no source; the fall of 22 °C in half a second seen in a small oven (tests/data) is believed with its second reading.
 */
const RISE_C = 12;
const FALL_C = 25;
const PACE_C_PER_S = 3;
/**
 * A door takes a kiln's heat away in a moment, and what it does is told with the second reading. Nothing brings heat so
 * fast, and two spoilt lines in a row that agree are no rarity on a bad wire: a rise waits for the third. Ours.
 */
const RISE_COUNT = 3;
const FALL_COUNT = 2;
/** Two leapt readings agree within this, and the pace between them. */
const AGREE_C = 15;
const AGREE_C_PER_S = 1.5;
/** One that follows sooner than this share of the usual time is the same one, brought twice by a network. Ours. */
const TWICE_RATIO = 0.1;
/**
 * Further than this no kiln goes at once, with its door thrown open or its burner lit: it is the sensor, and who watches
 * over it has this long to say so before such figures are believed. Ours, tried on simulated kilns.
 */
const NEVER_C = 80;
const NEVER_C_PER_S = 4;
const NEVER_WAITS_S = 45;

export type Leap = 'no' | 'wait' | 'confirmed';

/** `wait`: the reading stands alone until others agree with it; `confirmed`: it is one of those. */
export function judgeLeap(track: SensorTrack, atMs: number, celsius: number): Leap {
  const { last, leapt, intervalS } = track;
  if (last === null) return 'no';
  const sinceS = secondsBetween(last.atMs, atMs);
  const allowedS = clamp(sinceS, 0, 120);
  const stepC = celsius - last.celsius;
  const limitC = (stepC > 0 ? RISE_C : FALL_C) + PACE_C_PER_S * allowedS;
  if (Math.abs(stepC) <= limitC) return 'no';
  if (leapt === null || isTwice(track, leapt, atMs) || !agrees(leapt, atMs, celsius)) return 'wait';
  if (leapt.count + 1 < (stepC > 0 ? RISE_COUNT : FALL_COUNT)) return 'wait';
  const isBeyond = countOf(track.recent) > 2 && Math.abs(stepC) > NEVER_C + NEVER_C_PER_S * sinceS;
  const waitedS = secondsBetween(leapt.atMs, atMs);
  return isBeyond && waitedS < Math.max(NEVER_WAITS_S, 2.5 * (intervalS ?? 0)) ? 'wait' : 'confirmed';
}

/** Those that wait must agree with the first of them. */
export function keepLeapt(track: SensorTrack, reading: TimedC): Leapt {
  const { leapt } = track;
  if (leapt === null || !agrees(leapt, reading.atMs, reading.celsius)) {
    return { ...reading, count: 1, lastMs: reading.atMs };
  }
  return isTwice(track, leapt, reading.atMs) ? leapt : { ...leapt, count: leapt.count + 1, lastMs: reading.atMs };
}

function isTwice({ intervalS }: SensorTrack, { lastMs }: Leapt, atMs: number): boolean {
  return secondsBetween(lastMs, atMs) < TWICE_RATIO * (intervalS ?? 0);
}

function agrees(leapt: TimedC, atMs: number, celsius: number): boolean {
  return Math.abs(celsius - leapt.celsius) <= AGREE_C + AGREE_C_PER_S * Math.max(secondsBetween(leapt.atMs, atMs), 0);
}
