import { cp, mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { exportFiring } from '../../daemon/commands/export.ts';

const id = '20250512T104500Z-gas-kiln-0001';
const fixture = fileURLToPath(new URL('../data/records/version-1', import.meta.url));
let dataDir: string;

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-export-`);
  await cp(fixture, dataDir, { recursive: true });
});

afterEach(() => rm(dataDir, { recursive: true }));

test('a record of the first format can be given away in each form', async () => {
  for (const [end, begins] of [
    ['zip', 'PK'],
    ['pdf', '%PDF'],
    ['csv', '\uFEFFtime (UTC),s since the start,sensor'],
  ] as const) {
    const said: string[] = [];
    await exportFiring(dataDir, id, `${dataDir}/out.${end}`, (line) => said.push(line));
    expect(said).toEqual([`Written: ${dataDir}/out.${end}`]);
    expect((await readFile(`${dataDir}/out.${end}`)).toString('utf8').startsWith(begins)).toBe(true);
  }
});

test('what cannot be given away is said in one sentence', async () => {
  const tell = (firing: string, out: string) => exportFiring(dataDir, firing, out, () => undefined);
  await expect(tell(id, 'x.docx')).rejects.toThrow(
    '--out: "x.docx" does not say what to write; end the name in .zip, .pdf or .csv.',
  );
  await expect(tell('no-such', `${dataDir}/x.zip`)).rejects.toThrow(
    `there is no firing no-such; name a firing of its folder`,
  );
  await expect(tell(id, `${dataDir}/none/x.zip`)).rejects.toThrow('cannot be written (ENOENT)');
});
