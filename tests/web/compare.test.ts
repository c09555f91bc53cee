import { describe, expect, it } from 'vitest';
import type { CurvePoint } from '../../daemon/wire/live-messages.ts';
import { aligned } from '../../web/compare.ts';
import { EMPTY_SEARCH, queryOf } from '../../web/search-query.ts';

const hourMs = 3_600_000;
const at = (hours: number, celsius: number): CurvePoint => [1_000_000 + hours * hourMs, celsius];
const climb = [
  [at(0, 20), at(1, 120), at(2, 620)],
  [at(3, 660), at(4, 600)],
];

describe('firings laid over each other', () => {
  it('begin together, with their gaps', () => {
    expect(aligned('a', 'A', climb, { by: 'start' })?.points).toEqual([
      [0, 20],
      [1, 120],
      [2, 620],
      [2, null],
      [3, 660],
      [4, 600],
    ]);
  });

  it('meet where each climbed through a temperature, or at their peaks', () => {
    expect(aligned('a', 'A', climb, { by: 'temperature', celsius: 370 })?.points[0]).toEqual([-1.5, 20]);
    expect(aligned('a', 'A', climb, { by: 'peak' })?.points[0]).toEqual([-3, 20]);
  });

  it('are left out where they have no such moment', () => {
    expect(aligned('a', 'A', climb, { by: 'temperature', celsius: 700 })).toBeNull();
    expect(aligned('a', 'A', [], { by: 'start' })).toBeNull();
  });
});

describe('what a search asks for', () => {
  it('leaves out empty fields, and takes days as they are on the wall of the workshop', () => {
    expect(queryOf(EMPTY_SEARCH, 60, 60)).toEqual({ limit: '60' });
    const fields = { ...EMPTY_SEARCH, text: ' crack ', from: '2026-11-24', to: '2026-11-25' };
    expect(queryOf(fields, 60, 60)).toEqual({
      limit: '60',
      text: 'crack',
      from: '2026-11-23T23:00:00.000Z',
      to: '2026-11-25T23:00:00.000Z',
    });
  });
});
