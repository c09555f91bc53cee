/** The trade's words for what goes wrong, and that each kind and each cause has one. */
import { describe, expect, test } from 'vitest';
import { CATALOGUE } from '../../daemon/core/alerts/catalogue.ts';
import type { FaultCause } from '../../daemon/core/thermometry/health/detector.ts';
import { kindWord, wordOfAlert } from '../../web/alert-word.ts';
import { alertWord, causeWord } from '../../web/wording.ts';

/** Complete by its type: a cause that is added in core must be added here, and then have a word. */
const causes: Readonly<Record<FaultCause, true>> = {
  'open-circuit': true,
  reversed: true,
  frozen: true,
  jump: true,
  'out-of-range': true,
  drift: true,
  slipped: true,
  sentinel: true,
  'cold-junction': true,
};

describe('the word on an alert’s card', () => {
  test('lost heat is “flame out?” at the gas kiln and “no power?” at the electric one', () => {
    expect(kindWord('heat-lost', 'gas')).toBe('flame out?');
    expect(kindWord('heat-lost', 'electric')).toBe('no power?');
    expect(kindWord('heat-lost', null)).toBe('heat lost');
  });

  test('every kind that can be told has a short word of its own', () => {
    const words = CATALOGUE.map(({ alert }) => kindWord(alert, 'gas'));
    expect(new Set(words).size).toBe(CATALOGUE.length);
    for (const word of words) expect(word).toMatch(/^[a-z ]{5,20}\??$/);
  });

  test('a doubtful couple is called by what ails it', () => {
    expect(wordOfAlert({ alert: 'sensor-fault', cause: 'slipped' }, 'gas')).toBe('couple slipped?');
    const words = Object.keys(causes).map((cause) => wordOfAlert({ alert: 'sensor-fault', cause }, 'gas'));
    expect(new Set(words).size).toBe(Object.keys(causes).length);
    expect(words).not.toContain(alertWord['sensor-fault']);
    expect(Object.keys(causeWord).sort()).toEqual(Object.keys(causes).sort());
  });

  test('a cause that this page does not know leaves the kind’s own word', () => {
    expect(wordOfAlert({ alert: 'sensor-fault', cause: 'of a newer daemon' }, 'gas')).toBe('couple doubtful');
    expect(wordOfAlert({ alert: 'sensor-fault' }, 'gas')).toBe('couple doubtful');
  });
});
