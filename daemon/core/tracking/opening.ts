/** Recognises a lid or door opened, from the temperature's own fall, where no switch tells it. */
import { fitLineOf, type TimedC } from '../numbers/line-fit.ts';
import { readingUntil } from '../numbers/timed-list.ts';
import { S_PER_H, secondsBetween } from '../numbers/units.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import { rateAgo } from './heating-rate.ts';
import type { SensorTrack } from './sensor-track.ts';

type Fuel = KilnSetup['heat'];

export interface OpeningSign {
  readonly sensor: string;
  readonly sinceMs: number;
  /** What the kiln was as the fall began, and the deepest fall below what was to be expected. */
  readonly beforeC: number;
  readonly fallC: number;
  readonly lastFallingMs: number;
  /** It falls as no kiln does that has merely lost its heat. */
  readonly isAir: boolean;
}

/** The fall is measured against the line of the two minutes that ended this long ago. */
const LOOK_BACK_S = 45;
const BASE_S = 120;
/**
 * How far below that line a reading must be, in °C: heat still going in; heat just taken away (the gas or elements go
 * off and the couple falls with them); the kiln falling by itself. From memory of bare and sheathed couples, no source.
 */
const FALL_HEATED_C = 14;
const FALL_HEAT_OFF_C = 34;
const FALL_COOLING_C = 7;
/** Faster than this, °C/s, falls what has no heat: 60 °C/h. From memory. */
const FALLING_PER_S = -60 / 3600;
/** Over so long, or from one reading to the next, a fall of cold air goes on by this share, and has begun by that. */
const STEP_S = 8;
const STEP_RATIO = 0.1;
const BEGUN_RATIO = 0.1;
/**
 * Cold air takes more than lost heat does: the lightest kiln sheds some three times its °C an hour as its heat goes, and
 * its couple falls as fast for a moment. Elements keep a couple from falling faster; a flame does not: a bare bead over a
 * burner leaps down and then rests, so in a gas kiln the fall must have gone on at its pace for as long again. Ours, from
 * falls of simulated kilns: 0.3 to 2.8 times without heat, 6 where a flue that stands open draws cold air in as the flame
 * goes; with a lid opened 4.8 and more in an electric kiln, 7 and more in a gas kiln, or the flame's and the lid's are alike.
 */
const AIR_PER_H = { electric: 3.5, gas: 6.5 } as const;
const AIR_OVER_S = { electric: 15, gas: 20 } as const;
const GOES_ON_RATIO = 0.78;
/** What falls so many times as fast as air makes it may have begun even faster, with no more than this share left. Ours. */
const PLAINLY_AIR = 1.1;
const GOES_ON_PLAINLY_RATIO = 0.6;
/**
 * ... and more than a light chamber can: what full heat brought in, no loss takes out much faster. It has climbed at its
 * fastest cold, with next to no losses, and sheds at most the whole of its heat. Source: a gas-fired test compartment fell
 * 1.6 times as fast as it had climbed, when its burner was shut off (NIST, firemodels/exp, E119 compartment, tests 1 and 2).
 */
const AIR_CLIMBS = 2;
/** So little is enough where the pace tells it. */
const FALL_AIR_C = 9;
/** A door that was closed again shows in readings that fall no further for this long. */
const CLOSED_AFTER_S = 45;

/** `settling`: elements have been off for minutes, and the couple falls ever less. */
export type HeatState = 'heated' | 'just-off' | 'flame-just-off' | 'settling' | 'cooling';

/**
 * Carries the sign of an opening on by one good reading of `track`; null while there is none.
 * @param climbPerS the fastest that the kiln has climbed, °C/s
 */
