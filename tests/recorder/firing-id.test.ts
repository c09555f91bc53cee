import { describe, expect, it } from 'vitest';
import { isFiringId, newFiringId, requireFiringId } from '../../daemon/recorder/firing-id.ts';

describe("a firing's id", () => {
  it('begins with the time in UTC and names the kiln', () => {
    expect(newFiringId(Date.UTC(2026, 10, 25, 10, 15, 0, 700), 'gas', '3f9a')).toBe('20261125T101500Z-gas-3f9a');
  });

  it('can be a folder whatever the kiln is called', () => {
    const id = newFiringId(0, `../Öfen/${'long '.repeat(30)}`, '00ff');
    expect(isFiringId(id)).toBe(true);
    expect(id).toMatch(/^19700101T000000Z-[0-9A-Za-z-]+-00ff$/);
    expect(newFiringId(0, '窯', '00ff')).toBe('19700101T000000Z-00ff');
  });

  it('sorts by name as it happened in time', () => {
    const ids = [1_800_000_000_000, 1_799_999_999_000, 1_900_000_000_000].map((atMs) => newFiringId(atMs, 'k', 'ab'));
    expect([...ids].sort()).toEqual([ids[1], ids[0], ids[2]]);
  });

  it.each(['', '..', '../gas', 'a/b', 'a.b', 'a\0b', 'x'.repeat(65)])('never leads out of the folder: %j', (text) => {
    expect(() => requireFiringId(text)).toThrow("is no firing's id");
  });
});
