/** What a painter would say of a kiln, worked out of its model: how it coasts, falls and climbs. */
import { BAND_SIGMAS } from '../numbers/band.ts';
import { S_PER_H } from '../numbers/units.ts';
import { fireInModel, type ModelFiring, STEP_S } from './fire-in-model.ts';
import { type KilnModel, KilnRun, restingState } from './kiln-model.ts';
import { movedModels, sigmaOf, type UnsureModel } from './spread.ts';

export interface Trait {
  readonly value: number;
  /** Half of the band that should hold nine in ten; null where it cannot be had. */
  readonly half: number | null;
}

export interface KilnTraits {
  readonly topC: number;
  readonly climbCPerH: number;
  /** How much further it goes when turned down to what keeps it, out of a climb at `climbCPerH`; null where it can't. */
  readonly coastC: Trait | null;
  /** How far down it was seen to fall with its door shut, 60 °C at the lowest. */
  readonly seenFallToC: number;
  /** From the top, after a quarter of an hour there, to `seenFallToC`, and on to 60 °C. */
  readonly fallS: Trait | null;
  readonly wholeFallS: Trait | null;
  /** Pace at full heat, as it passes each temperature; null for one that it does not reach. */
  readonly fullHeat: readonly { readonly atC: number; readonly paceCPerH: Trait | null }[];
  /** Hottest that it can get at full heat within a day. */
  readonly hottestC: number;
}
const COOL_C = 60;
const SETTLES_S = 1200;
/** To a thousandth of full heat. */
const HALVINGS = 10;
/** A pace that most paint is climbed at near the top; common practice, no source. */
const USUAL_CLIMB_CPERH = 120;

/** @param seenFallC the coldest that was recorded of a fall with the door shut */
export function kilnTraits(known: UnsureModel, roomC: number, topC: number, seenFallC: number): KilnTraits {
  const seenFallToC = Math.max(COOL_C, Math.ceil(seenFallC / 10) * 10);
  const pairs = movedModels(known);
  const trait = (figure: (model: KilnModel) => number | null): Trait | null => {
    const value = figure(known.model);
    if (value === null) return null;
    const sigma = sigmaOf(pairs.map(([up, down]) => [figure(up), figure(down)] as const));
    return { value, half: sigma === null ? null : BAND_SIGMAS * sigma };
  };
  return {
    topC,
    climbCPerH: USUAL_CLIMB_CPERH,
    coastC: trait((model) => coastC(model, roomC, topC)),
    seenFallToC,
    fallS: trait((model) => fallS(model, roomC, topC, seenFallToC)),
    wholeFallS: trait((model) => fallS(model, roomC, topC, COOL_C)),
    fullHeat: [0.45 * topC, topC - 10].map((warmC) => {
      const atC = Math.round(warmC / 10) * 10;
      return { atC, paceCPerH: trait((model) => fullHeatPaceCPerH(model, roomC, atC)) };
    }),
    hottestC: hottestC(known.model, roomC),
  };
}

function climbTo(model: KilnModel, roomC: number, topC: number, holdMinutes: number, safeOpenC: number): ModelFiring {
  return fireInModel(
    model,
    {
      name: 'a climb',
      segments: [
        { kind: 'ramp', toC: topC, rateCPerH: USUAL_CLIMB_CPERH },
        ...(holdMinutes > 0 ? [{ kind: 'hold', minutes: holdMinutes } as const] : []),
      ],
    },
    { startC: roomC, roomC, safeOpenC },
  );
}

/**
 * How much further it goes when it is turned down, as it passes the top, to the heat that keeps it in the end: the heat
 * by which it stands still from a third of an hour after the turn to twice that.
 */
function coastC(model: KilnModel, roomC: number, topC: number): number | null {
  const climb = climbThrough(model, roomC, topC);
  if (climb === null) return null;
  const after = (share: number): { peakC: number; settledC: number; laterC: number } => {
    const run = new KilnRun(model, roomC, climb.state());
    let peakC = run.shownC;
    for (let s = 0; s < SETTLES_S; s += STEP_S) {
      run.step(STEP_S, share * model.powerCPerH);
      peakC = Math.max(peakC, run.shownC);
    }
    const settledC = run.shownC;
    for (let s = 0; s < SETTLES_S; s += STEP_S) run.step(STEP_S, share * model.powerCPerH);
    return { peakC, settledC, laterC: run.shownC };
  };
  let low = 0;
  let high = 1;
  for (let i = 0; i < HALVINGS; i++) {
    const { settledC, laterC } = after((low + high) / 2);
    if (laterC > settledC) high = (low + high) / 2;
    else low = (low + high) / 2;
  }
  return after((low + high) / 2).peakC - topC;
}

/** The kiln as it passes `topC` in a climb at the usual pace that nobody slows; null if it can't. */
function climbThrough(model: KilnModel, roomC: number, topC: number): KilnRun | null {
  const run = new KilnRun(model, roomC, restingState(roomC));
  const pacePerS = USUAL_CLIMB_CPERH / S_PER_H;
  const lagS = model.heatLagS + model.sensorLagS + 120;
  for (let s = 0; s < 24 * S_PER_H; s += STEP_S) {
    if (run.shownC >= topC) return run;
    const aimC = Math.min(roomC + pacePerS * (s + lagS), run.shownC + 3 * pacePerS * lagS);
    const ahead = (share: number): number => {
      const trial = new KilnRun(model, roomC, run.state());
      for (let i = 0; i < 4; i++) trial.step(lagS / 4, share * model.powerCPerH);
      return trial.shownC;
    };
    const cold = ahead(0);
    const share = Math.min(Math.max((aimC - cold) / Math.max(ahead(1) - cold, 1e-6), 0), 1);
    run.step(STEP_S, share * model.powerCPerH);
  }
  return null;
}

function fallS(model: KilnModel, roomC: number, topC: number, toC: number): number | null {
  const { segments, cracksAtS } = climbTo(model, roomC, topC, 15, toC);
  const last = segments[segments.length - 1];
  return last === undefined || !last.isReached || cracksAtS === null ? null : cracksAtS - last.endS;
}

function fullHeatPaceCPerH(model: KilnModel, roomC: number, atC: number): number | null {
  const run = new KilnRun(model, roomC, restingState(roomC));
  for (let s = 0; s < 24 * S_PER_H; s += STEP_S) {
    const beforeC = run.shownC;
    run.step(STEP_S, model.powerCPerH);
    if (run.shownC >= atC) return ((run.shownC - beforeC) * S_PER_H) / STEP_S;
  }
  return null;
}

function hottestC(model: KilnModel, roomC: number): number {
  const run = new KilnRun(model, roomC, restingState(roomC));
  for (let s = 0; s < 24 * S_PER_H; s += 60) run.step(60, model.powerCPerH);
  return run.shownC;
}
