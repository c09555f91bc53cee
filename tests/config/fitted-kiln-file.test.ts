import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { parse, stringify } from 'yaml';
import {
  type FittedKiln,
  readFittedKiln,
  unsureModelOf,
  writeFittedKiln,
} from '../../daemon/config/fitted-kiln-file.ts';
import { ESTIMATED } from '../../daemon/core/kiln-model/fit-kiln.ts';
import { logsOf, PARAMETERS } from '../../daemon/core/kiln-model/kiln-parameters.ts';
import { madeKiln } from '../core/kiln-model/made-firing.ts';

let dir: string;
let file: string;

beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'spyhole-fitted-'));
  file = join(dir, 'kiln.fitted.yaml');
});
afterEach(() => rm(dir, { recursive: true, force: true }));

const estimate = { value: 1, low: 0.5, high: 2, told: 'told' as const };
const fitted: FittedKiln = {
  kiln: 'Kiln by the door',
  software: 'spyhole 0.1.0',
  fittedAt: '2026-03-15T08:00:00.000Z',
  heat: 'electric',
  setting: 'proportional',
  roomC: 19,
  topC: 660,
  heatKnownRatio: 1,
  fitErrorC: 0.8,
  firings: [{ name: 'Matt', startedAt: '2026-03-14T09:00:00.000Z', peakC: 660, errorC: 0.8, firing: 'firings/a' }],
  numbers: Object.fromEntries(ESTIMATED.map((n) => [n, estimate])) as FittedKiln['numbers'],
  fit: {
    parameters: [...PARAMETERS],
    logs: logsOf(madeKiln),
    logCovariance: PARAMETERS.map((_, i) => PARAMETERS.map((__, j) => (i === j ? 0.01 : 0))),
  },
};

test('what is written is read back, and gives the kiln that was fitted', () => {
  writeFittedKiln(file, fitted);
  expect(readFittedKiln(file)).toEqual(fitted);
  expect(unsureModelOf(readFittedKiln(file)).model.powerCPerH).toBeCloseTo(madeKiln.powerCPerH, 6);
});

test('it says in its first line what it is', async () => {
  writeFittedKiln(file, fitted);
  expect((await readFile(file, 'utf8')).split('\n')[0]).toMatch(/^# What spyhole fit found/);
});

test('a slip of the pen in it is named with its line', async () => {
  writeFittedKiln(file, fitted);
  const text = await readFile(file, 'utf8');
  await writeFile(file, text.replace('roomC: 19', 'room: 19'));
  expect(() => readFittedKiln(file)).toThrow(/room.*line \d+.*write roomC/s);
});

test('numbers of another version are not taken for these', async () => {
  writeFittedKiln(file, fitted);
  const changed = parse(await readFile(file, 'utf8')) as FittedKiln;
  await writeFile(file, stringify({ ...changed, fit: { ...changed.fit, parameters: [...PARAMETERS].reverse() } }));
  expect(() => readFittedKiln(file)).toThrow(/fit\.parameters.*run spyhole fit again/);
});

test('a place where nothing can be written is told in a sentence', () => {
  expect(() => writeFittedKiln(join(dir, 'no', 'such.yaml'), fitted)).toThrow(/cannot be written \(ENOENT\)/);
});
