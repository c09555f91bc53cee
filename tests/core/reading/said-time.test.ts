import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { saidTimeMs } from '../../../daemon/core/reading/said-time.ts';

const instant = fc.integer({ min: Date.UTC(1970, 0, 1), max: Date.UTC(2199, 11, 31) });

describe('the time that a board gives', () => {
  it.each([
    [1_773_478_800, Date.UTC(2026, 2, 14, 9)],
    [1_773_478_800.25, Date.UTC(2026, 2, 14, 9) + 250],
    [1_773_478_800_123, Date.UTC(2026, 2, 14, 9) + 123],
    [1_773_478_800_123_456, Date.UTC(2026, 2, 14, 9) + 123],
    ['1773478800', Date.UTC(2026, 2, 14, 9)],
    ['2026-03-14T10:00:00+01:00', Date.UTC(2026, 2, 14, 9)],
    ['2026-03-14T03:30:00-0530', Date.UTC(2026, 2, 14, 9)],
    ['2026-03-14 09:00:00.5Z', Date.UTC(2026, 2, 14, 9) + 500],
    ['2024-02-29T09:00Z', Date.UTC(2024, 1, 29, 9)],
    // Since it was switched on: an order, though no time of day.
    [12.5, 12_500],
  ])('is understood as %s', (value, ms) => {
    expect(saidTimeMs(value)).toBe(ms);
  });

  it.each([
    ['09:00:00'],
    ['2026-03-14T09:00:00'],
    ['2026-02-29T09:00:00Z'],
    ['2026-13-01T09:00:00Z'],
    ['2026-03-14T24:00:00Z'],
    ['yesterday'],
    [''],
    [-5],
    [Number.NaN],
    [true],
    [{}],
    [null],
  ])('is refused as %s: a time of day without a zone, or none at all', (value) => {
    expect(saidTimeMs(value)).toBeUndefined();
  });

  it('is the same however it is written', () => {
    fc.assert(
      fc.property(instant, (ms) => {
        expect(saidTimeMs(new Date(ms).toISOString())).toBe(ms);
        if (ms >= 1e11) expect(saidTimeMs(ms)).toBe(ms);
      }),
      { seed: 5, numRuns: 3000 },
    );
  });

  it('is never invented', () => {
    fc.assert(
      fc.property(fc.anything(), (value) => {
        const ms = saidTimeMs(value);
        expect(ms === undefined || (Number.isInteger(ms) && ms >= 0)).toBe(true);
      }),
      { seed: 6, numRuns: 3000 },
    );
  });
});
