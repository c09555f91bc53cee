import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { replay } from '../../daemon/commands/replay.ts';
import * as state from '../../daemon/core/state.ts';
import * as step from '../../daemon/core/step.ts';
import * as corpus from '../../simulators/corpus.ts';
import * as scenario from '../../simulators/firing-scenario.ts';
import { writeFiring } from '../../simulators/write-firing.ts';
import { type CorpusFiring, fireForScoring, fromKept, kept } from '../bench/alerts-corpus.ts';
import { hearFiring } from '../bench/alerts-feed.ts';

// A controller that heats on, with a switch at the lid and rows doubled and swapped; a clock that stands; a couple that slips.
const NUMBERS = [122, 402, 142];

const firings = new Map<number, CorpusFiring>();

function fired(number: number): CorpusFiring {
  const firing = firings.get(number) ?? fireForScoring({ corpus, scenario }, number);
  firings.set(number, firing);
  return firing;
}

interface Line {
  readonly id: string;
  readonly alert: string;
  readonly phase: string;
  readonly priority: string;
  readonly message: string;
}

async function replayed(number: number): Promise<Line[]> {
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-corpus-firing-'));
  try {
    const stem = join(dir, 'x');
    writeFiring(corpus.corpusScenario(number), `${stem}.csv`);
    const files = { schedule: `${stem}.schedule.json`, readings: `${stem}.csv`, kiln: `${stem}.kiln.json` };
    const lines: string[] = [];
    await replay({ ...files, json: true }, (line) => lines.push(line));
    return lines.slice(0, -1).map((line) => JSON.parse(line) as Line);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

describe('a firing of the corpus, as it is scored', () => {
  it.each(NUMBERS)('tells core what spyhole replay reads from its files, number %i', async (number) => {
    const { told } = hearFiring({ state, step }, fired(number));
    const words = told.map(({ id, kind, phase, priority, message }) => [id, kind, phase, priority, message]);
    const said = await replayed(number);
    expect(words).toEqual(said.map((l) => [l.id, l.alert, l.phase, l.priority, l.message]));
    expect(words.length).toBeGreaterThan(0);
  });

  it('is the same when it comes from the disk', () => {
    const firing = fired(142);
    expect(fromKept(kept(firing))).toEqual(firing);
  });

  it('knows when a couple that slipped was off by the tolerance', () => {
    const [slip] = fired(142).faults;
    expect(slip?.kind).toBe('sensor-fault');
    const afterS = (slip?.atToleranceS ?? Number.NaN) - (slip?.onsetS ?? Number.NaN);
    // It slides for 40 s; read each 30 s.
    expect(afterS).toBeGreaterThan(0);
    expect(afterS).toBeLessThan(120);
  });
});
