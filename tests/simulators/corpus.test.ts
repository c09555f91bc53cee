import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { CORPUS_SIZE, corpusData, corpusFault, corpusScenario } from '../../simulators/corpus.ts';
import { faults } from '../../simulators/faults/catalogue.ts';
import { liveFiring } from '../../simulators/firing-scenario.ts';
import { fingerprintOf } from '../support/corpus-fingerprint.ts';

const numbers = Array.from({ length: CORPUS_SIZE }, (_, i) => i + 1);
const known = readFileSync(new URL('../data/corpus-fingerprints.txt', import.meta.url), 'utf8')
  .trimEnd()
  .split('\n');

describe('the corpus', () => {
  it('has at least five hundred firings, each with data of its own', () => {
    expect(CORPUS_SIZE).toBeGreaterThanOrEqual(500);
    const all = new Set(numbers.map((number) => JSON.stringify({ ...corpusData(number), name: '', seed: 0 })));
    expect(all.size).toBe(CORPUS_SIZE);
  });

  it('gives every named fault at least four times, and at least one firing in eight nothing wrong at all', () => {
    const counts = new Map<string | null, number>();
    for (const number of numbers) counts.set(corpusFault(number), (counts.get(corpusFault(number)) ?? 0) + 1);
    for (const [name, fault] of Object.entries(faults)) {
      expect([name, (counts.get(name) ?? 0) >= (fault.brings === null ? 2 : 4)]).toEqual([name, true]);
    }
    expect(counts.get(null) ?? 0).toBeGreaterThanOrEqual(40);
  });

  // Each 52nd: ten in all; the bench fires every one of them.
  it.each(numbers.filter((number) => number % 52 === 7))(
    'comes out on this engine as on any other, number %i',
    (number) => {
      expect(`${number} ${fingerprintOf(liveFiring(corpusScenario(number)))}`).toBe(known[number - 1]);
    },
  );
});
