import { describe, expect, it } from 'vitest';
import { atS, begin, feed, line, stagedAlerts, stagesOf } from '../feeding.ts';

describe('a record that cannot be written', () => {
  const before = feed(begin(), line({ fromS: 0, toS: 60, fromC: 20, rateCPerH: 240 }));
  const lost = feed(before, [
    { kind: 'edge', atMs: atS(61), edge: 'record-lost', sentence: 'The disk is full; free some space.' },
  ]);

  it('is told at once, with what the disk said, while the watch goes on', () => {
    expect(stagedAlerts(lost)).toMatchObject([
      {
        alert: 'record-trouble',
        phase: 'happening',
        atMs: atS(61),
        message: 'The record is not being written: The disk is full; free some space. The watch goes on.',
      },
    ]);
  });

  it('is over when the disk takes lines again, and the hole is marked', () => {
    const back = feed(lost, [{ kind: 'edge', atMs: atS(71), edge: 'record-back', missing: 12 }]);
    expect(stagesOf(back)).toEqual(['record-trouble happening', 'record-trouble over']);
    expect(back.events.find((e) => e.type === 'gap')).toMatchObject({ why: '12 lines are missing from the record' });
  });

  it('leaves no hole where all that waited in memory could be written', () => {
    const back = feed(lost, [{ kind: 'edge', atMs: atS(71), edge: 'record-back', missing: 0 }]);
    expect(stagesOf(back)).toEqual(['record-trouble happening', 'record-trouble over']);
    expect(back.events.filter((e) => e.type === 'gap')).toEqual([]);
  });
});
