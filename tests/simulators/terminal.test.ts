import { describe, expect, it } from 'vitest';
import { perfectTerminal, type Terminal, type TerminalSpec, terminal } from '../../simulators/terminal.ts';

const block: TerminalSpec = { shellRatio: 0.5, lagS: 600, sensorLagS: 120, compensatedRatio: 1 };

function run(t: Terminal, forS: number, roomC: number, shellC: number): void {
  for (let s = 0; s < forS; s++) t.step(1, roomC, shellC, null);
}
const errorC = (t: Terminal): number => t.sensedC() - t.celsius();

describe('the terminals of a couple', () => {
  it('make no error where they are perfect, whatever the room does', () => {
    const t = terminal(perfectTerminal, 20, 20);
    for (const roomC of [25, 3, 31]) {
      t.step(1, roomC, 70, null);
      expect(t.celsius()).toBe(roomC);
      expect(errorC(t)).toBe(0);
    }
  });

  it('come to stand between room and shell, ten minutes late', () => {
    const t = terminal(block, 20, 20);
    run(t, 600, 20, 60);
    expect(t.celsius()).toBeCloseTo(20 + 20 * (1 - Math.exp(-1)), 1);
    run(t, 6000, 20, 60);
    expect(t.celsius()).toBeCloseTo(40, 1);
  });

  it('make the reading too low by rate times lag while they warm: 12 °C/h and 120 s make 0.4 °C', () => {
    const t = terminal({ ...block, shellRatio: 0 }, 20, 20);
    for (let s = 1; s <= 7200; s++) t.step(1, 20 + (12 * s) / 3600, 20, null);
    expect(errorC(t)).toBeCloseTo(-0.4, 2);
  });

  it('make 1 °C of error for 20 °C above the bench where a twentieth is not compensated', () => {
    const t = terminal({ ...perfectTerminal, compensatedRatio: 0.95 }, 20, 20);
    t.step(1, 40, 40, null);
    expect(errorC(t)).toBeCloseTo(-1, 9);
    t.step(1, 20, 20, null);
    expect(errorC(t)).toBeCloseTo(0, 9);
  });

  it('warmed by a lamp by 15 °C, a third of it felt, take 10 °C from the reading, and give it back', () => {
    const t = terminal(block, 20, 20);
    for (let s = 0; s < 9000; s++) t.step(1, 20, 20, { byC: 15, feltRatio: 1 / 3 });
    expect(t.celsius()).toBeCloseTo(35, 1);
    expect(errorC(t)).toBeCloseTo(-10, 1);
    run(t, 60, 20, 20);
    expect(errorC(t)).toBeGreaterThan(-10);
    run(t, 9000, 20, 20);
    expect(errorC(t)).toBeCloseTo(0, 1);
  });
});
