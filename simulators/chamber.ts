/**
 * The chamber that gas and electric kilns share: an upper and a lower half, each with its gas and its wall, the door
 * or lid, a shelf half way up with glass on it, and what passes between them and the room. Dimensions are of the
 * inside. Coefficients without a source are from memory.
 */
import { CONTACT_WPERM2K, glassPane, paneReading } from './glass-pane.ts';
import { type Body, type HeatBalance, type Link, radiationWPerK, type Stream } from './heat-balance.ts';
import type { Place } from './kiln-plant.ts';
import { cordierite } from './materials.ts';
import { doorwayKgPerS, draughtRatio, hatchKgPerS, spyholeKgPerS } from './openings.ts';
import { conductionWall, type Layer } from './wall.ts';

export interface ChamberSpec {
  readonly widthM: number;
  readonly depthM: number;
  readonly heightM: number;
  readonly wall: readonly Layer[];
  readonly door: readonly Layer[];
  /** A door in front (the default) or a lid on top. */
  readonly opening?: 'door' | 'lid';
  readonly shelfKg: number;
  readonly shelfM2: number;
  readonly plateMm: number;
  /** Shelf covered with glass. */
  readonly glassM2: number;
  /** Air through gaps and ports when everything is shut, kg/s at 600 °C; less with less draught. */
  readonly leakKgPerS: number;
  /** The spyhole with its bung out; that of a finger-wide hole where nothing is said. */
  readonly spyholeM2?: number;
  readonly roomC: number;
}

/** What changes while the kiln fires; links and streams read it at each step. */
export interface ChamberState {
  /** 0 shut … 1 wide open. */
  doorRatio: number;
  bungRatio: number;
  /** Beyond `leakKgPerS`, at 600 °C. */
  extraLeakKgPerS: number;
  /** How the gas in the chamber is stirred, W/(m² K). */
  stirringWPerM2K: number;
  /** Gas that a jet drives round between the halves, W/K. */
  jetMixingWPerK: number;
  /** Emissivity of the gas: burnt gas radiates, air does not. */
  gasEmissivity: number;
}

export interface Chamber {
  readonly bodies: readonly Body[];
  readonly links: readonly Link[];
  readonly streams: readonly Stream[];
  readonly state: ChamberState;
  /** Before each step: how much air the openings and gaps let through at these temperatures. */
  breathe(gasUpC: number, gasDownC: number, roomC: number): void;
}

export const UPPER_WALL = 'wall-up-0';
export const LOWER_WALL = 'wall-down-0';
export const AIR_J_PER_KG_K = 1040;
/** Air that moves by itself in a hot chamber, W/(m² K). From memory. */
export const STILL_WPERM2K = 5;
/** Wind through an open door, W/(m² K) when it stands wide open. From memory. */
const DOOR_WIND_WPERM2K = 25;

const DOOR_FACE = 'door-0';
/** Emissivity of brick, shelf and glass in a hot enclosure, taken together. From memory. */
const EMISSIVITY = 0.8;
/** Wall and brick conduct through more area than the inside shows, since corners splay outwards. From memory. */
const CORNER_RATIO = 1.35;
const SPYHOLE_M2 = 0.0007;
/** A hole as deep as the wall lets out this share of what an open hole would radiate. From memory. */
const DEEP_HOLE_RATIO = 0.5;
/** Gas rises through the level between the halves when it is hotter below, and hardly when it is hotter above. */
const RISING_WPERM2K = 40;
const LAYERED_WPERM2K = 4;

export function doorAreaM2(spec: ChamberSpec): number {
  return spec.opening === 'lid' ? spec.widthM * spec.depthM : spec.widthM * spec.heightM;
}

/** Inside face of the upper and the lower half without the door or lid. */
export function wallAreasM2(spec: ChamberSpec): { upM2: number; downM2: number } {
  const { widthM, depthM, heightM } = spec;
  const floorM2 = widthM * depthM;
  const sidesM2 = 2 * (widthM + depthM) * heightM;
  if (spec.opening === 'lid') return { upM2: sidesM2 / 2, downM2: sidesM2 / 2 + floorM2 };
  const half = (sidesM2 - doorAreaM2(spec)) / 2 + floorM2;
  return { upM2: half, downM2: half };
}

