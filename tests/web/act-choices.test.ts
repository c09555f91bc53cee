import { describe, expect, test } from 'vitest';
import { choiceOf, choicesFor, lastFigure, readFigure } from '../../web/act-choices.ts';
import { actWords } from '../../web/standing-acts.ts';
import { setUnit } from '../../web/unit.ts';

describe('the buttons of hand and eye', () => {
  test('an electric kiln has no valve, damper or flame', () => {
    const names = choicesFor({ heat: 'electric', closure: 'lid' }).map((choice) => choice.what);
    expect(names).not.toContain('valve');
    expect(names).not.toContain('flame');
    expect(names).toContain('gloss seen');
    expect(names).toContain('lid');
    expect(names).not.toContain('door');
  });

  test('a figure is taken with point or comma, and nothing else is', () => {
    expect(readFigure(' 3,5 ')).toBe('3.5');
    expect(readFigure('12')).toBe('12');
    for (const typed of ['', '3.', '-1', '1e3', 'mark 3', '1.2.3']) expect(readFigure(typed)).toBeNull();
  });

  test('the form begins at what was logged last', () => {
    const acts = [
      { what: 'valve', value: 'mark 4' },
      { what: 'damper', value: 'mark 1' },
      { what: 'valve', value: 'mark 2.5' },
      { what: 'gloss seen' },
    ];
    expect(lastFigure(acts, 'valve')).toBe('2.5');
    expect(lastFigure(acts, 'gas pressure')).toBeNull();
  });

  test('a temperature that was logged comes back in the degrees of this screen, and goes out in °C', () => {
    const acts = [{ what: 'hand pyrometer', value: '655 °C' }];
    setUnit('F');
    try {
      expect(lastFigure(acts, 'hand pyrometer')).toBe('1211');
      const entry = choiceOf('hand pyrometer')?.entry;
      if (entry?.kind !== 'figure') throw new Error('no figure is asked for');
      expect(entry.start()).toBe(1112);
      expect(entry.write('1211')).toBe('655 °C');
      expect(actWords(acts[0] ?? { what: '' })).toBe('hand pyrometer 1211 °F');
    } finally {
      setUnit('C');
    }
    expect(lastFigure(acts, 'hand pyrometer')).toBe('655');
  });
});
