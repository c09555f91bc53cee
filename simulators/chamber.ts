/**
 * The chamber that gas and electric kilns share: gas, wall, door, shelf and glass, and what passes between them and
 * the room. Dimensions are of the inside. Coefficients without a source are from memory.
 */
import { type Body, type Link, radiationWPerK } from './heat-balance.ts';
import { capacityOf, cordierite, sodaLimeGlass } from './materials.ts';
import { conductionWall, type Layer } from './wall.ts';

export interface ChamberSpec {
  readonly widthM: number;
  readonly depthM: number;
  readonly heightM: number;
  readonly wall: readonly Layer[];
  readonly door: readonly Layer[];
  readonly shelfKg: number;
  readonly shelfM2: number;
  readonly plateMm: number;
  /** Shelf covered with glass. */
  readonly glassM2: number;
  /** Air through gaps and ports when everything is shut, kg/s. */
  readonly leakKgPerS: number;
  readonly roomC: number;
}

/** What changes while the kiln fires; the links read it at each step. */
export interface ChamberState {
  /** 0 shut … 1 wide open. */
  doorRatio: number;
  /** How the gas in the chamber is stirred, W/(m² K). */
  stirringWPerM2K: number;
  /** Emissivity of the gas: burnt gas radiates, air does not. */
  gasEmissivity: number;
}

export const HOT_FACE = 'wall-0';
const DOOR_FACE = 'door-0';
const AIR_J_PER_KG_K = 1040;
const GRAVITY = 9.81;
/** Free convection outside a warm wall, W/(m² K). From memory. */
const OUTSIDE_WPERM2K = 6;
/** Emissivity of brick, shelf and glass in a hot enclosure, taken together. From memory. */
const EMISSIVITY = 0.8;
/** Wall and brick conduct through more area than the inside shows, since corners splay outwards. From memory. */
const CORNER_RATIO = 1.35;
/** Glass lies on a dusted shelf. From memory. */
const CONTACT_WPERM2K = 40;

export function doorAreaM2(spec: ChamberSpec): number {
  return spec.widthM * spec.heightM;
}

export function wallAreaM2(spec: ChamberSpec): number {
  const { widthM, depthM, heightM } = spec;
  return 2 * (widthM * depthM + widthM * heightM + depthM * heightM) - doorAreaM2(spec);
}

/**
 * Air that changes places through an upright opening, kg/s: a third of the orifice flow on each half of its height,
 * hot out above, cold in below. Form and the coefficient 0.6 from memory (natural exchange through a doorway).
 */
export function doorwayKgPerS(openM2: number, heightM: number, insideC: number, roomC: number): number {
  if (openM2 <= 0 || insideC <= roomC) return 0;
  const insideK = insideC + 273.15;
  const meanK = (insideK + roomC + 273.15) / 2;
  const airKgPerM3 = 353 / meanK;
  return (0.6 / 3) * openM2 * airKgPerM3 * Math.sqrt((GRAVITY * heightM * (insideC - roomC)) / meanK);
}

export function chamberParts(spec: ChamberSpec, state: ChamberState): { bodies: Body[]; links: Link[] } {
  const { roomC } = spec;
  const doorM2 = doorAreaM2(spec);
  const wallM2 = wallAreaM2(spec);
  const wall = conductionWall({
    name: 'wall',
    areaM2: wallM2 * CORNER_RATIO,
    layers: spec.wall,
    startC: roomC,
    growthRatio: 1.5,
  });
  const door = conductionWall({
    name: 'door',
    areaM2: doorM2 * CORNER_RATIO,
    layers: spec.door,
    startC: roomC,
    growthRatio: 1.7,
  });
  const gasKg = (spec.widthM * spec.depthM * spec.heightM * 353) / (roomC + 273);
  const glassKg = (sodaLimeGlass.densityKgPerM3 * spec.glassM2 * spec.plateMm) / 1000;
  const bodies: Body[] = [
    { name: 'room', startC: roomC, capacityJPerK: 'endless' },
    { name: 'gas', startC: roomC, capacityJPerK: gasKg * AIR_J_PER_KG_K },
    { name: 'shelf', startC: roomC, capacityJPerK: capacityOf(cordierite, spec.shelfKg) },
    { name: 'glass', startC: roomC, capacityJPerK: capacityOf(sodaLimeGlass, glassKg) },
    ...wall.bodies,
    ...door.bodies,
  ];

  const shutRatio = (): number => 1 - state.doorRatio;
  const gasTo =
    (areaM2: number, share: () => number = () => 1) =>
    (fromC: number, toC: number): number =>
      share() * (state.stirringWPerM2K * areaM2 + radiationWPerK(state.gasEmissivity * areaM2, fromC, toC));
  const radiates =
    (areaM2: number, share: () => number = () => 1) =>
    (fromC: number, toC: number): number =>
      radiationWPerK(EMISSIVITY * areaM2 * share(), fromC, toC);
  // Both faces of the shelf, less what lies under glass.
  const shelfM2 = 2 * spec.shelfM2 - spec.glassM2;
  const openM2 = (): number => doorM2 * state.doorRatio;

  const links: Link[] = [
    ...wall.links,
    ...door.links,
    { from: 'gas', to: HOT_FACE, conductanceWPerK: gasTo(wallM2) },
    { from: 'gas', to: DOOR_FACE, conductanceWPerK: gasTo(doorM2, shutRatio) },
    { from: 'gas', to: 'shelf', conductanceWPerK: gasTo(shelfM2) },
    { from: 'gas', to: 'glass', conductanceWPerK: gasTo(spec.glassM2) },
    { from: HOT_FACE, to: 'shelf', conductanceWPerK: radiates(shelfM2) },
    { from: HOT_FACE, to: 'glass', conductanceWPerK: radiates(spec.glassM2) },
    { from: HOT_FACE, to: DOOR_FACE, conductanceWPerK: radiates(doorM2, shutRatio) },
    { from: 'shelf', to: 'glass', conductanceWPerK: CONTACT_WPERM2K * spec.glassM2 },
    { from: wall.coldFace, to: 'room', conductanceWPerK: outside(wallM2 * CORNER_RATIO ** 2) },
    { from: door.coldFace, to: 'room', conductanceWPerK: outside(doorM2 * CORNER_RATIO ** 2) },
    // Through the open door: the chamber radiates out of the hole, the door's own face looks at the room.
    { from: HOT_FACE, to: 'room', conductanceWPerK: radiates(0.7, openM2) },
    { from: 'shelf', to: 'room', conductanceWPerK: radiates(0.2, openM2) },
    { from: 'glass', to: 'room', conductanceWPerK: radiates(0.1, openM2) },
    {
      from: DOOR_FACE,
      to: 'room',
      conductanceWPerK: (fromC, toC) => outside(doorM2)(fromC, toC) * state.doorRatio,
    },
    {
      from: 'gas',
      to: 'room',
      conductanceWPerK: (gasC) =>
        AIR_J_PER_KG_K * (spec.leakKgPerS + doorwayKgPerS(openM2(), spec.heightM, gasC, roomC)),
    },
  ];
  return { bodies, links };
}

function outside(areaM2: number): (fromC: number, toC: number) => number {
  return (fromC, toC) => OUTSIDE_WPERM2K * areaM2 + radiationWPerK(0.9 * areaM2, fromC, toC);
}
