/** The glass on the shelf, as a thin wall of two cells: its face looks up, its back lies on the dusted shelf. */
import type { HeatBalance } from './heat-balance.ts';
import { sodaLimeGlass } from './materials.ts';
import { conductionWall, type Wall } from './wall.ts';

/** From pane to shelf through dust or kiln wash, W/(m² K). From memory. */
export const CONTACT_WPERM2K = 40;

export function glassPane(plateMm: number, areaM2: number, startC: number): Wall {
  return conductionWall({
    name: 'glass',
    areaM2,
    layers: [{ material: sodaLimeGlass, thicknessM: plateMm / 1000, cells: 2 }],
    startC,
  });
}

export interface PaneReading {
  faceC(): number;
  backC(): number;
  /** Mean through the pane. */
  meanC(): number;
}

export function paneReading(balance: HeatBalance): PaneReading {
  const [face, middle, back] = [0, 1, 2].map((i) => balance.body(`glass-${i}`)) as [number, number, number];
  return {
    faceC: () => balance.celsius(face),
    backC: () => balance.celsius(back),
    meanC: () => (balance.celsius(face) + 2 * balance.celsius(middle) + balance.celsius(back)) / 4,
  };
}
