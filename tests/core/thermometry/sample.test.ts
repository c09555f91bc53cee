import { describe, expect, it } from 'vitest';
import { toSample } from '../../../daemon/core/thermometry/sample.ts';
import { LETTERS } from '../../../daemon/core/thermometry/tolerance.ts';

const at = (letter: string, temperatureC: number) =>
  toSample({ kind: 'temperature', sensor: 'shelf', temperatureC }, { name: 'shelf', letter }, 7);

describe('a sample', () => {
  it('carries how far off ordinary wire may be', () => {
    expect(at('K', 660)).toEqual({
      type: 'reading',
      atMs: 7,
      sensor: 'shelf',
      celsius: 660,
      uncertaintyC: 4.95,
      quality: 'good',
    });
  });

  it.each(Object.entries(LETTERS))('of type %s ends where its couple ends', (letter, { fromC, toC }) => {
    expect(at(letter, fromC).quality).toBe('good');
    expect(at(letter, toC).quality).toBe('good');
    for (const beyondC of [fromC - 0.1, toC + 0.1, 32_767]) {
      expect(at(letter, beyondC)).toMatchObject({ celsius: null, uncertaintyC: null, quality: 'bad' });
    }
  });

  it('without a value says why, and is no temperature', () => {
    const bad = toSample({ kind: 'fault', sensor: 'shelf', fault: 'broken' }, { name: 'shelf', letter: 'K' }, 7);
    expect(bad).toMatchObject({ celsius: null, quality: 'bad', reason: 'broken' });
  });
});
