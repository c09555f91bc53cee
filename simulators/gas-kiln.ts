/**
 * A studio kiln fired by hand: a burner with a marked valve on a bottle, a damper in the flue, a door in front.
 * The flame heats the gas and the hard brick it plays on; that brick goes on giving heat after the gas is down,
 * which is why the kiln coasts.
 */
import { type BurnerSpec, type Flame, FUEL_J_PER_KG, flame, gasFlowRatio } from './burner.ts';
import {
  AIR_J_PER_KG_K,
  type ChamberSpec,
  chamber,
  chamberReading,
  LOWER_WALL,
  stirringWPerM2K,
  UPPER_WALL,
} from './chamber.ts';
import { type BottleSpec, gasBottle } from './gas-bottle.ts';
import { heatBalance, radiationWPerK, ZERO_C_IN_K } from './heat-balance.ts';
import type { KilnPlant, Mishap, Turn } from './kiln-plant.ts';
import { denseBrick, fibre, softBrick } from './materials.ts';

export interface GasKilnSpec extends BurnerSpec {
  readonly chamber: ChamberSpec;
  /** The bottle that it is fired from; one that never ends where nothing is said. */
  readonly bottle?: BottleSpec;
  /** Share of the flame's heat that goes straight into the brick it plays on. */
  readonly flameOnBrickRatio: number;
  /** Share of what it gives to the gas that goes into the lower half, where the burner sits. */
  readonly flameBelowRatio: number;
  readonly flameBrickKg: number;
  readonly flameBrickM2: number;
  /** Draught with the damper wide open and the chamber very hot, kg/s. */
  readonly draughtKgPerS: number;
  /** Share of that draught which still passes with the damper shut: burner port, gaps round the damper. */
  readonly shutDamperRatio: number;
}

const FLUE_J_PER_KG_K = 1150;
/** The flame's jet stirs the chamber; without it the gas moves by itself. From memory. */
const JET_WPERM2K = 22;
/** The jet carries along so many times its own mass round the chamber. From memory, of the order of free jets. */
const ENTRAINED_RATIO = 12;
/** So little gas keeps no flame. From memory. */
const GOES_OUT_RATIO = 0.01;
/** Burnt gas a hand's breadth thick. From memory. */
const BURNT_GAS_EMISSIVITY = 0.12;

/** About 75 litres, soft brick split and backed with fibre: lit after breakfast, cold enough to open in the evening. */
export const studioGasKiln: GasKilnSpec = {
  chamber: {
    widthM: 0.44,
    depthM: 0.42,
    heightM: 0.4,
    wall: [
      { material: softBrick, thicknessM: 0.025, cells: 3 },
      { material: fibre, thicknessM: 0.017, cells: 3 },
    ],
    door: [{ material: softBrick, thicknessM: 0.064, cells: 4 }],
    shelfKg: 8,
    shelfM2: 0.13,
    plateMm: 3,
    glassM2: 0.09,
    leakKgPerS: 0.0002,
    roomC: 18,
  },
  fullPowerW: 5200,
  excessAirRatio: 0.2,
  fullFlameDamperRatio: 0.15,
  flameOnBrickRatio: 0.5,
  flameBelowRatio: 0.6,
  flameBrickKg: 9,
  flameBrickM2: 0.08,
  draughtKgPerS: 0.0042,
  shutDamperRatio: 0.9,
};

/** The same chamber in a thick brick coat: slow to answer, cold only the next morning. */
export const heavyGasKiln: GasKilnSpec = {
  ...studioGasKiln,
  chamber: {
    ...studioGasKiln.chamber,
    wall: [
      { material: softBrick, thicknessM: 0.064, cells: 5 },
      { material: fibre, thicknessM: 0.025, cells: 3 },
    ],
    door: [{ material: softBrick, thicknessM: 0.076, cells: 4 }],
    shelfKg: 12,
  },
  fullPowerW: 6250,
  draughtKgPerS: 0.0032,
  shutDamperRatio: 0.5,
};

