/** Fires a schedule in a kiln's model with a hand or a controller that knows the kiln: the best that it can do. */
import { S_PER_H } from '../numbers/units.ts';
import { type Ramp, type Schedule, targetC } from '../plan/schedule.ts';
import { type KilnModel, KilnRun, keepingRatio, restingState } from './kiln-model.ts';

export interface ModelFiring {
  readonly points: readonly ModelPoint[];
  readonly segments: readonly ModelSegment[];
  /** Seconds from the start; null where it never gets there. */
  readonly cracksAtS: number | null;
  readonly unloadsAtS: number | null;
}

export interface ModelPoint {
  readonly atS: number;
  readonly shownC: number;
  /** Share of full heat that is on. */
  readonly heatRatio: number;
  readonly segment: number;
}

export interface ModelSegment {
  readonly segment: number;
  readonly startS: number;
  readonly startC: number;
  readonly endS: number;
  readonly endC: number;
  /** False where it rests short of its target, however long one waits. */
  readonly isReached: boolean;
  /** Where full heat, or none at all, is not enough for the pace asked. */
  readonly short: ShortOfPace | null;
  /** For a climb that a hold follows: where the heat goes down so that it comes to rest at the top. */
  readonly turnDown: { readonly atS: number; readonly atC: number } | null;
}

export interface ShortOfPace {
  readonly askedCPerH: number;
  readonly fromC: number;
  readonly slowestCPerH: number;
  readonly lateS: number;
}

export interface FiringConditions {
  readonly startC: number;
  readonly roomC: number;
  readonly safeOpenC: number;
}

export const STEP_S = 30;
/** Cool enough to take out by hand; common practice, no source. */
export const UNLOAD_C = 50;
/** A climb that gains less than this in an hour at full heat has come to its end. Ours. */
const RESTS_CPERH = 4;
/** Nobody waits longer for one segment. Ours. */
const LONGEST_S = 48 * S_PER_H;
/** A hold counts from where the kiln is so near its target. Ours. */
const NEAR_C = 1;
/** So far behind the plan's line the kiln is said not to follow. Ours. */
const BEHIND_C = 3;

export function fireInModel(model: KilnModel, schedule: Schedule, conditions: FiringConditions): ModelFiring {
  const { roomC, startC } = conditions;
  const run = new KilnRun(model, roomC, restingState(startC));
  const points: ModelPoint[] = [{ atS: 0, shownC: startC, heatRatio: 0, segment: 0 }];
  const segments: ModelSegment[] = [];
  let atS = 0;
  const step = (heatShare: number, segment: number): void => {
    run.step(STEP_S, heatShare * model.powerCPerH);
    atS += STEP_S;
    points.push({ atS, shownC: run.shownC, heatRatio: heatShare, segment });
  };
  for (const [index, segment] of schedule.segments.entries()) {
    const startS = atS;
    const fromC = run.shownC;
    const goalC = targetC(schedule, index);
    let track: Track = { isReached: true, short: null, turnDown: null };
    if (segment.kind === 'hold') {
      while (atS - startS < segment.minutes * 60) step(towards(run, model, roomC, goalC), index);
    } else {
      track = fireRamp(segment, index, fromC);
    }
    segments.push({ segment: index, startS, startC: fromC, endS: atS, endC: run.shownC, ...track });
    if (!track.isReached) break;
  }

  function fireRamp(ramp: Ramp, index: number, fromC: number): Track {
    const startS = atS;
    const isUp = ramp.toC >= fromC;
    const next = schedule.segments[index + 1];
    const endsInHold = isUp && next?.kind === 'hold';
    let turnDown: ModelSegment['turnDown'] = null;
    let line = fromC;
    let isBehind = false;
    let shortFromC = fromC;
    let slowestCPerH = Number.POSITIVE_INFINITY;
    const before: number[] = [];
    while (!isThere(run.shownC, ramp, isUp)) {
      if (atS - startS > LONGEST_S) return { isReached: false, short: null, turnDown };
      const pace = ramp.rateCPerH;
      let share: number;
      if (pace === 'let-fall') share = 0;
      else if (turnDown !== null) share = towards(run, model, roomC, ramp.toC, landingS(model, atS - turnDown.atS));
      else if (endsInHold && landsAtTop(run, model, roomC, ramp.toC)) {
        turnDown = { atS, atC: run.shownC };
        share = towards(run, model, roomC, ramp.toC);
      } else {
        const aheadS = lookAheadS(model);
        if (pace === 'flat-out') line = isUp ? ramp.toC + 100 : ramp.toC;
        else {
          const moved = (pace * STEP_S) / S_PER_H;
          // The plan waits for the kiln: its line runs no further ahead than the kiln can be seen to follow.
          const slackC = Math.max((pace * aheadS) / S_PER_H, 2 * BEHIND_C);
          line = isUp ? Math.min(line + moved, run.shownC + slackC) : Math.max(line - moved, run.shownC - slackC);
        }
        const soonC = typeof pace === 'number' ? line + ((isUp ? pace : -pace) * aheadS) / S_PER_H : line;
        const goesOn = isUp && next?.kind === 'ramp' && next.toC > ramp.toC;
        const wantedC = goesOn ? soonC : isUp ? Math.min(soonC, ramp.toC) : Math.max(soonC, ramp.toC);
        share = towards(run, model, roomC, pace === 'flat-out' ? line : wantedC, aheadS);
      }
      step(share, index);
      before.push(run.shownC);
      const quarter = before[before.length - 1 - 900 / STEP_S];
      const isSpent = isUp ? share >= 0.999 : share <= 0.001;
      if (typeof pace === 'number' && quarter !== undefined && isSpent && turnDown === null) {
        const gotCPerH = Math.abs(run.shownC - quarter) * (S_PER_H / 900);
        if (gotCPerH < 0.97 * pace) {
          if (!isBehind) shortFromC = run.shownC;
          isBehind = true;
          slowestCPerH = Math.min(slowestCPerH, gotCPerH);
        }
      }
      const hour = before[before.length - 1 - S_PER_H / STEP_S];
      if (isUp && hour !== undefined && isSpent && Math.abs(run.shownC - hour) < RESTS_CPERH) {
        return { isReached: false, short: null, turnDown };
      }
    }
    const plannedS =
      typeof ramp.rateCPerH === 'number' ? (Math.abs(ramp.toC - fromC) / ramp.rateCPerH) * S_PER_H : Number.NaN;
    const lateS = atS - startS - plannedS;
    const short =
      isBehind && typeof ramp.rateCPerH === 'number' && lateS > 120
        ? { askedCPerH: ramp.rateCPerH, fromC: shortFromC, slowestCPerH, lateS }
        : null;
    return { isReached: true, short, turnDown };
  }

  const opened = coolOff();
  return { points, segments, ...opened };

  /** The plan is over: it falls by itself until it can be unloaded. */
  function coolOff(): Pick<ModelFiring, 'cracksAtS' | 'unloadsAtS'> {
    const last = schedule.segments.length - 1;
    const endS = atS;
    while (run.shownC > UNLOAD_C && atS - endS < LONGEST_S) step(0, last);
    return {
      cracksAtS: fallsBelowS(points, conditions.safeOpenC),
      unloadsAtS: fallsBelowS(points, UNLOAD_C),
    };
  }
}

