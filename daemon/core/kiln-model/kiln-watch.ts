/**
 * Follows a running firing with the kiln's model: from each reading it corrects what it believes of chamber, wall and
 * arriving heat, and of a stray heat that no setting explains (a draught, low mains, a fuller bottle, a hand nobody
 * logged). From there it looks ahead.
 *
 * An extended Kalman filter: its step is the model's own, its slopes are found by moving each part of the state a little.
 * Source: any text on state estimation (from memory); checked in its test.
 */
import { S_PER_H } from '../numbers/units.ts';
import { type KilnModel, KilnRun, restingState, WALL_CELLS } from './kiln-model.ts';

export interface WatchNoise {
  /** Standard deviation of one reading. */
  readonly readingC: number;
  /** How far the stray heat wanders in an hour, °C/h. */
  readonly strayCPerH: number;
  /** In about this time stray heat dies away by itself; Infinity if it stays. */
  readonly strayLastsS: number;
}

export interface WatchStart {
  readonly celsius: number;
  readonly roomC: number;
  /** Heat that was on as the record began, °C/h; null where nobody knows. */
  readonly heatCPerH: number | null;
}

const ARRIVING = 0;
const CHAMBER = 1;
const WALL = 2;
const SHOWN = WALL + WALL_CELLS;
const STRAY = SHOWN + 1;
const SIZE = STRAY + 1;
/** A reading further off than so many standard deviations pulls no harder: it may be a glitch. */
const MOST_SIGMAS = 4;

export class KilnWatch {
  readonly #noise: WatchNoise;
  readonly #run: KilnRun;
  readonly #moved: KilnRun;
  #stray = 0;
  #isHeatUnknown: boolean;
  readonly #p: Float64Array[] = Array.from({ length: SIZE }, () => new Float64Array(SIZE));
  readonly #f: Float64Array[] = Array.from({ length: SIZE }, () => new Float64Array(SIZE));
  readonly #fp: Float64Array[] = Array.from({ length: SIZE }, () => new Float64Array(SIZE));
  readonly #model: KilnModel;
  readonly #roomC: number;