/** About 50 litres lined with fibre: quick up and quick down, for the demonstration. */
export const littleGasKiln: GasKilnSpec = {
  chamber: {
    widthM: 0.4,
    depthM: 0.36,
    heightM: 0.35,
    wall: [{ material: fibre, thicknessM: 0.05, cells: 6 }],
    door: [{ material: fibre, thicknessM: 0.05, cells: 4 }],
    shelfKg: 4.5,
    shelfM2: 0.11,
    plateMm: 3,
    glassM2: 0.07,
    leakKgPerS: 0.0002,
    roomC: 18,
  },
  fullPowerW: 2780,
  excessAirRatio: 0.2,
  fullFlameDamperRatio: 0.15,
  flameOnBrickRatio: 0.5,
  flameBelowRatio: 0.6,
  flameBrickKg: 5,
  flameBrickM2: 0.08,
  draughtKgPerS: 0.0032,
  shutDamperRatio: 0.6,
};

export interface GasKiln extends KilnPlant {
  controls(): GasControls;
}

export interface GasControls {
  readonly mark: number;
  readonly damperRatio: number;
  readonly doorRatio: number;
  readonly bungRatio: number;
  readonly bottleRatio: number;
  readonly lit: boolean;
}

const within = (low: number, value: number, high: number): number => Math.min(high, Math.max(low, value));

