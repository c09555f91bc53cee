/**
 * A kiln in a few numbers: a quick body (chamber, load, the face of the brick) heated by a source that lags, a slow one
 * (the wall) that takes heat from it and gives it back, a loss to the room, and a couple that shows it late.
 *
 * A temperature alone never tells how many joules a kiln holds, so everything is counted per heat capacity of the quick
 * body: power in °C/h, exchange and loss as shares an hour, the wall's capacity as a multiple. For the same reason all
 * loss is counted at the quick body: what leaves through the wall and what leaves through the flue look alike from inside.
 */
import { S_PER_H } from '../numbers/units.ts';

export interface KilnModel {
  /** What full heat gives to the cold chamber. */
  readonly powerCPerH: number;
  /** Share of its excess over the room that the chamber loses, at room temperature and at `HOT_DELTA_C` above it. */
  readonly lossColdPerH: number;
  readonly lossHotPerH: number;
  /** Share of the difference between chamber and wall that evens out: the quick time constant is its inverse. */
  readonly exchangePerH: number;
  /** Heat capacity of the wall as a multiple of the quick body's. */
  readonly wallRatio: number;
  /** From the hand's or controller's act until its heat has come to the chamber: what makes a kiln coast. */
  readonly heatLagS: number;
  /** How late the couple shows what the chamber is. */
  readonly sensorLagS: number;
  /**
   * The couple sees flame or elements too: while heat comes it shows more than the chamber is, by what that heat would
   * warm it in so many seconds, and falls with it when it goes off.
   */
  readonly glowS: number;
  /** Heat grows with this power of the setting: 1 where the setting is proportional to heat. */
  readonly settingPower: number;
  /** Where the burnt gas leaves at this temperature it takes all heat with it; Infinity for electric heat. */
  readonly flameC: number;
}

/** Loss is told at the room's temperature and at this much above it, and by a straight line between and beyond. */
export const HOT_DELTA_C = 600;

/**
 * Propane with a fifth more air than it needs burns at about this temperature; what leaves by the flue at the chamber's
 * temperature has so much less to give. From memory.
 */
export const GAS_FLAME_C = 1700;

/** Cells of the wall: heat goes into it as into a slab, quickly into its face and slowly into its depth. */
export const WALL_CELLS = 3;

/** Temperatures, and the heat that arrives, as °C/h of the chamber. */
export interface KilnState {
  readonly arrivingCPerH: number;
  readonly chamberC: number;
  readonly wallC: readonly number[];
  readonly shownC: number;
}

/** A kiln that has stood long enough to be evenly warm. */
export function restingState(celsius: number): KilnState {
  return {
    arrivingCPerH: 0,
    chamberC: celsius,
    wallC: Array.from({ length: WALL_CELLS }, () => celsius),
    shownC: celsius,
  };
}

/** °C/h that a setting (0 off, 1 full) gives to the cold chamber once it has arrived. */
export function heatOf(model: KilnModel, settingRatio: number): number {
  if (settingRatio <= 0) return 0;
  return model.powerCPerH * (model.settingPower === 1 ? settingRatio : settingRatio ** model.settingPower);
}

/** What the chamber loses in °C/h at its present temperature, wall apart. */
export function lossCPerH(model: KilnModel, chamberC: number, roomC: number): number {
  return lossPerH(model, chamberC, roomC) * (chamberC - roomC);
}

export function lossPerH(model: KilnModel, chamberC: number, roomC: number): number {
  const share = (chamberC - roomC) / HOT_DELTA_C;
  const perH = model.lossColdPerH + (model.lossHotPerH - model.lossColdPerH) * share;
  // Beyond the two temperatures the line must not turn a loss into a gain.
  return Math.max(perH, 0.2 * Math.min(model.lossColdPerH, model.lossHotPerH));
}

/** The share of a flame's heat that does not leave by the flue. */
export function kept(model: KilnModel, chamberC: number, roomC: number): number {
  return Math.max(1 - Math.max(chamberC - roomC, 0) / model.flameC, 0);
}

/** The setting with which the couple goes on showing `wantedC`, the wall as it is: 0 to 1, beyond where it can't be kept. */
export function keepingRatio(model: KilnModel, state: KilnState, wantedC: number, roomC: number): number {
  let heatCPerH = 0;
  // What the couple sees of the heat itself makes the chamber that much cooler; three rounds settle it.
  for (let round = 0; round < 3; round++) {
    const chamberC = wantedC - (model.glowS / S_PER_H) * heatCPerH;
    const intoWallCPerH = wallFaceShare * model.exchangePerH * (chamberC - (state.wallC[0] ?? chamberC));
    const needCPerH = lossCPerH(model, chamberC, roomC) + intoWallCPerH;
    heatCPerH = Math.max(needCPerH, 0) / Math.max(kept(model, chamberC, roomC), 0.05);
  }
  const share = heatCPerH / model.powerCPerH;
  return model.settingPower === 1 ? share : share ** (1 / model.settingPower);
}

/** Between the chamber and the middle of the first cell lies half a cell of wall. */
const wallFaceShare = 2 * WALL_CELLS;

/**
 * A workspace that carries a kiln on in time, for fits that do so a million times.
 *
 * Each step is implicit, of second order and damped at any length (two stages of 1 − 1/√2, stiffly accurate), the loss
 * and what the flue leaves taken at its middle.
 * Source: R. Alexander, Diagonally implicit Runge-Kutta methods for stiff ODEs, SIAM J. Numer. Anal. 14, 1977, from memory;
 * checked in tests/core/kiln-model/kiln-model.test.ts against halved steps and the exact fall of one body.
 */