  constructor(model: KilnModel, noise: WatchNoise, start: WatchStart) {
    this.#model = model;
    this.#noise = noise;
    this.#roomC = start.roomC;
    const state = { ...restingState(start.celsius), arrivingCPerH: start.heatCPerH ?? 0 };
    this.#run = new KilnRun(model, start.roomC, state);
    this.#moved = new KilnRun(model, start.roomC, state);
    this.#isHeatUnknown = start.heatCPerH === null;
    const aboveC = Math.abs(start.celsius - start.roomC);
    const isWarm = aboveC >= 8;
    const sigmas = [
      isWarm || start.heatCPerH === null ? 0.5 * model.powerCPerH : 0.1 * model.powerCPerH,
      noise.readingC + 2,
      ...Array.from({ length: WALL_CELLS }, () => (isWarm ? 0.4 * aboveC : 1)),
      noise.readingC + 1,
      start.heatCPerH === null ? model.powerCPerH : 0.1 * model.powerCPerH,
    ];
    for (const [i, sigma] of sigmas.entries()) (this.#p[i] as Float64Array)[i] = sigma * sigma;
  }

  shownC(): number {
    return this.#run.shownC;
  }

  chamberC(): number {
    return this.#run.chamberC;
  }

  strayCPerH(): number {
    return this.#stray;
  }

  /** Time passes with this heat, or with one that nobody knows: then all of it is to be found from the readings. */
  pass(stepS: number, heatCPerH: number | null): void {
    if ((heatCPerH === null) !== this.#isHeatUnknown) this.#forgetStray(heatCPerH === null);
    const before = this.#run.state();
    advance(this.#run, stepS, heatCPerH, this.#stray);
    this.#slopes(before, stepS, heatCPerH);
    const dies = Math.exp(-stepS / this.#noise.strayLastsS);
    this.#stray *= dies;
    for (let j = 0; j < SIZE; j++) (this.#f[STRAY] as Float64Array)[j] = j === STRAY ? dies : 0;
    this.#spread();
    const { strayCPerH } = this.#noise;
    const p = this.#p;
    (p[STRAY] as Float64Array)[STRAY] =
      ((p[STRAY] as Float64Array)[STRAY] as number) + (strayCPerH * strayCPerH * stepS) / S_PER_H;
  }

  /** A reading corrects what is believed. */
  see(celsius: number): void {
    const p = this.#p;
    const row = Float64Array.from(p[SHOWN] as Float64Array);
    const variance = (row[SHOWN] as number) + this.#noise.readingC * this.#noise.readingC;
    const most = MOST_SIGMAS * Math.sqrt(variance);
    const off = Math.min(Math.max(celsius - this.#run.shownC, -most), most);
    const pull = (i: number): number => ((row[i] as number) / variance) * off;
    this.#run.arrivingCPerH += pull(ARRIVING);
    this.#run.chamberC += pull(CHAMBER);
    for (let i = 0; i < WALL_CELLS; i++) this.#run.wallC[i] = (this.#run.wallC[i] as number) + pull(WALL + i);
    this.#run.shownC += pull(SHOWN);
    this.#stray += pull(STRAY);
    for (let i = 0; i < SIZE; i++) {
      const line = p[i] as Float64Array;
      const gain = (row[i] as number) / variance;
      for (let j = 0; j < SIZE; j++) line[j] = (line[j] as number) - gain * (row[j] as number);
    }
  }

  /** What it will show after each of these steps, °C. */
  aheadC(stepsS: readonly number[], heatsCPerH: readonly (number | null)[]): number[] {
    const run = new KilnRun(this.#model, this.#roomC, this.#run.state());
    let stray = this.#stray;
    return stepsS.map((stepS, i) => {
      const heatCPerH = heatsCPerH[i] ?? null;
      // Known from here on: what was taken for all the heat is no longer stray.
      if (this.#isHeatUnknown && heatCPerH !== null) {
        stray = 0;
      }
      advance(run, stepS, heatCPerH, stray);
      const dies = Math.exp(-stepS / this.#noise.strayLastsS);
      stray *= dies;
      return run.shownC;
    });
  }

  /** What is stray means another thing when the heat becomes known, or unknown. */
  #forgetStray(isHeatUnknown: boolean): void {
    this.#isHeatUnknown = isHeatUnknown;
    this.#stray = isHeatUnknown ? Math.max(this.#run.arrivingCPerH, 0) : 0;
    const p = this.#p;
    for (let i = 0; i < SIZE; i++) {
      (p[STRAY] as Float64Array)[i] = 0;
      (p[i] as Float64Array)[STRAY] = 0;
    }
    const sigma = (isHeatUnknown ? 0.5 : 0.02) * this.#model.powerCPerH;
    (p[STRAY] as Float64Array)[STRAY] = sigma * sigma;
  }

  #slopes(before: ReturnType<KilnRun['state']>, stepS: number, heatCPerH: number | null): void {
    const base = this.#run;
    for (let j = 0; j < SIZE; j++) {
      const by = j === ARRIVING || j === STRAY ? 1 : 0.01;
      const moved = this.#moved;
      moved.set(before);
      if (j === ARRIVING) moved.arrivingCPerH += by;
      else if (j === CHAMBER) moved.chamberC += by;
      else if (j === SHOWN) moved.shownC += by;
      else if (j < SHOWN) moved.wallC[j - WALL] = (moved.wallC[j - WALL] as number) + by;
      advance(moved, stepS, heatCPerH, this.#stray + (j === STRAY ? by : 0));
      const f = this.#f;
      (f[ARRIVING] as Float64Array)[j] = (moved.arrivingCPerH - base.arrivingCPerH) / by;
      (f[CHAMBER] as Float64Array)[j] = (moved.chamberC - base.chamberC) / by;
      for (let i = 0; i < WALL_CELLS; i++) {
        (f[WALL + i] as Float64Array)[j] = ((moved.wallC[i] as number) - (base.wallC[i] as number)) / by;
      }
      (f[SHOWN] as Float64Array)[j] = (moved.shownC - base.shownC) / by;
    }
  }

  /** P becomes F P Fᵀ. */
  #spread(): void {
    const p = this.#p;
    const f = this.#f;
    const fp = this.#fp;
    for (let i = 0; i < SIZE; i++) {
      for (let j = 0; j < SIZE; j++) {
        let sum = 0;
        for (let k = 0; k < SIZE; k++)
          sum += ((f[i] as Float64Array)[k] as number) * ((p[k] as Float64Array)[j] as number);
        (fp[i] as Float64Array)[j] = sum;
      }
    }
    for (let i = 0; i < SIZE; i++) {
      for (let j = 0; j < SIZE; j++) {
        let sum = 0;
        for (let k = 0; k < SIZE; k++)
          sum += ((fp[i] as Float64Array)[k] as number) * ((f[j] as Float64Array)[k] as number);
        (p[i] as Float64Array)[j] = sum;
      }
    }
  }
}

/** Unknown heat comes from the source with its lag; stray heat beside a known one comes at once. */
function advance(run: KilnRun, stepS: number, heatCPerH: number | null, strayCPerH: number): void {
  if (heatCPerH === null) run.step(stepS, strayCPerH);
  else run.step(stepS, heatCPerH, strayCPerH);
}