export function watchOpening(
  sign: OpeningSign | null,
  track: SensorTrack,
  heat: HeatState,
  rippleC = 0,
  fuel: Fuel = 'gas',
  climbPerS = 0,
): OpeningSign | null {
  const now = track.last;
  if (now === null) return sign;
  if (sign !== null) return followOpening(sign, track, now, fuel, climbPerS);
  const isAir = fallsAsAir(track, now, fuel, climbPerS);
  // Elements that go off, by right or not, take a couple down by as much, but never as fast.
  if (!isAir && fuel === 'electric' && heat !== 'cooling') return null;
  const base = rateAgo(track, LOOK_BACK_S, BASE_S);
  const baseEnd = readingUntil(track.recent, now.atMs - LOOK_BACK_S * 1000);
  if (base === undefined || baseEnd === undefined) return null;
  const aheadS = secondsBetween(baseEnd.atMs, now.atMs);
  // After a pause in the readings nothing can be said of a sudden fall.
  if (aheadS > LOOK_BACK_S + 4 * Math.max(track.intervalS ?? 1, 5)) return null;
  // A climb goes on until the air comes; what it has gained since the line ended is lost first.
  const highC = isAir ? (readingUntil(track.recent, now.atMs - overS(track, fuel) * 1000)?.celsius ?? 0) : 0;
  const expectedC = Math.max(base.atEndC + Math.min(base.slopePerS, 0) * aheadS, highC);
  const fallC = expectedC - now.celsius;
  const ownFallC = Math.abs(base.slopePerS) * aheadS;
  const leastC =
    isAir && heat !== 'just-off'
      ? Math.min(FALL_AIR_C, limitFor(heat, base.slopePerS))
      : limitFor(heat, base.slopePerS);
  const limitC = Math.max(leastC, 5 * base.noiseC, 1.2 * ownFallC, 2 * rippleC + 4);
  if (fallC < limitC || !fallsOn(track, now, expectedC)) return null;
  return { sensor: track.name, sinceMs: now.atMs, beforeC: base.atEndC, fallC, lastFallingMs: now.atMs, isAir };
}

function fallsAsAir(track: SensorTrack, now: TimedC, fuel: Fuel, climbPerS: number): boolean {
  const backMs = overS(track, fuel) * 1000;
  const then = readingUntil(track.recent, now.atMs - backMs);
  const latePerS = fallPerS(then, now);
  const airPerS = Math.max((AIR_PER_H[fuel] * now.celsius) / S_PER_H, AIR_CLIMBS * climbPerS);
  if (latePerS === null || latePerS < airPerS) return false;
  if (fuel === 'electric') return true;
  const earlyPerS = fallPerS(readingUntil(track.recent, now.atMs - 2 * backMs), then);
  const lastPerS = fallPerS(readingUntil(track.recent, now.atMs - backMs / 2), now);
  if (earlyPerS === null || lastPerS === null || earlyPerS < airPerS) return false;
  const ratio = latePerS > PLAINLY_AIR * airPerS ? GOES_ON_PLAINLY_RATIO : GOES_ON_RATIO;
  return latePerS > ratio * earlyPerS && lastPerS > GOES_ON_RATIO * latePerS;
}

function overS({ intervalS }: SensorTrack, fuel: Fuel): number {
  return Math.max(AIR_OVER_S[fuel], 1.5 * (intervalS ?? 0));
}

function fallPerS(from: TimedC | undefined, to: TimedC | undefined): number | null {
  if (from === undefined || to === undefined || to.atMs <= from.atMs) return null;
  return (from.celsius - to.celsius) / secondsBetween(from.atMs, to.atMs);
}

/**
 * Cold air takes the heat away from reading to reading; a couple that shows less at once and goes on as before has jumped.
 * The last step down must be one of several, and a step.
 */
function fallsOn({ recent }: SensorTrack, now: TimedC, expectedC: number): boolean {
  const before = readingUntil(recent, now.atMs - STEP_S * 1000);
  if (before === undefined) return true;
  const fallC = expectedC - now.celsius;
  const beforeC = expectedC - before.celsius;
  return beforeC > BEGUN_RATIO * fallC && fallC - beforeC > STEP_RATIO * fallC;
}

function followOpening(
  sign: OpeningSign,
  track: SensorTrack,
  now: TimedC,
  fuel: Fuel,
  climbPerS: number,
): OpeningSign | null {
  const isAir = sign.isAir || fallsAsAir(track, now, fuel, climbPerS);
  const pace = fitLineOf(track.recent, 20);
  const fallC = sign.beforeC - now.celsius;
  const isFalling = (pace?.slopePerS ?? 0) < -0.12 && fallC > sign.fallC - 1;
  if (isFalling) return { ...sign, fallC: Math.max(sign.fallC, fallC), lastFallingMs: now.atMs, isAir };
  const hasRisen = fallC < sign.fallC * 0.6;
  return hasRisen || secondsBetween(sign.lastFallingMs, now.atMs) > CLOSED_AFTER_S ? null : sign;
}

function limitFor(heat: HeatState, slopePerS: number): number {
  switch (heat) {
    case 'heated':
      return FALL_HEATED_C;
    case 'just-off':
      return FALL_HEAT_OFF_C;
    case 'flame-just-off':
      // A bare couple over a burner falls 80 °C in half a minute as the flame goes: no door could be told from it.
      return Number.POSITIVE_INFINITY;
    case 'settling':
      return slopePerS < FALLING_PER_S ? FALL_HEATED_C : FALL_HEAT_OFF_C;
    case 'cooling':
      return FALL_COOLING_C;
  }
}
