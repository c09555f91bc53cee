/**
 * An electric kiln: elements in its upper and lower half behind a relay or a solid-state switch, and a controller
 * with a couple of its own that follows the schedule.
 */
import { seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import type { Schedule } from '../daemon/core/plan/schedule.ts';
import { type ChamberSpec, chamber, chamberReading, LOWER_WALL, stirringWPerM2K, UPPER_WALL } from './chamber.ts';
import { type ControllerSpec, controller } from './controller.ts';
import { type ControllerCoupleSpec, controllerCouple } from './controller-couple.ts';
import { type Body, heatBalance, type Link, radiationWPerK } from './heat-balance.ts';
import type { KilnPlant, Mishap, Turn } from './kiln-plant.ts';
import { backingBoard, fibre, softBrick } from './materials.ts';

export interface ElectricKilnSpec {
  readonly chamber: ChamberSpec;
  readonly fullPowerW: number;
  /** Share of the power, the wire and its surface that sits in the upper half, above 0 and below 1. */
  readonly aboveRatio: number;
  readonly elementKg: number;
  /** Surface of the wire that is free to radiate. */
  readonly elementM2: number;
  /** A relay switches at most once on and once off in its cycle; a solid-state switch gives any share at any time. */
  readonly switching: { readonly by: 'relay'; readonly cycleS: number } | { readonly by: 'solid-state' };
  readonly controller: ControllerSpec;
  readonly couple: ControllerCoupleSpec;
}

/** Resistance wire of iron, chromium and aluminium. From memory. */
const WIRE_J_PER_KG_K = 600;
/** Hotter than this it melts through, and gives no heat until it is replaced. From memory. */
const WIRE_MELTS_C = 1450;
/** Of what the wires radiate, so much meets shelf or glass, the rest the wall they lie in. From memory. */
const LOAD_VIEW_RATIO = 0.15;
/** Below this share of the mains voltage the controller is dead. From memory. */
const CONTROLLER_NEEDS_RATIO = 0.5;

const ourController: ControllerSpec = {
  bandC: 12,
  integralS: 600,
  windUp: 'held',
  onBrokenCouple: 'off',
  afterPowerCut: 'goes-on',
};

/** About 60 litres, top loader, soft brick, 4.4 kW. */
export const studioElectricKiln: ElectricKilnSpec = {
  chamber: {
    widthM: 0.45,
    depthM: 0.45,
    heightM: 0.3,
    wall: [
      { material: softBrick, thicknessM: 0.05, cells: 5 },
      { material: fibre, thicknessM: 0.02, cells: 2 },
    ],
    door: [{ material: softBrick, thicknessM: 0.064, cells: 4 }],
    opening: 'lid',
    shelfKg: 5,
    shelfM2: 0.15,
    plateMm: 3,
    glassM2: 0.1,
    leakKgPerS: 0.0008,
    roomC: 18,
  },
  fullPowerW: 4400,
  aboveRatio: 0.5,
  elementKg: 1.3,
  elementM2: 0.11,
  switching: { by: 'relay', cycleS: 20 },
  controller: ourController,
  couple: { looksAt: { wall: 0.4, shelf: 0.3, glass: 0.3 }, lagS: 20, noiseC: 0.15, stepC: 0.1, trimC: 0 },
};

/** About 10 litres on a household socket, for test pieces: quick up, quick down. */
export const testElectricKiln: ElectricKilnSpec = {
  chamber: {
    widthM: 0.23,
    depthM: 0.23,
    heightM: 0.19,
    wall: [
      { material: softBrick, thicknessM: 0.05, cells: 5 },
      { material: fibre, thicknessM: 0.013, cells: 2 },
    ],
    door: [{ material: softBrick, thicknessM: 0.064, cells: 4 }],
    shelfKg: 0.7,
    shelfM2: 0.035,
    plateMm: 3,
    glassM2: 0.02,
    leakKgPerS: 0.0002,
    roomC: 18,
  },
  fullPowerW: 2300,
  aboveRatio: 0.5,
  elementKg: 0.45,
  elementM2: 0.05,
  switching: { by: 'solid-state' },
  controller: { ...ourController, integralS: 400 },
  couple: {
    looksAt: { wall: 0.6, shelf: 0.2, glass: 0.2 },
    heightRatio: 0.7,
    lagS: 12,
    noiseC: 0.2,
    stepC: 1,
    trimC: 0,
  },
};

/** About 200 litres, thick soft brick backed with board: slow up, cold only the next day. */
export const bigElectricKiln: ElectricKilnSpec = {
  chamber: {
    widthM: 0.6,
    depthM: 0.55,
    heightM: 0.61,
    wall: [
      { material: softBrick, thicknessM: 0.115, cells: 6 },
      { material: backingBoard, thicknessM: 0.025, cells: 2 },
    ],
    door: [
      { material: softBrick, thicknessM: 0.115, cells: 5 },
      { material: backingBoard, thicknessM: 0.025, cells: 1 },
    ],
    shelfKg: 22,
    shelfM2: 0.26,
    plateMm: 4,
    glassM2: 0.18,
    leakKgPerS: 0.0009,
    roomC: 18,
  },
  fullPowerW: 12_000,
  aboveRatio: 0.45,
  elementKg: 4.5,
  elementM2: 0.35,
  switching: { by: 'relay', cycleS: 30 },
  controller: { ...ourController, windUp: 'free', afterPowerCut: 'starts-again' },
  couple: {
    looksAt: { wall: 0.5, shelf: 0.3, glass: 0.2 },
    heightRatio: 0.6,
    lagS: 75,
    noiseC: 0.2,
    stepC: 1,
    trimC: 0,
  },
};

/** About 110 litres lined with fibre, front loader: little heat in the wall, most of it in shelf and glass. */
export const fibreElectricKiln: ElectricKilnSpec = {
  chamber: {
    widthM: 0.55,
    depthM: 0.5,
    heightM: 0.4,
    wall: [{ material: fibre, thicknessM: 0.1, cells: 7 }],
    door: [{ material: fibre, thicknessM: 0.1, cells: 5 }],
    shelfKg: 9,
    shelfM2: 0.22,
    plateMm: 6,
    glassM2: 0.16,
    leakKgPerS: 0.0006,
    roomC: 18,
  },
  fullPowerW: 6000,
  aboveRatio: 0.65,
  elementKg: 1.8,
  elementM2: 0.16,
  switching: { by: 'solid-state' },
  controller: { ...ourController, bandC: 18, integralS: 900, onBrokenCouple: 'keeps-on', afterPowerCut: 'stays-off' },
  couple: {
    looksAt: { wall: 0.5, shelf: 0.25, glass: 0.25 },
    heightRatio: 0.75,
    lagS: 40,
    noiseC: 0.1,
    stepC: 0.1,
    trimC: 0,
  },
};

export type ElectricKiln = KilnPlant;

/** Bodies and links of the elements in one half. */
function elementsOf(spec: ElectricKilnSpec, where: 'above' | 'below', stirring: () => number): [Body, readonly Link[]] {
  const share = where === 'above' ? spec.aboveRatio : 1 - spec.aboveRatio;
  const name = `elements-${where}`;
  const m2 = spec.elementM2 * share;
  const seesM2 = m2 * 0.7;
  const coveredRatio = spec.chamber.glassM2 / spec.chamber.shelfM2;
  const sees = (to: string, ratio: number): Link => ({
    from: name,
    to,
    conductanceWPerK: (a, b) => radiationWPerK(seesM2 * ratio, a, b),
  });
  const above = where === 'above';
  const links: Link[] = [
    { from: name, to: above ? 'gas-up' : 'gas-down', conductanceWPerK: () => stirring() * 2 * m2 },
    sees(above ? UPPER_WALL : LOWER_WALL, 1 - LOAD_VIEW_RATIO),
    sees('shelf', above ? LOAD_VIEW_RATIO * (1 - coveredRatio) : LOAD_VIEW_RATIO),
  ];
  if (above) links.push(sees('glass-0', LOAD_VIEW_RATIO * coveredRatio));
  return [{ name, startC: spec.chamber.roomC, capacityJPerK: spec.elementKg * share * WIRE_J_PER_KG_K }, links];
}

/** Share of a stretch of time in which a relay is on that is on for the first part of each cycle. */
function onRatio(sinceS: number, durationS: number, cycleS: number, outputRatio: number): number {
  const onForS = outputRatio * cycleS;
  let onS = 0;
  for (let fromS = sinceS, leftS = durationS; leftS > 0; ) {
    const untilS = Math.min(cycleS, fromS + leftS);
    onS += Math.max(0, Math.min(untilS, onForS) - fromS);
    leftS -= untilS - fromS;
    fromS = 0;
  }
  return Math.min(1, onS / durationS);
}

const within = (low: number, value: number, high: number): number => Math.min(high, Math.max(low, value));

export function electricKiln(spec: ElectricKilnSpec, schedule: Schedule, seed: number): ElectricKiln {
  const room = chamber(spec.chamber);
  const { state } = room;
  const [above, aboveLinks] = elementsOf(spec, 'above', () => state.stirringWPerM2K);
  const [below, belowLinks] = elementsOf(spec, 'below', () => state.stirringWPerM2K);
  const balance = heatBalance(
    [...room.bodies, above, below],
    [...room.links, ...aboveLinks, ...belowLinks],
    room.streams,
  );
  const [outdoors, gasUp, gasDown, wireUp, wireDown] = ['room', 'gas-up', 'gas-down', above.name, below.name].map(
    (name) => balance.body(name),
  ) as [number, number, number, number, number];
  const celsius = chamberReading(balance);
  const roomC = (): number => balance.celsius(outdoors);
  const seen = { celsius, roomC, stirringWPerM2K: (): number => state.stirringWPerM2K };
  const couple = controllerCouple(spec.couple, seen, seededRandom(seed));
  const regulator = controller(spec.controller, schedule, spec.chamber.roomC);

  let switchedOn = true;
  let voltageRatio = 1;
  let relay: 'works' | 'welded' | 'open' = 'works';
  const elementRatio = { above: 1, below: 1 };
  /** Since the relay's cycle began. */
  let cycleS = 0;
  let heatW = 0;

  const volts = (): number => (switchedOn ? voltageRatio : 0);

  function onShare(durationS: number): number {
    if (relay === 'welded') return 1;
    if (relay === 'open') return 0;
    const outputRatio = regulator.outputRatio();
    if (spec.switching.by === 'solid-state') return outputRatio;
    return onRatio(cycleS, durationS, spec.switching.cycleS, outputRatio);
  }

  function burnOut(): void {
    if (balance.celsius(wireUp) > WIRE_MELTS_C) elementRatio.above = 0;
    if (balance.celsius(wireDown) > WIRE_MELTS_C) elementRatio.below = 0;
  }

  function regulate(durationS: number): void {
    couple.step(durationS);
    const shownC = couple.read();
    if (volts() < CONTROLLER_NEEDS_RATIO) regulator.losePower();
    else regulator.getPower(shownC);
    regulator.step(shownC, durationS);
  }

  function turn(to: Turn): void {
    switch (to.control) {
      case 'door':
        state.doorRatio = within(0, to.openRatio, 1);
        return;
      case 'bung':
        state.bungRatio = within(0, to.openRatio, 1);
        return;
      case 'switch':
        switchedOn = to.on;
        return;
      case 'programme':
        regulator.jump(to.segment);
        return;
      case 'valve':
      case 'damper':
      case 'gas-off':
      case 'light':
      case 'new-bottle':
        throw new RangeError(`an electric kiln has no ${to.control}; turn its switch or its lid`);
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
      case 'mains':
        voltageRatio = Math.max(0, mishap.voltageRatio);
        return;
      case 'element':
        elementRatio[mishap.where] = within(0, mishap.ratio, 1);
        return;
      case 'relay':
        relay = mishap.state;
        return;
      case 'controller-couple':
        couple.is(mishap.state);
        return;
      case 'bottle':
      case 'burner':
      case 'flame-out':
      case 'valve-stuck':
      case 'damper-slips':
        throw new RangeError(`an electric kiln has no burner that "${mishap.kind}" could befall`);
    }
  }

  return {
    step(durationS) {
      regulate(durationS);
      const share = onShare(durationS);
      if (spec.switching.by === 'relay') cycleS = (cycleS + durationS) % spec.switching.cycleS;
      burnOut();
      const fullW = spec.fullPowerW * volts() * volts() * share;
      const upW = fullW * spec.aboveRatio * elementRatio.above;
      const downW = fullW * (1 - spec.aboveRatio) * elementRatio.below;
      heatW = upW + downW;
      state.stirringWPerM2K = stirringWPerM2K(state.doorRatio, 0);
      room.breathe(balance.celsius(gasUp), balance.celsius(gasDown), roomC());
      balance.heat(wireUp, upW);
      balance.heat(wireDown, downW);
      balance.step(durationS);
    },
    celsius,
    stirringWPerM2K: seen.stirringWPerM2K,
    roomC,
    turn,
    suffer,
    doorIsOpen: () => state.doorRatio > 0,
    heatW: () => heatW,
    controller: () => regulator.readOut(),
    ledger: () => balance.ledger(),
  };
}
