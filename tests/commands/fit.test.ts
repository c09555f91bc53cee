import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { fitFirings } from '../../daemon/commands/fit.ts';
import { readFittedKiln } from '../../daemon/config/fitted-kiln-file.ts';
import type { CoreInput } from '../../daemon/core/inputs.ts';
import type { RecordedFiring } from '../../daemon/core/kiln-model/recorded-firing.ts';
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { beginFiring } from '../../daemon/core/state.ts';
import { step } from '../../daemon/core/step.ts';
import { fileRecordStore, firingsFolder } from '../../daemon/recorder/file-recorder.ts';
import { newFiringId } from '../../daemon/recorder/firing-id.ts';
import type { Entry } from '../../daemon/recorder/recorder.ts';
import { inputEntry, openingEntry } from '../../daemon/runtime/record-lines.ts';
import { madeFiring, madeKiln } from '../core/kiln-model/made-firing.ts';

const NOW = Date.UTC(2026, 2, 15, 8);
let dir: string;

beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'spyhole-fit-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

const at = (name: string): string => join(dir, name);
const iso = (atMs: number): string => new Date(Date.UTC(2026, 2, 14, 9) + atMs).toISOString();

async function write(name: string, firing: RecordedFiring, percent = true): Promise<void> {
  const rows = firing.readings.map((r) => `${iso(r.atMs)},middle,${r.celsius.toFixed(2)}`);
  await writeFile(at(`${name}.csv`), ['time,sensor,celsius', ...rows, ''].join('\n'));
  const settings = firing.heat.flatMap((h) =>
    h.ratio === null ? [] : [`${iso(h.atMs)},output_percent,${100 * h.ratio}`],
  );
  if (percent) await writeFile(at(`${name}.inputs.csv`), ['time,input,value', ...settings, ''].join('\n'));
  await writeFile(at('plan.yaml'), 'name: slow\nsegments:\n  - {kind: ramp, toC: 900, rateCPerH: 100}\n');
}

async function run(options: Omit<Parameters<typeof fitFirings>[0], 'out'>): Promise<string[]> {
  const said: string[] = [];
  await fitFirings({ ...options, out: at('own.yaml') }, (line) => said.push(line), NOW);
  return said;
}

test('a firing whose heat was recorded gives the kiln its file, and plain words with their bounds', {
  timeout: 60_000,
}, async () => {
  await write('one', madeFiring(madeKiln, 1));
  const said = await run({ schedule: [at('plan.yaml')], readings: [at('one.csv')], inputs: [at('one.inputs.csv')] });
  const own = readFittedKiln(at('own.yaml'));
  expect(own.numbers.powerCPerH.value / madeKiln.powerCPerH).toBeCloseTo(1, 1);
  expect(own.fullSetting).toBe(100);
  expect(own.firings[0]?.readings).toBe(at('one.csv'));
  expect(said.some((s) => /^Coasts \d+ ± \d+ °C/.test(s))).toBe(true);
  expect(said.some((s) => /^Falls from \d+ to \d+ °C in (\d+ h|\d+ min)/.test(s))).toBe(true);
  expect(said.some((s) => /^At full heat it climbs \d+ ± \d+ °C\/h/.test(s))).toBe(true);
});

test('a new firing is added to those that the file names already, and one named twice counts once', {
  timeout: 60_000,
}, async () => {
  await write('one', madeFiring(madeKiln, 1));
  await write('two', madeFiring(madeKiln, 2));
  const files = (name: string) => ({
    schedule: [at('plan.yaml')],
    readings: [at(`${name}.csv`)],
    inputs: [at(`${name}.inputs.csv`)],
  });
  await run(files('one'));
  const alone = readFittedKiln(at('own.yaml')).numbers.wallRatio;
  await run(files('two'));
  await run(files('two'));
  const both = readFittedKiln(at('own.yaml'));
  expect(both.firings.map((f) => f.readings)).toEqual([at('one.csv'), at('two.csv')]);
  expect(both.numbers.wallRatio.high / both.numbers.wallRatio.low).toBeLessThan(alone.high / alone.low);
});

