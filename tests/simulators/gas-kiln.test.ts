import { describe, expect, it } from 'vitest';
import { doorwayKgPerS } from '../../simulators/chamber.ts';
import { type GasKiln, gasKiln, littleGasKiln, studioGasKiln } from '../../simulators/gas-kiln.ts';

function lit(mark: number, spec = studioGasKiln): GasKiln {
  const kiln = gasKiln(spec);
  kiln.turn({ control: 'light' });
  kiln.turn({ control: 'valve', mark });
  return kiln;
}

const shelfAndWall = (kiln: GasKiln): number => (kiln.celsius('shelf') + kiln.celsius('wall')) / 2;

/** Steps until the chamber is as hot (or as cold) as that; seconds taken. */
function runTo(kiln: GasKiln, celsius: number): number {
  const rising = shelfAndWall(kiln) < celsius;
  let s = 0;
  for (; rising ? shelfAndWall(kiln) < celsius : shelfAndWall(kiln) > celsius; s++) {
    kiln.step(1);
    if (s > 24 * 3600) throw new Error(`never reached ${celsius} °C`);
  }
  return s;
}

function climbCPerH(kiln: GasKiln): number {
  const before = shelfAndWall(kiln);
  for (let s = 0; s < 60; s++) kiln.step(1);
  return (shelfAndWall(kiln) - before) * 60;
}

function closes(kiln: GasKiln): void {
  const { inJ, storedJ, lostJ } = kiln.ledger();
  expect(Math.abs(inJ - storedJ - lostJ)).toBeLessThan(0.001 * inJ);
}

describe('the studio gas kiln', () => {
  it('climbs 300 to 500 °C an hour at 300 °C with the valve wide open, and ever slower above', () => {
    const kiln = lit(10);
    const climbs = [300, 500, 650].map((c) => {
      runTo(kiln, c);
      return climbCPerH(kiln);
    });
    expect(climbs[0]).toBeGreaterThan(300);
    expect(climbs[0]).toBeLessThan(500);
    expect(climbs[1]).toBeLessThan((climbs[0] ?? 0) * 0.8);
    expect(climbs[2]).toBeLessThan((climbs[1] ?? 0) * 0.8);
    // 2 °C a minute near the top is still to be had.
    expect(climbs[2]).toBeGreaterThan(120);
    closes(kiln);
  });

  it('coasts several degrees after the gas is turned down to where it would hold', () => {
    const kiln = lit(8);
    runTo(kiln, 640);
    const turnedDownC = shelfAndWall(kiln);
    kiln.turn({ control: 'valve', mark: 6.2 });
    for (let s = 0; s < 15 * 60; s++) kiln.step(1);
    expect(shelfAndWall(kiln) - turnedDownC).toBeGreaterThan(3);
    expect(shelfAndWall(kiln) - turnedDownC).toBeLessThan(15);
  });

  it('falls by itself from 660 to 60 °C in five to six and a half hours, gas off and damper shut', () => {
    const kiln = lit(10);
    runTo(kiln, 660);
    kiln.turn({ control: 'gas-off' });
    kiln.turn({ control: 'damper', openRatio: 0 });
    const hours = runTo(kiln, 60) / 3600;
    expect(hours).toBeGreaterThan(5);
    expect(hours).toBeLessThan(6.5);
    closes(kiln);
  });

  it('falls faster with the damper open than with it shut', () => {
    const [open, shut] = [1, 0].map((openRatio) => {
      const kiln = lit(10);
      runTo(kiln, 660);
      kiln.turn({ control: 'gas-off' });
      kiln.turn({ control: 'damper', openRatio });
      return runTo(kiln, 400);
    });
    expect(open).toBeLessThan(shut ?? 0);
  });

  it('climbs less on a sinking bottle, and loses heat when the flame is blown out though the valve is open', () => {
    const kiln = lit(8);
    runTo(kiln, 480);
    const full = climbCPerH(kiln);
    kiln.setBottle(0.75);
    for (let s = 0; s < 900; s++) kiln.step(1);
    expect(climbCPerH(kiln)).toBeLessThan(full / 2);
    kiln.blowOut();
    for (let s = 0; s < 120; s++) kiln.step(1);
    expect(climbCPerH(kiln)).toBeLessThan(-120);
  });

  it('chills its glass within seconds of the door being opened hot, and the glass comes up again after', () => {
    const kiln = lit(10);
    runTo(kiln, 350);
    kiln.turn({ control: 'gas-off' });
    runTo(kiln, 310);
    const beforeC = kiln.celsius('glass');
    kiln.turn({ control: 'door', openRatio: 0.6 });
    for (let s = 0; s < 40; s++) kiln.step(1);
    const chilledC = kiln.celsius('glass');
    expect(beforeC - chilledC).toBeGreaterThan(10);
    kiln.turn({ control: 'door', openRatio: 0 });
    for (let s = 0; s < 240; s++) kiln.step(1);
    expect(kiln.celsius('glass')).toBeGreaterThan(chilledC + 1);
    closes(kiln);
  });

  it('comes to the same curve with steps of a quarter of a second as with steps of one', () => {
    const curves = [1, 0.25].map((stepS) => {
      const kiln = lit(9);
      for (let s = 0; s < 2 * 3600; s += stepS) kiln.step(stepS);
      return kiln.celsius('glass');
    });
    expect(Math.abs((curves[0] ?? 0) - (curves[1] ?? 99))).toBeLessThan(0.3);
  });

  it('refuses a switch in one sentence, since it has none', () => {
    expect(() => lit(1).turn({ control: 'switch', on: false })).toThrow('a gas kiln has no switch');
  });
});

describe('the little gas kiln of the demonstration', () => {
  it('falls from 660 to 60 °C in under five hours with its door shut', () => {
    const kiln = lit(10, littleGasKiln);
    runTo(kiln, 660);
    kiln.turn({ control: 'gas-off' });
    kiln.turn({ control: 'damper', openRatio: 0 });
    expect(runTo(kiln, 60) / 3600).toBeLessThan(5);
    closes(kiln);
  });
});

describe('a doorway', () => {
  it('lets no air through while it is shut or while the kiln is as cold as the room', () => {
    expect(doorwayKgPerS(0, 0.4, 600, 18)).toBe(0);
    expect(doorwayKgPerS(0.1, 0.4, 18, 18)).toBe(0);
  });

  it('lets about 25 g/s through 0.1 m² at 300 °C', () => {
    // By hand: mean 432 K, air 0.817 kg/m³; 0.2 · 0.1 · 0.817 · √(9.81 · 0.4 · 282 / 432) = 0.02615.
    expect(doorwayKgPerS(0.1, 0.4, 300, 18)).toBeCloseTo(0.02615, 4);
  });
});
