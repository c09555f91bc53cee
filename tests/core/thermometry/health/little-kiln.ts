/** A kiln of two parts, quick gas and slow wall, that follows a programme; just enough to watch couples in. */
import type { Measured } from '../../../../simulators/thermocouple.ts';

export type Leg =
  /** Nobody has lit it yet. */
  | { readonly does: 'wait'; readonly forS: number }
  | { readonly does: 'climb'; readonly toC: number; readonly perH: number }
  | { readonly does: 'hold'; readonly forS: number }
  | { readonly does: 'let-fall'; readonly toC: number };

export interface Door {
  readonly fromS: number;
  readonly forS: number;
  readonly openRatio: number;
}

export interface LittleKiln extends Measured {
  step(): void;
  leg(): Leg | null;
  /** Seconds in the present leg. */
  inLegS(): number;
  isOpen(): boolean;
}

const ROOM_C = 19;
const FULL_C_PER_S = 3.2;
const BAND_C = 10;

export function littleKiln(legs: readonly Leg[], doors: readonly Door[] = []): LittleKiln {
  let s = 0;
  let index = 0;
  let legS = 0;
  let gasC = ROOM_C;
  let wallC = ROOM_C;
  let setC = ROOM_C;
  const door = (): number =>
    Math.max(0, ...doors.filter((d) => s >= d.fromS && s < d.fromS + d.forS).map((d) => d.openRatio));

  function follow(): boolean {
    const leg = legs[index];
    if (leg === undefined || leg.does === 'wait' || leg.does === 'let-fall') {
      setC = gasC;
      return false;
    }
    if (leg.does === 'climb') setC = Math.min(leg.toC, setC + leg.perH / 3600);
    return true;
  }

  function isOver(leg: Leg): boolean {
    switch (leg.does) {
      case 'wait':
      case 'hold':
        return legS >= leg.forS;
      case 'climb':
        return setC >= leg.toC && gasC >= leg.toC - 8;
      case 'let-fall':
        return wallC <= leg.toC;
    }
  }

  return {
    step() {
      s += 1;
      legS += 1;
      const isHeated = follow();
      const heatCPerS = isHeated ? Math.min(Math.max((setC - gasC) / BAND_C, 0), 1) * FULL_C_PER_S : 0;
      gasC += heatCPerS + (wallC - gasC) / 20 - (door() * (gasC - ROOM_C)) / 8;
      wallC += (gasC - wallC) / 600 - (wallC - ROOM_C) / 12_000 - (door() * (wallC - ROOM_C)) / 4000;
      const leg = legs[index];
      if (leg !== undefined && isOver(leg)) {
        index += 1;
        legS = 0;
      }
    },
    leg: () => legs[index] ?? null,
    inLegS: () => legS,
    isOpen: () => door() > 0,
    /** A tenth hotter under the roof than at the floor, in the gas; a twentieth in the wall. */
    celsius(place, heightRatio = 0.5) {
      const here = place === 'gas' ? gasC : wallC;
      const share = place === 'gas' ? 0.1 : 0.05;
      return here + share * (heightRatio - 0.5) * (here - ROOM_C);
    },
    stirringWPerM2K: () => 8,
    roomC: () => ROOM_C,
  };
}