function chamberBodies(spec: ChamberSpec): { bodies: Body[]; links: Link[] } {
  const { roomC } = spec;
  const { upM2, downM2 } = wallAreasM2(spec);
  const coat = (name: string, areaM2: number, layers: readonly Layer[], growthRatio: number) =>
    conductionWall({ name, areaM2: areaM2 * CORNER_RATIO, layers, startC: roomC, growthRatio });
  const walls = [
    { wall: coat('wall-up', upM2, spec.wall, 1.5), outsideM2: upM2 },
    { wall: coat('wall-down', downM2, spec.wall, 1.5), outsideM2: downM2 },
    { wall: coat('door', doorAreaM2(spec), spec.door, 1.7), outsideM2: doorAreaM2(spec) },
  ];
  const pane = glassPane(spec.plateMm, spec.glassM2, roomC);
  const gasKg = (spec.widthM * spec.depthM * spec.heightM * 353) / (roomC + 273);
  const gas = (name: string): Body => ({ name, startC: roomC, capacityJPerK: (gasKg / 2) * AIR_J_PER_KG_K });
  const shelf: Body = {
    name: 'shelf',
    startC: roomC,
    capacityJPerK: [{ massKg: spec.shelfKg, heatJPerKgK: cordierite.heatJPerKgK }],
  };
  return {
    bodies: [
      { name: 'room', startC: roomC, capacityJPerK: 'endless' },
      gas('gas-up'),
      gas('gas-down'),
      shelf,
      ...pane.bodies,
      ...walls.flatMap(({ wall }) => wall.bodies),
    ],
    links: [
      ...pane.links,
      ...walls.flatMap(({ wall }) => wall.links),
      ...walls.map(({ wall, outsideM2 }) => ({
        from: wall.coldFace,
        to: 'room',
        conductanceWPerK: outside(outsideM2 * CORNER_RATIO * CORNER_RATIO, spec.heightM),
      })),
      { from: pane.coldFace, to: 'shelf', conductanceWPerK: CONTACT_WPERM2K * spec.glassM2 },
    ],
  };
}

export function chamber(spec: ChamberSpec): Chamber {
  const state: ChamberState = {
    doorRatio: 0,
    bungRatio: 0,
    extraLeakKgPerS: 0,
    stirringWPerM2K: STILL_WPERM2K,
    jetMixingWPerK: 0,
    gasEmissivity: 0,
  };
  const { bodies, links } = chamberBodies(spec);
  const isLid = spec.opening === 'lid';
  const doorM2 = doorAreaM2(spec);
  const { upM2, downM2 } = wallAreasM2(spec);
  const floorM2 = spec.widthM * spec.depthM;
  const spyholeM2 = spec.spyholeM2 ?? SPYHOLE_M2;
  const bareM2 = spec.shelfM2 - spec.glassM2;
  const doorUpRatio = isLid ? 1 : 0.5;

  const always = (): number => 1;
  const shutRatio = (): number => 1 - state.doorRatio;
  type Share = () => number;
  const gasTo = (gas: 'gas-up' | 'gas-down', to: string, areaM2: number, share: Share = always): Link => ({
    from: gas,
    to,
    conductanceWPerK: (fromC, toC) =>
      share() * (state.stirringWPerM2K * areaM2 + radiationWPerK(state.gasEmissivity * areaM2, fromC, toC)),
  });
  const sees = (from: string, to: string, areaM2: number, share: Share = always): Link => ({
    from,
    to,
    conductanceWPerK: (fromC, toC) => radiationWPerK(EMISSIVITY * areaM2 * share(), fromC, toC),
  });
  const openM2 = (): number => doorM2 * state.doorRatio;
  /** What radiates out of the open door or lid, and how much of the opening shows it. */
  const coveredRatio = spec.shelfM2 > 0 ? spec.glassM2 / spec.shelfM2 : 0;
  const shown: readonly (readonly [string, number])[] = isLid
    ? [
        [UPPER_WALL, 0.4],
        ['shelf', 0.6 * (1 - coveredRatio)],
        ['glass-0', 0.6 * coveredRatio],
      ]
    : [
        [UPPER_WALL, 0.4],
        [LOWER_WALL, 0.3],
        ['shelf', 0.2],
        ['glass-0', 0.1],
      ];
  const spyhole = (from: string): Link => ({
    from,
    to: 'room',
    conductanceWPerK: (a, b) =>
      state.bungRatio === 0 ? 0 : radiationWPerK((DEEP_HOLE_RATIO * spyholeM2 * state.bungRatio) / 2, a, b),
  });
  const doorOutside = outside(doorM2, spec.heightM);

  links.push(
    gasTo('gas-up', UPPER_WALL, upM2),
    gasTo('gas-down', LOWER_WALL, downM2),
    gasTo('gas-up', DOOR_FACE, doorM2 * doorUpRatio, shutRatio),
    gasTo('gas-up', 'shelf', bareM2),
    gasTo('gas-down', 'shelf', spec.shelfM2),
    gasTo('gas-up', 'glass-0', spec.glassM2),
    sees(UPPER_WALL, 'shelf', bareM2),
    sees(LOWER_WALL, 'shelf', spec.shelfM2),
    sees(UPPER_WALL, 'glass-0', spec.glassM2),
    sees(UPPER_WALL, DOOR_FACE, doorM2 * doorUpRatio, shutRatio),
    // Round the edge of the shelf the halves see each other.
    sees(UPPER_WALL, LOWER_WALL, Math.max(0.1 * floorM2, floorM2 - spec.shelfM2)),
    {
      from: 'gas-up',
      to: 'gas-down',
      conductanceWPerK: (upC, downC) =>
        state.jetMixingWPerK + floorM2 * (downC > upC ? RISING_WPERM2K : LAYERED_WPERM2K),
    },
    ...shown.map(([from, ratio]) => sees(from, 'room', ratio, openM2)),
    { from: DOOR_FACE, to: 'room', conductanceWPerK: (a, b) => doorOutside(a, b) * state.doorRatio },
    spyhole(UPPER_WALL),
    spyhole(LOWER_WALL),
  );
  if (!isLid) {
    links.push(
      gasTo('gas-down', DOOR_FACE, doorM2 * 0.5, shutRatio),
      sees(LOWER_WALL, DOOR_FACE, doorM2 * 0.5, shutRatio),
    );
  }

  let throughDoorWPerK = 0;
  let throughGapsWPerK = 0;
  const streams: Stream[] = [
    {
      through: isLid ? ['room', 'gas-up', 'room'] : ['room', 'gas-down', 'gas-up', 'room'],
      carriesWPerK: () => throughDoorWPerK,
    },
    { through: ['room', 'gas-down', 'gas-up', 'room'], carriesWPerK: () => throughGapsWPerK },
  ];
  return {
    bodies,
    links,
    streams,
    state,
    breathe(gasUpC, gasDownC, roomC) {
      const meanC = (gasUpC + gasDownC) / 2;
      const doorKgPerS = isLid
        ? hatchKgPerS(openM2(), gasUpC, roomC)
        : doorwayKgPerS(openM2(), spec.heightM, meanC, roomC);
      throughDoorWPerK = AIR_J_PER_KG_K * doorKgPerS;
      const gapsKgPerS = (spec.leakKgPerS + state.extraLeakKgPerS) * draughtRatio(meanC, roomC);
      throughGapsWPerK =
        AIR_J_PER_KG_K * (gapsKgPerS + spyholeKgPerS(spyholeM2 * state.bungRatio, spec.heightM, meanC, roomC));
    },
  };
}

