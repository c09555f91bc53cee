/**
 * A studio kiln fired by hand: a burner with a marked valve on a bottle, a damper in the flue, a door in front.
 * The flame heats the gas and the hard brick it plays on; that brick goes on giving heat after the gas is down,
 * which is why the kiln coasts.
 */
import { type ChamberSpec, type ChamberState, chamberParts, HOT_FACE } from './chamber.ts';
import { heatBalance, radiationWPerK } from './heat-balance.ts';
import type { KilnPlant, Place, Turn } from './kiln-plant.ts';
import { capacityOf, denseBrick, fibre, softBrick } from './materials.ts';

export interface GasKilnSpec {
  readonly chamber: ChamberSpec;
  /** Heat of the gas burnt at mark 10 on a full bottle, lower heating value. */
  readonly fullPowerW: number;
  /** Air beyond what the flame needs, as a share of it. */
  readonly excessAirRatio: number;
  /** Share of the flame's heat that goes straight into the brick it plays on. */
  readonly flameOnBrickRatio: number;
  readonly flameBrickKg: number;
  readonly flameBrickM2: number;
  /** Draught with the damper wide open and the chamber very hot, kg/s. */
  readonly draughtKgPerS: number;
  /** Share of that draught which still passes with the damper shut: burner port, gaps round the damper. */
  readonly shutDamperRatio: number;
}

/** Propane needs 15.6 kg of air a kg and gives 46.35 MJ. From memory. */
const AIR_PER_FUEL = 15.6;
const FUEL_J_PER_KG = 46.35e6;
const FLUE_J_PER_KG_K = 1150;
/** The flame's jet stirs the chamber; without it the gas moves by itself. From memory. */
const STILL_WPERM2K = 5;
const JET_WPERM2K = 22;
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
  fullPowerW: 5500,
  excessAirRatio: 0.2,
  flameOnBrickRatio: 0.5,
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
  fullPowerW: 6500,
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
  fullPowerW: 2900,
  excessAirRatio: 0.2,
  flameOnBrickRatio: 0.5,
  flameBrickKg: 5,
  flameBrickM2: 0.08,
  draughtKgPerS: 0.0032,
  shutDamperRatio: 0.6,
};

export interface GasKiln extends KilnPlant {
  /** Gas that the bottle still delivers, as a share of a full one's: sinks as it empties or frosts. */
  setBottle(ratio: number): void;
  blowOut(): void;
  controls(): GasControls;
}

export interface GasControls {
  readonly mark: number;
  readonly damperRatio: number;
  readonly doorRatio: number;
  readonly bottleRatio: number;
  readonly lit: boolean;
}

export function gasKiln(spec: GasKilnSpec): GasKiln {
  const chamber: ChamberState = { doorRatio: 0, stirringWPerM2K: STILL_WPERM2K, gasEmissivity: 0 };
  let mark = 0;
  let damperRatio = 0.2;
  let bottleRatio = 1;
  let lit = false;

  const parts = chamberParts(spec.chamber, chamber);
  const flameBrick = {
    name: 'flame-brick',
    startC: spec.chamber.roomC,
    capacityJPerK: capacityOf(denseBrick, spec.flameBrickKg),
  };
  const burnsW = (): number => (lit ? (spec.fullPowerW * bottleRatio * mark) / 10 : 0);
  const flueWPerK = (gasC: number, roomC: number): number => {
    const burntKgPerS = (burnsW() / FUEL_J_PER_KG) * (1 + AIR_PER_FUEL * (1 + spec.excessAirRatio));
    // The flame's jet fills the burner port; without it cold air comes in there even with the damper shut.
    const shutRatio = lit ? 0 : spec.shutDamperRatio;
    const passRatio = shutRatio + (1 - shutRatio) * damperRatio;
    const draughtKgPerS = spec.draughtKgPerS * passRatio * Math.sqrt(Math.max(0, gasC - roomC) / (gasC + 273.15));
    // The draught first takes the burnt gas; what it takes beyond is cold air through the burner port.
    return FLUE_J_PER_KG_K * Math.max(burntKgPerS, draughtKgPerS);
  };
  const seesM2 = spec.flameBrickM2 * 0.8;
  const balance = heatBalance(
    [...parts.bodies, flameBrick],
    [
      ...parts.links,
      { from: 'flame-brick', to: 'gas', conductanceWPerK: () => chamber.stirringWPerM2K * spec.flameBrickM2 },
      { from: 'flame-brick', to: HOT_FACE, conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.6, a, b) },
      { from: 'flame-brick', to: 'shelf', conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.4, a, b) },
      { from: 'gas', to: 'room', conductanceWPerK: flueWPerK },
    ],
  );
  const gas = balance.body('gas');
  const brick = balance.body('flame-brick');
  const places: Readonly<Record<Place, number>> = {
    gas,
    wall: balance.body(HOT_FACE),
    shelf: balance.body('shelf'),
    glass: balance.body('glass'),
  };

  function turn(to: Turn): void {
    switch (to.control) {
      case 'valve':
        mark = Math.min(10, Math.max(0, to.mark));
        if (mark === 0) lit = false;
        return;
      case 'damper':
        damperRatio = to.openRatio;
        return;
      case 'door':
        chamber.doorRatio = to.openRatio;
        return;
      case 'gas-off':
        mark = 0;
        lit = false;
        return;
      case 'light':
        lit = true;
        return;
      case 'new-bottle':
        bottleRatio = 1;
        return;
      case 'switch':
        throw new RangeError('a gas kiln has no switch; turn its valve or take its gas off');
    }
  }

  return {
    step(durationS) {
      const share = burnsW() / spec.fullPowerW;
      chamber.stirringWPerM2K = STILL_WPERM2K + JET_WPERM2K * share + 25 * chamber.doorRatio;
      chamber.gasEmissivity = share > 0 ? BURNT_GAS_EMISSIVITY : 0;
      balance.heat(gas, burnsW() * (1 - spec.flameOnBrickRatio));
      balance.heat(brick, burnsW() * spec.flameOnBrickRatio);
      balance.step(durationS);
    },
    celsius: (place) => balance.celsius(places[place]),
    stirringWPerM2K: () => chamber.stirringWPerM2K,
    turn,
    doorIsOpen: () => chamber.doorRatio > 0,
    ledger: () => balance.ledger(),
    setBottle(ratio) {
      bottleRatio = ratio;
    },
    blowOut() {
      lit = false;
    },
    controls: () => ({ mark, damperRatio, doorRatio: chamber.doorRatio, bottleRatio, lit }),
  };
}
