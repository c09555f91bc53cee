import { describe, expect, it } from 'vitest';
import { heatBalance, radiationWPerK } from '../../simulators/heat-balance.ts';
import { softBrick } from '../../simulators/materials.ts';
import { conductionWall } from '../../simulators/wall.ts';

describe('heat balance', () => {
  it('accounts for every joule while a brick box is heated by radiation, glows out and its brick changes its capacity', () => {
    const wall = conductionWall({
      name: 'wall',
      areaM2: 1,
      layers: [{ material: softBrick, thicknessM: 0.1, cells: 6 }],
      startC: 18,
    });
    const balance = heatBalance(
      [
        { name: 'room', startC: 18, capacityJPerK: 'endless' },
        { name: 'gas', startC: 18, capacityJPerK: 40 },
        ...wall.bodies,
      ],
      [
        ...wall.links,
        { from: 'gas', to: wall.hotFace, conductanceWPerK: (a, b) => 15 + radiationWPerK(0.2, a, b) },
        { from: wall.coldFace, to: 'room', conductanceWPerK: (a, b) => 6 + radiationWPerK(0.9, a, b) },
        { from: 'gas', to: 'room', conductanceWPerK: 2 },
      ],
    );
    for (let s = 0; s < 6 * 3600; s++) {
      balance.heat(balance.body('gas'), s < 2 * 3600 ? 4000 : 0);
      balance.step(1);
    }
    const { inJ, storedJ, lostJ } = balance.ledger();
    expect(inJ).toBeCloseTo(4000 * 7200, 3);
    expect(storedJ).toBeGreaterThan(0.05 * inJ);
    expect(lostJ).toBeGreaterThan(0.2 * inJ);
    expect(Math.abs(inJ - storedJ - lostJ)).toBeLessThan(0.001 * inJ);
  });

  it('lets a stream carry heat on to the next body only, and out of the last', () => {
    // 10 W/K of air at 20 °C through a heated body (1000 W) and a second one: both end 100 °C above the room.
    const balance = heatBalance(
      [
        { name: 'room', startC: 20, capacityJPerK: 'endless' },
        { name: 'first', startC: 20, capacityJPerK: 500 },
        { name: 'second', startC: 20, capacityJPerK: 500 },
      ],
      [],
      [{ through: ['room', 'first', 'second', 'room'], carriesWPerK: () => 10 }],
    );
    balance.heat(balance.body('first'), 1000);
    balance.step(10);
    expect(balance.celsius(balance.body('second'))).toBeLessThan(balance.celsius(balance.body('first')));
    for (let s = 0; s < 2000; s++) balance.step(1);
    expect(balance.celsius(balance.body('first'))).toBeCloseTo(120, 6);
    expect(balance.celsius(balance.body('second'))).toBeCloseTo(120, 6);
    // Heat put into the second does not reach the first.
    balance.heat(balance.body('second'), 500);
    for (let s = 0; s < 2000; s++) balance.step(1);
    expect(balance.celsius(balance.body('first'))).toBeCloseTo(120, 6);
    expect(balance.celsius(balance.body('second'))).toBeCloseTo(170, 6);
    const { inJ, storedJ, lostJ } = balance.ledger();
    expect(Math.abs(inJ - storedJ - lostJ)).toBeLessThan(1e-9 * inJ);
  });

  it('solves a star of bodies as it does a chain, whatever their order', () => {
    // One warm hub, four arms of unlike conductance into a bath at 0: the hub ends at 100 W / Σ g.
    const arms = [1, 2, 3, 4];
    const bodies = [
      { name: 'bath', startC: 0, capacityJPerK: 'endless' as const },
      ...arms.map((i) => ({ name: `arm-${i}`, startC: 5 * i, capacityJPerK: 10 })),
      { name: 'hub', startC: 50, capacityJPerK: 10 },
    ];
    for (const order of [bodies, [...bodies].reverse()]) {
      const balance = heatBalance(
        order,
        arms.flatMap((i) => [
          { from: 'hub', to: `arm-${i}`, conductanceWPerK: 2 * i },
          { from: `arm-${i}`, to: 'bath', conductanceWPerK: 2 * i },
        ]),
      );
      balance.heat(balance.body('hub'), 100);
      for (let s = 0; s < 2000; s++) balance.step(1);
      expect(balance.celsius(balance.body('hub'))).toBeCloseTo(10, 9);
      for (const i of arms) expect(balance.celsius(balance.body(`arm-${i}`))).toBeCloseTo(5, 9);
    }
  });

  it('says which body is missing when a link names one that is not there', () => {
    expect(() => heatBalance([], [{ from: 'gas', to: 'wall', conductanceWPerK: 1 }])).toThrow(/no body "gas"/);
  });
});