/** Stirring by still air, the wind through an open door, and whatever else the kiln adds. */
export function stirringWPerM2K(doorRatio: number, more: number): number {
  return STILL_WPERM2K + DOOR_WIND_WPERM2K * doorRatio + more;
}

/**
 * Outside of a warm wall: free convection 1.42 (ΔT/L)^(1/4) W/(m² K) along an upright plate (a textbook's simplified
 * form, from memory), at least 2 in the draught of a room, and radiation.
 */
function outside(areaM2: number, heightM: number): (fromC: number, toC: number) => number {
  return (fromC, toC) => {
    const freeWPerM2K = 1.42 * Math.sqrt(Math.sqrt(Math.abs(fromC - toC) / heightM));
    return Math.max(2, freeWPerM2K) * areaM2 + radiationWPerK(0.9 * areaM2, fromC, toC);
  };
}

/** Reads temperatures out of a balance that holds a chamber. */
export function chamberReading(balance: HeatBalance): (place: Place, heightRatio?: number) => number {
  const at = (name: string): number => balance.body(name);
  const halves = { gas: [at('gas-up'), at('gas-down')], wall: [at(UPPER_WALL), at(LOWER_WALL)] } as const;
  const shelf = at('shelf');
  const pane = paneReading(balance);
  return (place, heightRatio = 0.5) => {
    switch (place) {
      case 'gas':
      case 'wall': {
        const upC = balance.celsius(halves[place][0]);
        const downC = balance.celsius(halves[place][1]);
        // The halves' own temperatures hold at their middles; beyond them nothing hotter or colder is made up.
        const upRatio = Math.min(1, Math.max(0, heightRatio * 2 - 0.5));
        return downC + (upC - downC) * upRatio;
      }
      case 'shelf':
        return balance.celsius(shelf);
      case 'glass':
        return pane.meanC();
      case 'glass-face':
        return pane.faceC();
      case 'glass-back':
        return pane.backC();
    }
  };
}
