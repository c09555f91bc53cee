/**
 * Recognises that heat has gone though the plan wants it, or that heat goes in though nobody should want it: by the way
 * of the temperature alone, since a flame, a fuse and a relay have no instrument of their own.
 */
import { perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { isOneReading, isStep } from './false-bend.ts';
import { isHeatGone } from './heat-gone.ts';
import { isHeatUnwanted, isRunningOut } from './heat-unwanted.ts';
import type { HeatContext, HeatWish } from './heat-wish.ts';
import { hasLookedIn } from './look.ts';
import { latelyLine, type Trace, traceLine } from './trace.ts';
import type { Turn, Turns } from './turn.ts';

export interface HeatChange {
  readonly kind: 'gone' | 'unwanted';
  readonly sinceMs: number;
  readonly fromC: number;
  readonly beforePerS: number;
  /** The pace that came of it. */
  readonly sincePerS: number;
  readonly wish: HeatWish;
  /** The steepest it fell over half a minute or so, °C/s, positive. */
  readonly steepestPerS: number;
}

/** A bend must stand out by so many standard errors; by fewer where in a hold it leads out of the tolerance at once. */
const SURE = 7;
const SURE_OUT = 5;
/** What falls no faster than this share of its °C in an hour has heat. */
export const HEATED_RATIO = 0.12;
/**
 * A gas kiln in its climb sheds more than this share of its °C in an hour as long as its flame is out; one that does not burns
 * with a small flame, as after a look for which it was turned down. Ours, of six kinds of simulated kilns: 0.57 and more ten
 * minutes after a flame went out, 0.05 to 0.4 after five minutes with a small one.
 */
const SMALL_FLAME_RATIO = 0.45;
const LEVEL_AFTER_S = 200;

export function watchHeat(
  change: HeatChange | null,
  trace: Trace,
  turns: Turns,
  context: HeatContext,
): HeatChange | null {
  const last = trace.bins[trace.bins.length - 1];
  if (last === undefined) return null;
  if (change !== null) return stillSo(change, trace, turns.most, context, last.celsius, last.atMs);
  const nowC = last.celsius;
  const { up, down } = turns;
  if (isBend(down, trace, SURE) && isHeatGone(down, trace, context, nowC)) return changeOf('gone', down, context);
  const isUnwanted =
    (isBend(up, trace, SURE) && isHeatUnwanted(up, trace, context, nowC)) ||
    (isBend(up, trace, SURE_OUT) && isRunningOut(up, trace, context, nowC));
  return isUnwanted && !hasLookedIn(trace) ? changeOf('unwanted', up, context) : null;
}

function isBend(turn: Turn | null, trace: Trace, sigmas: number): turn is Turn {
  if (turn === null || Math.abs(turn.bendPerS) < sigmas * turn.bendSigmaPerS) return false;
  return !isOneReading(trace, turn) && !isStep(trace, turn);
}

function changeOf(kind: HeatChange['kind'], turn: Turn, { wish }: HeatContext): HeatChange {
  return {
    kind,
    sinceMs: turn.atMs,
    fromC: turn.fromC,
    beforePerS: turn.beforePerS,
    sincePerS: turn.sincePerS,
    wish,
    steepestPerS: Math.max(-turn.sincePerS, 0),
  };
}

/** It lasts until the temperature itself goes the other way again. */
function stillSo(
  change: HeatChange,
  trace: Trace,
  turn: Turn | null,
  context: HeatContext,
  nowC: number,
  nowMs: number,
): HeatChange | null {
  const lately = latelyLine(trace);
  const latelyPerS = lately?.perS ?? change.sincePerS;
  const sincePerS =
    turn !== null && Math.sign(turn.sincePerS) === Math.sign(change.sincePerS) ? turn.sincePerS : change.sincePerS;
  const next = { ...change, sincePerS, steepestPerS: Math.max(change.steepestPerS, -sincePerS) };
  if (change.kind === 'gone') {
    const isOver = context.wish === 'fall' || (context.wish === 'guided-fall' && change.wish !== 'guided-fall');
    const isBack = latelyPerS > perSecond(60) || nowC > change.fromC;
    return isOver || isBack || hasLevelled(next, trace, heatedRatio(context), nowC, nowMs) ? null : next;
  }
  const isFalling = latelyPerS < (context.wish === 'fall' ? -perSecond(40) : -perSecond(20));
  const isClimb = context.wish === 'climb' || context.wish === 'arrival';
  if (isClimb && latelyPerS < (context.wantedPerS ?? 0)) return null;
  const isLevel = context.held !== null && Math.abs(nowC - context.held.goalC) < 0.5 * context.toleranceC;
  return isFalling || (isLevel && secondsBetween(change.sinceMs, nowMs) > 120) ? null : next;
}

function heatedRatio({ heat, wish }: HeatContext): number {
  return heat === 'gas' && wish === 'climb' ? SMALL_FLAME_RATIO : HEATED_RATIO;
}

/** It falls so little that heat must go in after all. */
function hasLevelled({ sinceMs }: HeatChange, trace: Trace, ratio: number, nowC: number, nowMs: number): boolean {
  if (secondsBetween(sinceMs, nowMs) < LEVEL_AFTER_S) return false;
  const over = traceLine(trace, 120) ?? traceLine(trace, 240);
  return over !== null && over.perS - 2 * over.sigmaPerS > -perSecond(ratio * nowC);
}

export function changeRateCPerH(change: HeatChange): number {
  return perHour(change.sincePerS);
}
