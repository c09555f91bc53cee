import { describe, expect, it } from 'vitest';
import { timeOfDay } from '../../../daemon/core/numbers/time-of-day.ts';

describe('the time on the wall', () => {
  it('is that of the workshop, east and west of Greenwich, across midnight', () => {
    const at = (hour: number, minute: number): number => Date.UTC(2026, 2, 14, hour, minute, 59, 999);
    expect(timeOfDay(at(14, 5), 0)).toBe('14:05');
    expect(timeOfDay(at(23, 30), 60)).toBe('00:30');
    expect(timeOfDay(at(0, 10), -210)).toBe('20:40');
    expect(timeOfDay(at(18, 40), 345)).toBe('00:25');
    expect(timeOfDay(-1, 0)).toBe('23:59');
  });
});