export class KilnRun {
  arrivingCPerH = 0;
  chamberC = 0;
  shownC = 0;
  readonly wallC = new Float64Array(WALL_CELLS);
  readonly #pivot = new Float64Array(WALL_CELLS);
  readonly #right = new Float64Array(WALL_CELLS);
  readonly #stage = new Float64Array(WALL_CELLS);
  readonly #model: KilnModel;
  readonly #roomC: number;

  constructor(model: KilnModel, roomC: number, state: KilnState) {
    this.#model = model;
    this.#roomC = roomC;
    this.set(state);
  }

  set(state: KilnState): void {
    this.arrivingCPerH = state.arrivingCPerH;
    this.chamberC = state.chamberC;
    this.shownC = state.shownC;
    for (let i = 0; i < WALL_CELLS; i++) this.wallC[i] = state.wallC[i] ?? state.chamberC;
  }

  state(): KilnState {
    return {
      arrivingCPerH: this.arrivingCPerH,
      chamberC: this.chamberC,
      wallC: [...this.wallC],
      shownC: this.shownC,
    };
  }

  /**
   * @param stepS above 0
   * @param heatCPerH what the setting gives, mean over the step
   * @param strayCPerH heat from elsewhere, or lost elsewhere, that comes without lag
   */
  step(stepS: number, heatCPerH: number, strayCPerH = 0): void {
    const model = this.#model;
    const roomC = this.#roomC;
    const a = GAMMA * stepS;
    const again = (1 - GAMMA) / GAMMA;
    const aHeat = a / Math.max(model.heatLagS, 0.01);
    const aShown = a / Math.max(model.sensorLagS, 0.01);
    const aFace = (a * wallFaceShare * model.exchangePerH) / S_PER_H;
    const { wallC } = this;

    // First stage, at γ of the step: once to foretell the middle of the step, where loss and flue are then taken.
    const heat1 = (this.arrivingCPerH + aHeat * heatCPerH) / (1 + aHeat);
    let lossPerS = lossPerH(model, this.chamberC, roomC) / S_PER_H;
    let keptShare = kept(model, this.chamberC, roomC);
    let chamber1 = this.chamberC;
    for (let pass = 0; pass < 2; pass++) {
      const source1 = (a * (heat1 * keptShare + strayCPerH)) / S_PER_H + a * lossPerS * roomC;
      chamber1 = this.#solve(wallC, this.#stage, this.chamberC + source1, 1 + a * lossPerS, aFace);
      if (pass === 1) break;
      const middleC = this.chamberC + (0.5 / GAMMA) * (chamber1 - this.chamberC);
      lossPerS = lossPerH(model, middleC, roomC) / S_PER_H;
      keptShare = kept(model, middleC, roomC);
    }
    const glowH = model.glowS / S_PER_H;
    const shown1 = (this.shownC + aShown * (chamber1 + glowH * heat1)) / (1 + aShown);

    // Second stage: its result is the end of the step.
    const heat0 = this.arrivingCPerH + again * (heat1 - this.arrivingCPerH);
    const heat2 = (heat0 + aHeat * heatCPerH) / (1 + aHeat);
    const source2 = (a * (heat2 * keptShare + strayCPerH)) / S_PER_H + a * lossPerS * roomC;
    for (let i = 0; i < WALL_CELLS; i++) {
      const at = wallC[i] as number;
      wallC[i] = at + again * ((this.#stage[i] as number) - at);
    }
    const chamber0 = this.chamberC + again * (chamber1 - this.chamberC);
    const chamber2 = this.#solve(wallC, wallC, chamber0 + source2, 1 + a * lossPerS, aFace);
    const shown0 = this.shownC + again * (shown1 - this.shownC);
    this.shownC = (shown0 + aShown * (chamber2 + glowH * heat2)) / (1 + aShown);
    this.chamberC = chamber2;
    this.arrivingCPerH = heat2;
  }

  /** Chamber and wall cells at one stage: eliminated from the depth of the wall to the chamber, and back. */
  #solve(from: Float64Array, into: Float64Array, chamberRight: number, chamberOwn: number, aFace: number): number {
    // Capacity of a cell is wallRatio / n of the chamber's; between cells lies a whole cell, half as conductive as the face.
    const perCell = WALL_CELLS / this.#model.wallRatio;
    const toFace = aFace * perCell;
    const toNext = toFace / 2;
    for (let i = WALL_CELLS - 1; i >= 0; i--) {
      const up = i === 0 ? toFace : toNext;
      let own = 1 + up;
      let right = from[i] as number;
      if (i < WALL_CELLS - 1) {
        const below = this.#pivot[i + 1] as number;
        own += toNext - (toNext * toNext) / below;
        right += (toNext * (this.#right[i + 1] as number)) / below;
      }
      this.#pivot[i] = own;
      this.#right[i] = right;
    }
    const first = this.#pivot[0] as number;
    const chamber =
      (chamberRight + (aFace * (this.#right[0] as number)) / first) / (chamberOwn + aFace - (aFace * toFace) / first);
    let above = chamber;
    for (let i = 0; i < WALL_CELLS; i++) {
      const up = i === 0 ? toFace : toNext;
      above = ((this.#right[i] as number) + up * above) / (this.#pivot[i] as number);
      into[i] = above;
    }
    return chamber;
  }
}

const GAMMA = 1 - Math.SQRT1_2;
