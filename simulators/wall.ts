/** A flat wall of one or more layers as a row of bodies: conduction across it, nothing along it. */
import type { Body, Link } from './heat-balance.ts';
import type { Material } from './materials.ts';

export interface Layer {
  readonly material: Material;
  readonly thicknessM: number;
  readonly cells: number;
}

export interface WallSpec {
  readonly name: string;
  readonly areaM2: number;
  /** From the hot face outwards. */
  readonly layers: readonly Layer[];
  readonly startC: number;
  /** Each cell is so many times as thick as the one before it, counted from the hot face of its layer. */
  readonly growthRatio?: number;
}

export interface Wall {
  readonly bodies: readonly Body[];
  readonly links: readonly Link[];
  readonly hotFace: string;
  readonly coldFace: string;
}

interface Cell {
  readonly material: Material;
  readonly thicknessM: number;
}

function cellsOf(spec: WallSpec): Cell[] {
  const growth = spec.growthRatio ?? 1;
  return spec.layers.flatMap(({ material, thicknessM, cells }) => {
    const shares: number[] = [];
    for (let i = 0, share = 1; i < cells; i++, share *= growth) shares.push(share);
    const sum = shares.reduce((a, b) => a + b, 0);
    return shares.map((share) => ({ material, thicknessM: (thicknessM * share) / sum }));
  });
}

/** Bodies sit on the cells' faces and carry half of each neighbouring cell, so both surfaces have a temperature. */
export function conductionWall(spec: WallSpec): Wall {
  const cells = cellsOf(spec);
  const nameOf = (i: number): string => `${spec.name}-${i}`;
  const bodies = Array.from({ length: cells.length + 1 }, (_, i): Body => {
    const halves = [cells[i - 1], cells[i]].filter((c) => c !== undefined);
    return {
      name: nameOf(i),
      startC: spec.startC,
      capacityJPerK: halves.map(({ material, thicknessM }) => ({
        massKg: (material.densityKgPerM3 * spec.areaM2 * thicknessM) / 2,
        heatJPerKgK: material.heatJPerKgK,
      })),
    };
  });
  const links = cells.map((cell, i): Link => {
    const { conductivityWPerMK } = cell.material;
    const perM = spec.areaM2 / cell.thicknessM;
    return {
      from: nameOf(i),
      to: nameOf(i + 1),
      conductanceWPerK: (fromC, toC) => conductivityWPerMK.at((fromC + toC) / 2) * perM,
    };
  });
  return { bodies, links, hotFace: nameOf(0), coldFace: nameOf(cells.length) };
}
