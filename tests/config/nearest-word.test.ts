import { describe, expect, it } from 'vitest';
import { nearestWord } from '../../daemon/config/nearest-word.ts';

const KEYS = ['name', 'segments', 'plateMm', 'toleranceC', 'safeOpenC', 'limits', 'waits'];

describe('the word that was meant', () => {
  it.each([
    ['segmnts', 'segments'],
    ['segment', 'segments'],
    ['plate_mm', 'plateMm'],
    ['toleranceK', 'toleranceC'],
    ['limit', 'limits'],
    ['safe-open-c', 'safeOpenC'],
    ['tolerance', 'toleranceC'],
  ])('%s is a slip of %s', (word, meant) => {
    expect(nearestWord(word, KEYS)).toBe(meant);
  });

  it.each(['colour', 'x', '', 'minutes'])('%s is near to none', (word) => {
    expect(nearestWord(word, KEYS)).toBeUndefined();
  });
});
