import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { heatBalance } from '../../simulators/heat-balance.ts';
import { fibre, type Material, material, softBrick } from '../../simulators/materials.ts';
import { conductionWall } from '../../simulators/wall.ts';

const table = (name: string) => JSON.parse(readFileSync(new URL(`../data/heat/${name}`, import.meta.url), 'utf8'));

/** Conductivity 1 W/(m K), 1 MJ/(m³ K): diffusivity 1e-6 m²/s, for cases without dimension. */
const plain: Material = material(1000, [[0, 1000]], [[0, 1]]);

describe('a wall', () => {
  it('settles a two-layer wall at its exact steady temperatures', () => {
    // 600 °C inside, 20 °C outside; resistances 0.1 (film), 0.5, 0.2, 0.1 (film) m² K/W: 580 / 0.9 W/m².
    const layer = (conductivity: number): Material => material(1000, [[0, 1000]], [[0, conductivity]]);
    const wall = conductionWall({
      name: 'wall',
      areaM2: 2,
      layers: [
        { material: layer(0.1), thicknessM: 0.05, cells: 5 },
        { material: layer(0.25), thicknessM: 0.05, cells: 3 },
      ],
      startC: 20,
    });
    const balance = heatBalance(
      [
        { name: 'inside', startC: 600, capacityJPerK: 'endless' },
        { name: 'outside', startC: 20, capacityJPerK: 'endless' },
        ...wall.bodies,
      ],
      [
        ...wall.links,
        { from: 'inside', to: wall.hotFace, conductanceWPerK: 2 / 0.1 },
        { from: wall.coldFace, to: 'outside', conductanceWPerK: 2 / 0.1 },
      ],
    );
    for (let i = 0; i < 5000; i++) balance.step(1000);
    const fluxWPerM2 = 580 / 0.9;
    expect(balance.celsius(balance.body('wall-0'))).toBeCloseTo(600 - fluxWPerM2 * 0.1, 6);
    expect(balance.celsius(balance.body('wall-5'))).toBeCloseTo(600 - fluxWPerM2 * 0.6, 6);
    expect(balance.celsius(balance.body('wall-8'))).toBeCloseTo(600 - fluxWPerM2 * 0.8, 6);
  });

  it.each([
    ['soft brick', softBrick],
    ['fibre', fibre],
  ])(
    'settles a wall of %s, which conducts better when hot, where the integral of the conductivity says',
    (_, stuff) => {
      const wall = conductionWall({
        name: 'wall',
        areaM2: 1,
        layers: [{ material: stuff, thicknessM: 0.1, cells: 20 }],
        startC: 20,
      });
      const balance = heatBalance(
        [
          { name: 'hot', startC: 700, capacityJPerK: 'endless' },
          { name: 'cold', startC: 50, capacityJPerK: 'endless' },
          ...wall.bodies,
        ],
        [
          ...wall.links,
          { from: 'hot', to: wall.hotFace, conductanceWPerK: 1e9 },
          { from: wall.coldFace, to: 'cold', conductanceWPerK: 1e9 },
        ],
      );
      for (let i = 0; i < 3000; i++) balance.step(600);
      // Half way through, the integral of conductivity from cold to there is half of the whole.
      const integral = (c: number): number => stuff.conductivityWPerMK.integralTo(c);
      const half = (integral(700) + integral(50)) / 2;
      expect(integral(balance.celsius(balance.body('wall-10'))) / half).toBeCloseTo(1, 3);
    },
  );

  it.each([0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1, 2, 3, 5, 7, 10, 20, 50])(
    'cools a plane wall between two airs as the published series does, Bi %d, within 1 %',
    (biot) => {
      // Half of the wall, its middle a closed face: 1 m thick, so that Fourier's number is time times diffusivity.
      const row = table('plane-wall-convection.json').rows.find((r: { Bi: number }) => r.Bi === biot);
      const wall = conductionWall({
        name: 'wall',
        areaM2: 1,
        layers: [{ material: plain, thicknessM: 1, cells: 100 }],
        startC: 100,
      });
      const balance = heatBalance(
        [{ name: 'air', startC: 0, capacityJPerK: 'endless' }, ...wall.bodies],
        [...wall.links, { from: wall.hotFace, to: 'air', conductanceWPerK: biot }],
      );
      const stepS = 500;
      let timeS = 0;
      for (const [fourier, expected] of Object.entries<{ surface: number; centre: number }>(row.theta)) {
        for (; timeS < Number(fourier) * 1e6 - 1; timeS += stepS) balance.step(stepS);
        expect(Math.abs(balance.celsius(balance.body(wall.hotFace)) / 100 - expected.surface)).toBeLessThan(0.01);
        expect(Math.abs(balance.celsius(balance.body(wall.coldFace)) / 100 - expected.centre)).toBeLessThan(0.01);
      }
    },
  );

  it('lets heat into a thick wall as the error function does, within 1 % of the step', () => {
    const rows: { eta: number; erfc: number }[] = table('semi-infinite-erfc.json').table;
    const wall = conductionWall({
      name: 'wall',
      areaM2: 1,
      layers: [{ material: plain, thicknessM: 0.5, cells: 200 }],
      startC: 0,
    });
    const balance = heatBalance(
      [{ name: 'flame', startC: 100, capacityJPerK: 'endless' }, ...wall.bodies],
      [...wall.links, { from: 'flame', to: wall.hotFace, conductanceWPerK: 1e9 }],
    );
    const timeS = 10_000;
    for (let s = 0; s < timeS; s += 20) balance.step(20);
    for (const { eta, erfc } of rows.filter((r) => r.eta <= 2)) {
      const depthM = eta * 2 * Math.sqrt(1e-6 * timeS);
      const cell = Math.round(depthM / 0.0025);
      if (Math.abs(cell * 0.0025 - depthM) > 1e-9) continue;
      expect(Math.abs(balance.celsius(balance.body(`wall-${cell}`)) / 100 - erfc)).toBeLessThan(0.01);
    }
  });

  it('lets the middle of a 6 mm plate lag its heated faces as the ramped slab does', () => {
    const { rows } = table('slab-ramp-lag.json');
    const halfM = 0.003;
    const glass = material(2500, [[0, 1000]], [[0, 1]]);
    const diffusivity = 1 / (2500 * 1000);
    const wall = conductionWall({
      name: 'glass',
      areaM2: 1,
      layers: [{ material: glass, thicknessM: halfM, cells: 20 }],
      startC: 0,
    });
    const balance = heatBalance(
      [{ name: 'face', startC: 0, capacityJPerK: 'endless' }, ...wall.bodies],
      [...wall.links, { from: 'face', to: wall.hotFace, conductanceWPerK: 1e9 }],
    );
    const rampCPerS = 0.05;
    const fullLagC = (rampCPerS * halfM ** 2) / (2 * diffusivity);
    let timeS = 0;
    for (const { Fo, centre_lag_fraction } of rows.filter((r: { Fo: number }) => r.Fo >= 0.1)) {
      const untilS = (Fo * halfM ** 2) / diffusivity;
      const stepS = (untilS - timeS) / 400;
      for (let i = 0; i < 400; i++) {
        timeS += stepS;
        balance.setEndlessC(balance.body('face'), rampCPerS * timeS);
        balance.step(stepS);
      }
      const lagC = rampCPerS * timeS - balance.celsius(balance.body(wall.coldFace));
      expect(Math.abs(lagC / fullLagC - centre_lag_fraction)).toBeLessThan(0.01);
    }
  });
});
