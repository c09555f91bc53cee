/**
 * A couple in the chamber: what its tip takes from wall, load and gas, how late it shows it, how far its wire is off,
 * and how coarsely its instrument reads it.
 */
import { type SeededRandom, seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { drawSeed } from './draw-seed.ts';
import { radiationWPerK } from './heat-balance.ts';
import { type SensorFault, type SensorFaultKind, sensorFaults } from './sensor-faults.ts';
import { perfectTerminal, type TerminalSpec, terminal } from './terminal.ts';
import { drawWireError, type WireClass, type WireError } from './wire-classes.ts';

export interface CoupleSpec {
  readonly sensor: string;
  /** How much of its surroundings is wall, shelf and glass; they are counted to 1. */
  readonly looksAt: { readonly wall: number; readonly shelf: number; readonly glass: number };
  /** Where it stands: 0 at the floor … 1 under the roof. */
  readonly heightRatio?: number;
  /** First-order lag of tip or sheath: seconds for a bare bead, one to three minutes in a thick sheath. */
  readonly lagS: number;
  /**
   * Heat exchange at which the lag is `lagS`, W/(m² K): with less it is slower in proportion, as in a cold kiln, with
   * more it is quicker. Without this figure it lags the same at all times.
   */
  readonly lagAtWPerM2K?: number;
  /** A second lag, of the bead behind its sheath; at 600 °C where `lagAtWPerM2K` is given. */
  readonly beadLagS?: number;
  /** How much better the gas reaches the tip than it reaches a wall: the thinner, the better. */
  readonly gasRatio?: number;
  /** Standard deviation of one reading. */
  readonly noiseC: number;
  /** A slow wander on top: its standard deviation, and for how long it remembers. */
  readonly wander?: { readonly deviationC: number; readonly overS: number };
  /** The instrument's last digit; 0 for none. */
  readonly stepC: number;
  /** Share of the readings in which the instrument gives no temperature. */
  readonly missedRatio: number;
  /** What this couple shows too much. */
  readonly offsetC?: number;
  /** The wire's error is drawn from all that this class allows. */
  readonly wire?: WireClass;
  readonly terminal?: TerminalSpec;
  /** Beyond these the instrument gives no temperature. */
  readonly range?: { readonly fromC: number; readonly toC: number };
}

export interface Couple {
  readonly sensor: string;
  step(durationS: number): void;
  /** What the instrument shows now; null where it gives no temperature. */
  read(): number | null;
  /** A fault of another kind comes on top, one of the same kind instead; null mends everything. */
  suffer(fault: SensorFault | null): void;
  /** Mends this kind alone. */
  mend(kind: SensorFaultKind): void;
  /** The tip itself, before any error: for judging only. */
  tipC(): number;
  /** What it would show where it belongs and with no fault, without noise: for judging only. */
  soundC(): number;
}

/** Where sheath and bead have got to. */
interface Tip {
  sheathC: number;
  beadC: number;
}

/** What a couple needs of a kiln. */
export interface Measured {
  celsius(place: 'gas' | 'wall' | 'shelf' | 'glass', heightRatio?: number): number;
  /** How strongly a wall exchanges heat with the gas, W/(m² K). */
  stirringWPerM2K(): number;
  /** 20 °C where the kiln does not say. */
  roomC?(): number;
}

/** The sheath stands near the wall, out of the flame's jet. From memory. */
const LEE_RATIO = 0.7;
/** Oxidised metal or ceramic sheath. From memory. */
const SHEATH_EMISSIVITY = 0.8;
/** Between a sheath's inside and the bead in its insulator: ceramic on ceramic. From memory. */
const GAP_EMISSIVITY = 0.5;
/** Through the air of a gap of about 2 mm, W/(m² K). From memory. */
const GAP_WPERM2K = 25;
const GAP_AT_600_WPERM2K = GAP_WPERM2K + radiationWPerK(GAP_EMISSIVITY, 600, 600);
/** A kiln's shell takes about this share of the wall's distance from the room: 70 °C at 650. From memory. */
const SHELL_RATIO = 0.08;
const ROOM_C = 20;
const NO_ERROR: WireError = { atZeroC: 0, gainRatio: 0 };

/**
 * @param random for the noise and what is missed: thirteen numbers a reading
 * @param nature seed of all else: the wire's error, the wander, what faults do. Apart from the noise, so that a fault
 *   leaves the noise of its harmless twin as it is
 * @throws RangeError for a tolerance class that the letter has not
 */
export function thermocouple(spec: CoupleSpec, plant: Measured, random: SeededRandom, nature = 1): Couple {
  const gasRatio = spec.gasRatio ?? LEE_RATIO;
  const { wall, shelf, glass } = spec.looksAt;
  const wholeView = wall + shelf + glass;
  const natureRandom = seededRandom(nature);
  const wire = spec.wire === undefined ? NO_ERROR : drawWireError(spec.wire, natureRandom);
  const wanderRandom = seededRandom(drawSeed(natureRandom));
  const faults = sensorFaults(seededRandom(drawSeed(natureRandom)));

  const roomC = (): number => plant.roomC?.() ?? ROOM_C;
  const shellC = (): number => {
    const room = roomC();
    return room + SHELL_RATIO * (plant.celsius('wall') - room);
  };
  let exchangeWPerM2K = 0;

  /**
   * What the tip would come to if nothing changed; as it goes it notes how strongly heat is exchanged. The colder the
   * kiln, the more it takes from the gas; above 500 °C it mostly sees wall and load.
   */
  function surroundingsC(fromC: number): number {
    const seenC =
      (wall * plant.celsius('wall', spec.heightRatio) +
        shelf * plant.celsius('shelf') +
        glass * plant.celsius('glass')) /
      wholeView;
    const throughGas = gasRatio * plant.stirringWPerM2K();
    // Where the lag does not ask, radiation as if the tip were as warm as what it sees.
    const seen = radiationWPerK(SHEATH_EMISSIVITY, spec.lagAtWPerM2K === undefined ? seenC : fromC, seenC);
    exchangeWPerM2K = throughGas + seen;
    return (throughGas * plant.celsius('gas', spec.heightRatio) + seen * seenC) / exchangeWPerM2K;
  }

  const wander = spec.wander;
  let wanderedC = wander === undefined ? 0 : wander.deviationC * wanderRandom.gaussian();
  const startC = surroundingsC(plant.celsius('wall', spec.heightRatio));
  const tip: Tip = { sheathC: startC, beadC: startC };
  /** One that has not slipped, beside one that has. */
  let unslipped: Tip | null = null;
  const coldEnd = terminal(spec.terminal ?? perfectTerminal, roomC(), shellC());

  function stepTip(one: Tip, outRatio: number, durationS: number): void {
    const insideC = surroundingsC(one.sheathC);
    const aroundC = outRatio > 0 ? insideC + (shellC() - insideC) * outRatio : insideC;
    const lagS = spec.lagAtWPerM2K === undefined ? spec.lagS : (spec.lagS * spec.lagAtWPerM2K) / exchangeWPerM2K;
    one.sheathC += ((aroundC - one.sheathC) * durationS) / (lagS + durationS);
    if (spec.beadLagS === undefined) {
      one.beadC = one.sheathC;
      return;
    }
    const gapWPerM2K =
      spec.lagAtWPerM2K === undefined
        ? GAP_AT_600_WPERM2K
        : GAP_WPERM2K + radiationWPerK(GAP_EMISSIVITY, one.sheathC, one.beadC);
    const beadLagS = (spec.beadLagS * GAP_AT_600_WPERM2K) / gapWPerM2K;
    one.beadC += ((one.sheathC - one.beadC) * durationS) / (beadLagS + durationS);
  }

  function stepTips(durationS: number): void {
    const outRatio = faults.outRatio();
    if (outRatio > 0) unslipped ??= { ...tip };
    if (unslipped !== null) stepTip(unslipped, 0, durationS);
    stepTip(tip, outRatio, durationS);
  }

  const byWireC = (beadC: number): number => beadC + wire.atZeroC + wire.gainRatio * beadC + (spec.offsetC ?? 0);

  /** Keeps its spread whatever the step: what is forgotten in a step is what is added. */
  function stepWander(durationS: number): void {
    if (wander === undefined) return;
    const even = wanderRandom.next() - 0.5;
    const share = durationS / wander.overS;
    wanderedC = (wanderedC + wander.deviationC * Math.sqrt(12 * share * (2 + share)) * even) / (1 + share);
  }

  const stepC = spec.stepC > 0 ? spec.stepC : 0.001;
  const inSteps = (celsius: number): number => Math.round(Math.round(celsius / stepC) * stepC * 1000) / 1000;
  const isInRange = (celsius: number): boolean =>
    spec.range === undefined || (celsius >= spec.range.fromC && celsius <= spec.range.toC);

  return {
    sensor: spec.sensor,
    step(durationS) {
      faults.step(durationS);
      stepTips(durationS);
      stepWander(durationS);
      coldEnd.step(durationS, roomC(), shellC(), faults.terminalHeating());
    },
    read() {
      // Always the same count of random numbers, so that one missed reading does not change all later ones.
      const missed = random.next() < spec.missedRatio;
      const noiseC = faults.noiseC(spec.noiseC) * random.gaussian();
      const terminalC = coldEnd.celsius();
      const circuitC = faults.wired({
        tipC: byWireC(tip.beadC),
        shellC: shellC(),
        terminalC,
      });
      const shownC = circuitC + coldEnd.sensedC() - terminalC + faults.sensorOffC() + wanderedC + noiseC;
      return faults.given(missed || !isInRange(shownC) ? null : inSteps(shownC));
    },
    suffer: faults.suffer,
    mend: faults.mend,
    tipC: () => tip.beadC,
    soundC: () => byWireC((unslipped ?? tip).beadC) + wanderedC,
  };
}