export function gasKiln(spec: GasKilnSpec): GasKiln {
  const room = chamber(spec.chamber);
  const { state } = room;
  let mark = 0;
  let damperRatio = 0.2;
  /** What a mishap leaves of the bottle's gas. */
  let bottleRatio = 1;
  let bottle = spec.bottle === undefined ? null : gasBottle(spec.bottle, spec.chamber.roomC);
  let jetRatio = 1;
  let stuck = false;
  let lit = false;
  let burning: Flame = { heatW: 0, throughKgPerS: 0 };
  let flueWPerK = 0;

  const seesM2 = spec.flameBrickM2 * 0.8;
  const balance = heatBalance(
    [
      ...room.bodies,
      {
        name: 'flame-brick',
        startC: spec.chamber.roomC,
        capacityJPerK: [{ massKg: spec.flameBrickKg, heatJPerKgK: denseBrick.heatJPerKgK }],
      },
    ],
    [
      ...room.links,
      { from: 'flame-brick', to: 'gas-down', conductanceWPerK: () => state.stirringWPerM2K * spec.flameBrickM2 },
      { from: 'flame-brick', to: LOWER_WALL, conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.4, a, b) },
      { from: 'flame-brick', to: UPPER_WALL, conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.2, a, b) },
      { from: 'flame-brick', to: 'shelf', conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.4, a, b) },
    ],
    [...room.streams, { through: ['room', 'gas-down', 'gas-up', 'room'], carriesWPerK: () => flueWPerK }],
  );
  const outdoors = balance.body('room');
  const gasUp = balance.body('gas-up');
  const gasDown = balance.body('gas-down');
  const brick = balance.body('flame-brick');
  const celsius = chamberReading(balance);
  const roomC = (): number => balance.celsius(outdoors);

  /** The draught first takes what the burner sends; what it takes beyond is cold air through the burner port. */
  function flueKgPerS(gasC: number): number {
    // The flame's jet fills the burner port; without it cold air comes in there even with the damper shut.
    const shutRatio = lit ? 0 : spec.shutDamperRatio;
    const passRatio = shutRatio + (1 - shutRatio) * damperRatio;
    const lift = Math.max(0, gasC - roomC()) / (gasC + ZERO_C_IN_K);
    return Math.max(burning.throughKgPerS, spec.draughtKgPerS * passRatio * Math.sqrt(lift));
  }

  const deliveredRatio = (): number => bottleRatio * (bottle?.ratio() ?? 1);

  function shutGas(): void {
    if (stuck) return;
    mark = 0;
    lit = false;
  }

  function turn(to: Turn): void {
    switch (to.control) {
      case 'valve':
        if (stuck) return;
        mark = within(0, to.mark, 10);
        if (mark === 0) lit = false;
        return;
      case 'damper':
        damperRatio = within(0, to.openRatio, 1);
        return;
      case 'door':
        state.doorRatio = within(0, to.openRatio, 1);
        return;
      case 'bung':
        state.bungRatio = within(0, to.openRatio, 1);
        return;
      case 'gas-off':
        shutGas();
        return;
      case 'light':
        lit = true;
        return;
      case 'new-bottle':
        bottleRatio = 1;
        if (spec.bottle !== undefined) bottle = gasBottle(spec.bottle, roomC());
        return;
      case 'switch':
        throw new RangeError('a gas kiln has no switch; turn its valve or take its gas off');
      case 'programme':
        throw new RangeError('a gas kiln has no programme; it is fired by hand');
    }
  }

  function suffer(mishap: Mishap): void {
    switch (mishap.kind) {
      case 'leak':
        state.extraLeakKgPerS = mishap.kgPerS;
        return;
      case 'room':
        balance.setEndlessC(outdoors, mishap.celsius);
        return;
      case 'bottle':
        // A regulator that creeps gives more than a full bottle should.
        bottleRatio = within(0, mishap.ratio, 3);
        return;
      case 'burner':
        jetRatio = within(0, mishap.ratio, 1);
        return;
      case 'flame-out':
        lit = false;
        return;
      case 'valve-stuck':
        stuck = mishap.stuck;
        return;
      case 'damper-slips':
        damperRatio = within(0, mishap.openRatio, 1);
        return;
      case 'mains':
      case 'element':
      case 'relay':
      case 'controller-couple':
        throw new RangeError(`a gas kiln has nothing electric that "${mishap.kind}" could befall`);
    }
  }

  return {
    step(durationS) {
      const flowRatio = gasFlowRatio(mark, deliveredRatio(), jetRatio);
      bottle?.step((flowRatio * spec.fullPowerW) / FUEL_J_PER_KG, roomC(), durationS);
      // Where no gas comes any more the flame is out, and does not light itself when gas comes again.
      if (mark > 0 && flowRatio < GOES_OUT_RATIO) lit = false;
      burning = flame(spec, flowRatio, damperRatio, lit);
      const share = burning.heatW / spec.fullPowerW;
      const upC = balance.celsius(gasUp);
      state.stirringWPerM2K = stirringWPerM2K(state.doorRatio, JET_WPERM2K * share);
      state.gasEmissivity = share > 0 ? BURNT_GAS_EMISSIVITY : 0;
      state.jetMixingWPerK = AIR_J_PER_KG_K * ENTRAINED_RATIO * burning.throughKgPerS;
      room.breathe(upC, balance.celsius(gasDown), roomC());
      flueWPerK = FLUE_J_PER_KG_K * flueKgPerS(upC);
      const intoGasW = burning.heatW * (1 - spec.flameOnBrickRatio);
      balance.heat(gasDown, intoGasW * spec.flameBelowRatio);
      balance.heat(gasUp, intoGasW * (1 - spec.flameBelowRatio));
      balance.heat(brick, burning.heatW * spec.flameOnBrickRatio);
      balance.step(durationS);
    },
    celsius,
    stirringWPerM2K: () => state.stirringWPerM2K,
    roomC,
    turn,
    suffer,
    doorIsOpen: () => state.doorRatio > 0,
    heatW: () => burning.heatW,
    controller: () => null,
    ledger: () => balance.ledger(),
    controls: () => ({
      mark,
      damperRatio,
      doorRatio: state.doorRatio,
      bungRatio: state.bungRatio,
      bottleRatio: deliveredRatio(),
      lit,
    }),
  };
}