type Track = Pick<ModelSegment, 'isReached' | 'short' | 'turnDown'>;

function isThere(shownC: number, ramp: Ramp, isUp: boolean): boolean {
  if (ramp.rateCPerH === 'let-fall') return shownC <= ramp.toC;
  return isUp ? shownC >= ramp.toC - NEAR_C : shownC <= ramp.toC + NEAR_C;
}

/** Heat acts and shows after both lags: far enough ahead to see what a turn does. */
function lookAheadS(model: KilnModel): number {
  return Math.min(Math.max(2 * (model.heatLagS + model.sensorLagS), 180), 1800);
}

/** Once turned down, the top is aimed at for one and the same moment, and then for as near a one as the lags allow. */
function landingS(model: KilnModel, sinceS: number): number {
  return Math.max(lookAheadS(model) - sinceS, 0.6 * (model.heatLagS + model.sensorLagS), 2 * STEP_S);
}

/** The share of full heat that brings what is shown to `wantedC` within `aheadS`, kept within what the kiln has. */
function towards(run: KilnRun, model: KilnModel, roomC: number, wantedC: number, aheadS = lookAheadS(model)): number {
  const cold = aheadC(run, model, roomC, 0, aheadS);
  const hot = aheadC(run, model, roomC, 1, aheadS);
  return Math.min(Math.max((wantedC - cold) / Math.max(hot - cold, 1e-6), 0), 1);
}

function aheadC(run: KilnRun, model: KilnModel, roomC: number, share: number, aheadS: number): number {
  const trial = new KilnRun(model, roomC, run.state());
  const steps = Math.max(Math.round(aheadS / STEP_S / 2), 2);
  for (let i = 0; i < steps; i++) trial.step(aheadS / steps, share * model.powerCPerH);
  return trial.shownC;
}

/**
 * True from where the heat that keeps the top, turned on now, still carries the kiln there by what is on its way. Only a
 * little time is allowed for it: given hours, a kiln creeps up to the top from far below.
 */
function landsAtTop(run: KilnRun, model: KilnModel, roomC: number, topC: number): boolean {
  if (topC - run.shownC > 120) return false;
  const share = Math.min(keepingRatio(model, run.state(), topC, roomC) ** model.settingPower, 1);
  const trial = new KilnRun(model, roomC, run.state());
  const withinS = lookAheadS(model);
  for (let s = 0; s < withinS; s += STEP_S) {
    trial.step(STEP_S, share * model.powerCPerH);
    if (trial.shownC >= topC - NEAR_C) return true;
  }
  return false;
}

/** When it falls below `celsius` after its peak, or null. */
export function fallsBelowS(points: readonly ModelPoint[], celsius: number): number | null {
  const peak = points.reduce((best, p, i) => (p.shownC > (points[best]?.shownC ?? 0) ? i : best), 0);
  const after = points.slice(peak).find((p) => p.shownC <= celsius);
  return after?.atS ?? null;
}
