import { describe, expect, it } from 'vitest';
import type { DeviceReading } from '../../simulators/device.ts';
import { rounds } from '../../simulators/line-rounds.ts';

const at = (s: number, sensor: string, celsius: number | null = 600 + s): DeviceReading => ({
  atMs: s * 1000,
  sensor,
  celsius,
});
const news = (...readings: DeviceReading[]) => ({ readings, lid: [], acts: [] });

describe('the rounds of a board', () => {
  it('hold all couples, read one after the other', () => {
    const board = rounds(['shelf', 'top']);
    expect(board.take(news(at(0, 'shelf')), 0)).toEqual([]);
    expect(board.take(news(at(0.5, 'top')), 500)).toEqual([
      { atMs: 0, readings: [at(0, 'shelf'), at(0.5, 'top')], lid: 'closed', copies: 1, count: 2 },
    ]);
  });

  it('go without a couple that has fallen silent: as the next round begins, or after two seconds', () => {
    const board = rounds(['shelf', 'top']);
    const over = board.take(news(at(0, 'shelf'), at(10, 'shelf')), 10_000);
    expect(over.map((r) => r.readings)).toEqual([[at(0, 'shelf')]]);
    expect(board.take(news(), 11_999)).toEqual([]);
    expect(board.take(news(), 12_000).map((r) => r.readings)).toEqual([[at(10, 'shelf')]]);
  });

  it('are said twice where a reading comes twice, and no round is torn by it', () => {
    const board = rounds(['shelf', 'top']);
    const over = board.take(
      news(at(0, 'shelf'), at(0, 'shelf'), at(0, 'top'), at(10, 'shelf'), at(10, 'top'), at(10, 'top')),
      10_000,
    );
    expect(over.map((r) => [r.atMs, r.readings.length, r.copies, r.count])).toEqual([
      [0, 2, 2, 3],
      [10_000, 2, 2, 3],
    ]);
  });

  it('know the lid as it was then', () => {
    const board = rounds(['shelf']);
    const lid = [
      { atMs: 5000, lid: 'open' as const },
      { atMs: 25_000, lid: 'closed' as const },
    ];
    const first = board.take({ readings: [at(0, 'shelf'), at(10, 'shelf'), at(20, 'shelf')], lid, acts: [] }, 25_000);
    expect([...first, ...board.take(news(at(30, 'shelf')), 30_000)].map((r) => r.lid)).toEqual([
      'closed',
      'open',
      'open',
      'closed',
    ]);
  });

  it('are given at the end, complete or not', () => {
    const board = rounds(['shelf', 'top']);
    board.take(news(at(0, 'top')), 0);
    expect(board.rest().map((r) => r.readings)).toEqual([[at(0, 'top')]]);
    expect(board.rest()).toEqual([]);
  });
});