test('what could not be told is said, and what would tell it', { timeout: 60_000 }, async () => {
  await write('short', madeFiring(madeKiln, 3, false, 5400), false);
  const said = await run({ schedule: [at('plan.yaml')], readings: [at('short.csv')] });
  expect(said.some((s) => /How much heat it has could not be told.*record the controller’s output/.test(s))).toBe(true);
  expect(said.some((s) => /wall takes and gives back could not be told/.test(s))).toBe(true);
});

test('mistakes are told in a sentence: nothing to fit, lists of unlike length, no such heat, another kiln', {
  timeout: 60_000,
}, async () => {
  await expect(run({})).rejects.toThrow(/there is nothing to fit; give --schedule and --readings, or --firing/);
  await write('one', madeFiring(madeKiln, 1, true, 3600));
  const one = { schedule: [at('plan.yaml')], readings: [at('one.csv')] };
  await expect(
    run({ ...one, readings: [at('one.csv'), at('one.csv')], inputs: [at('one.inputs.csv')] }),
  ).rejects.toThrow(/--inputs: found 1 for 2 --readings/);
  await expect(run({ ...one, inputs: [at('one.inputs.csv')], heat: 'gas' })).rejects.toThrow(
    /has no input "gas".*output_percent/,
  );
  await expect(run({ ...one, inputs: [at('nowhere.csv')] })).rejects.toThrow(/cannot be read \(ENOENT\)/);
  await expect(run({ ...one, full: 'much' })).rejects.toThrow(/--full: found "much"/);
  await expect(run({ firing: [at('nowhere')] })).rejects.toThrow(/record\.jsonl.*cannot be read/);
});

const gasKiln: KilnSetup = {
  id: 'gas',
  name: 'Gas kiln',
  heat: 'gas',
  closure: 'door',
  sensors: [{ name: 'middle', letter: 'K' }],
  decodings: { rows: { kind: 'channels', channels: { middle: 'middle', lid: 'lid' } } },
  utcOffsetMinutes: 0,
};
const climb: Schedule = { name: 'slow climb', segments: [{ kind: 'ramp', toC: 900, rateCPerH: 100 }] };

/** Written by the real recorder, readings and acts as the watch would have taken them. */
async function record(firing: RecordedFiring): Promise<string> {
  const startedAtMs = Date.UTC(2026, 2, 14, 9);
  const store = fileRecordStore(at('data'));
  const opening = {
    startedAtMs,
    kiln: gasKiln,
    schedule: climb,
    simulated: false,
    by: 'Ann',
    software: 'test',
    node: 'test',
  };
  const id = newFiringId(startedAtMs, gasKiln.id, 'beac');
  const recorder = await store.begin({ id, kiln: gasKiln, schedule: climb, open: openingEntry(opening) });
  const readings = firing.readings.map(({ atMs, celsius }): CoreInput => {
    return { kind: 'raw', atMs: startedAtMs + atMs, input: 'rows', channel: 'middle', text: celsius.toFixed(2) };
  });
  const acts = firing.heat.map(({ atMs, ratio }): CoreInput => {
    const deed = { deed: 'act', what: 'valve', value: `mark ${(10 * (ratio ?? 0)).toFixed(2)}` } as const;
    return { kind: 'action', atMs: startedAtMs + atMs + 1, by: 'Ann', ...deed };
  });
  let state = beginFiring(gasKiln, climb, startedAtMs);
  const entries: Entry[] = [];
  for (const input of [...readings, ...acts].sort((a, b) => a.atMs - b.atMs)) {
    const stepped = step(state, input);
    state = stepped.state;
    const entry = inputEntry(input, stepped.events);
    if (entry !== undefined) entries.push(entry);
  }
  await recorder.append(entries);
  await store.release();
  return join(firingsFolder(at('data')), id);
}

test('a firing in the record tells its heat by the marks that the hand logged', { timeout: 60_000 }, async () => {
  const folder = await record(madeFiring(madeKiln, 4));
  const said = await run({ firing: [folder], full: '10' });
  const own = readFittedKiln(at('own.yaml'));
  expect(own.kiln).toBe('Gas kiln');
  expect(own.heat).toBe('gas');
  expect(own.heatKnownRatio).toBeGreaterThan(0.98);
  expect(own.firings).toMatchObject([{ name: 'slow climb', firing: folder }]);
  expect(said[0]).toMatch(/^Gas kiln, from one firing, the heat known in (99|100) %/);
});
