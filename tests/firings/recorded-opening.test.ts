/** A real drum of beans, loaded and emptied while hot: cold air and cold goods come in, as through a door. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { rowDecodings } from '../../daemon/config/row-decodings.ts';
import { parseTime } from '../../daemon/config/rows.ts';
import type { CoreInput } from '../../daemon/core/inputs.ts';
import { beginFiring } from '../../daemon/core/state.ts';
import { feed, kilnOf, stagedAlerts } from '../core/feeding.ts';

const read = (name: string): string => readFileSync(new URL(`../data/openings/${name}`, import.meta.url), 'utf8');
interface Sidecar {
  readonly events: readonly { readonly time: string; readonly what: string }[];
}

describe('a recorded run of a hot drum (tests/data/openings)', () => {
  const rows = read('roast-with-warm-up.csv').trimEnd().split('\n').slice(1);
  const inputs = rows.map((row): CoreInput => {
    const [time = '', channel = '', text = ''] = row.split(',');
    return { kind: 'raw', atMs: parseTime(time) ?? 0, input: 'rows', channel, text };
  });
  const marks = (JSON.parse(read('roast-with-warm-up.json')) as Sidecar).events;
  const markedMs = (word: string): number =>
    parseTime(marks.find((m) => m.what.startsWith(word))?.time ?? '') ?? Number.NaN;
  const kiln = kilnOf({
    heat: 'electric',
    closure: 'lid',
    safeOpenC: 120,
    sensors: [{ name: 'bean', letter: 'K' }],
    decodings: rowDecodings(['bean']),
  });
  const state = beginFiring(
    kiln,
    { name: 'To 300', segments: [{ kind: 'ramp', toC: 300, rateCPerH: 'flat-out' }] },
    inputs[0]?.atMs ?? 0,
  );
  const fed = feed({ state, events: [] }, inputs);
  const opened = stagedAlerts(fed).filter((a) => a.alert === 'lid-open-hot' && a.phase === 'happening');

  it('shows its loading and its emptying as an opening, each within twenty seconds of the hand’s own mark', () => {
    expect(opened).toHaveLength(2);
    for (const [i, word] of ['charge', 'drop'].entries()) {
      const lateMs = (opened[i]?.atMs ?? Number.NaN) - markedMs(word);
      expect(lateMs).toBeGreaterThan(0);
      expect(lateMs).toBeLessThan(20_000);
    }
  });

  it('shows nothing else: three lost readings and the marks between are no openings', () => {
    expect(stagedAlerts(fed).filter((a) => a.alert !== 'lid-open-hot')).toEqual([]);
    expect(fed.state.rejectedCount).toBe(3);
  });
});
