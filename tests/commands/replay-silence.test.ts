import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { replay } from '../../daemon/commands/replay.ts';

let dir: string;

beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'spyhole-replay-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

test('a silence that ends with the first row of another sensor is told when it began, without a kiln file too', async () => {
  const at = (s: number): string => new Date(Date.UTC(2026, 2, 14, 9) + s * 1000).toISOString();
  const rows = [...Array(11).keys()].map((i) => `${at(i * 10)},shelf,${20 + i}`);
  await writeFile(join(dir, 'r.csv'), ['time,sensor,celsius', ...rows, `${at(500)},top,40`, ''].join('\n'));
  await writeFile(join(dir, 's.yaml'), 'name: slow\nsegments:\n  - {kind: ramp, toC: 400, rateCPerH: 100}\n');
  const said: string[] = [];
  await replay({ schedule: join(dir, 's.yaml'), readings: join(dir, 'r.csv'), json: true }, (line) => said.push(line));
  const silence = said.map((line) => JSON.parse(line)).find((one) => one.alert === 'silence');
  // 100 s is the last reading; readings come each 10 s, so three missed ones are noticed after 32 s.
  expect(silence?.at).toBe(at(133));
});
