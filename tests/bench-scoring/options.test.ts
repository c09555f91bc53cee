import { describe, expect, it } from 'vitest';
import { readOptions } from '../bench/alerts-options.ts';

describe('what is asked of the bench of alerts', () => {
  it('scores Spyhole where no watcher is named', () => {
    expect(readOptions(['tuning']).watcher).toBe('spyhole');
  });

  it('scores a plain watcher that is named, with the other options beside', () => {
    const options = readOptions(['tuning', '--watcher', 'line', '--every', '3', '--workers', '2']);
    expect(options).toMatchObject({ sets: ['tuning'], watcher: 'line', every: 3, workers: 2 });
    expect(readOptions(['--watcher', 'thresholds']).watcher).toBe('thresholds');
  });

  it('says which watchers there are when it does not know one', () => {
    const sentence = '--watcher takes spyhole, thresholds, line.';
    expect(() => readOptions(['tuning', '--watcher', 'oracle'])).toThrow(sentence);
    expect(() => readOptions(['tuning', '--watcher'])).toThrow(sentence);
  });
});
