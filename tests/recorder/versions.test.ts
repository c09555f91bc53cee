import { execFile } from 'node:child_process';
import { cp, mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { exportFiring } from '../../daemon/commands/export.ts';
import { verify } from '../../daemon/commands/verify.ts';
import { realDisk } from '../../daemon/recorder/disk.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { openKeys } from '../../daemon/recorder/key-ring.ts';
import { readAfterwords } from '../../daemon/runtime/afterwords.ts';
import { readOpening } from '../../daemon/runtime/record-lines.ts';
import { needs, pathOf } from '../support/debian.ts';

const run = promisify(execFile);
const fixtureOf = (version: number): string =>
  fileURLToPath(new URL(`../data/records/version-${version}`, import.meta.url));
const closed = '20250512T104500Z-gas-kiln-0001';
const unfinished = '20250513T104500Z-gas-kiln-0002';

let dataDir: string;

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-version-`);
});

afterEach(() => rm(dataDir, { recursive: true }));

async function check(target: string, key?: string): Promise<{ code: number; said: readonly string[] }> {
  const said: string[] = [];
  const code = await verify(target, dataDir, (line) => said.push(line), undefined, { key });
  return { code, said };
}

/** Exports a firing and runs the checker that comes with it. */
async function checkExport(firing: string, key = ''): Promise<{ readonly code: number; readonly said: string }> {
  const folder = join(dataDir, 'unpacked', firing);
  await mkdir(folder, { recursive: true });
  await exportFiring(dataDir, firing, `${dataDir}/out.zip`, () => undefined);
  await run(pathOf('python3'), ['-m', 'zipfile', '-e', `${dataDir}/out.zip`, folder]);
  try {
    const { stdout } = await run(pathOf('python3'), ['check_record.py', key], { cwd: folder });
    return { code: 0, said: stdout };
  } catch (error) {
    const { code, stdout } = error as { code: number; stdout: string };
    return { code, said: stdout };
  }
}

describe('a record of the first format', () => {
  beforeEach(() => cp(fixtureOf(1), dataDir, { recursive: true }));

  it('opens, and stands as it was written', async () => {
    const lines = await fileRecordStore(dataDir).read(closed);
    expect(lines).toHaveLength(562);
    expect(readOpening(lines[0])).toMatchObject({ by: 'Hanna', schedule: { name: 'Matt, 3 mm pieces' } });
    const { code, said } = await check(closed);
    expect(code).toBe(0);
    expect(said[0]).toContain('It was written before records were signed: it fits itself and the ledger.');
    expect(said[0]).toContain('Seal f41b2f5238e01a924cf283c254b305a411c6f1d91e28a7bb33c587b077d69758');
  });

  it('proves nothing to a key that is known, until the ledger is signed that names it', async () => {
    const someKey = '0'.repeat(32);
    expect(await check(closed, someKey)).toMatchObject({
      code: 3,
      said: [expect.stringContaining('It is not signed, so the key you know says nothing of it.')],
    });
    const store = fileRecordStore(dataDir, { nowMs: () => Date.UTC(2026, 10, 25) });
    await store.unfinished();
    await store.release();
    const { signer } = await openKeys(realDisk, dataDir, 0);
    const { code, said } = await check(closed, signer.fingerprint);
    expect(said[0]).toContain('the ledger, signed with the key you know, names its last line');
    expect(code).toBe(0);
    expect((await check(closed, someKey)).code).toBe(3);
  });

  it('that was not over goes on under this version, sealed from then on', async () => {
    const store = fileRecordStore(dataDir, { nowMs: () => Date.UTC(2026, 10, 25) });
    const found = await store.unfinished();
    expect(found.map(({ recorder }) => recorder.firingId)).toEqual([unfinished]);
    const t = found[0]?.lines.at(-1)?.t ?? 0;
    await found[0]?.recorder.append([{ type: 'gap', t: t + 1, from: t, why: 'the daemon was away' }]);
    await found[0]?.recorder.close({ type: 'close', t: t + 2 });
    await store.release();
    const { signer } = await openKeys(realDisk, dataDir, 0);
    expect((await check(unfinished, signer.fingerprint)).code).toBe(0);
    expect((await check('--all', signer.fingerprint)).code).toBe(0);
  });

  it.runIf(needs('python3', 'openssl'))('is given away with a checker that says that nobody signed it', async () => {
    expect(await checkExport(closed)).toEqual({
      code: 3,
      said: 'INCOMPLETE: there are no seals: nobody has signed for it\n',
    });
  });
});

describe('a record of the second format', () => {
  const [words, plain] = ['20250512T104500Z-gas-kiln-0001', '20250513T104500Z-gas-kiln-0002'];
  /** The first key signed for the second, which signed what came from the next morning on. */
  const keys = ['9769a4b89457c2fc9750273a41a7280a', '5dd42dca708f90dda71b6b53f93f9289'];
  beforeEach(() => cp(fixtureOf(2), dataDir, { recursive: true }));

  it('opens with its words, corrections and photograph', async () => {
    const lines = await fileRecordStore(dataDir).read(words);
    expect(readOpening(lines[0])).toMatchObject({ by: 'Hanna', schedule: { name: 'Matt, 3 mm pieces' } });
    const { notes, corrections, signOffs } = readAfterwords(lines);
    expect(notes.map(({ text }) => text)).toEqual(['Matt, a little thin at the left edge', 'a crack']);
    expect(notes[1]?.photo?.media).toBe('image/jpeg');
    expect(corrections).toMatchObject([{ was: 'Matt, a little thin at the left edge', is: 'Matt, even' }]);
    expect(signOffs).toMatchObject([{ by: 'Hanna', meaning: 'examined' }]);
  });

  it('stands as it was written and signed, for whoever knows the first key', async () => {
    const { code, said } = await check('--all', keys[0]);
    expect(said[0]).toContain('Hanna put the records back from an older copy on purpose');
    expect(said.slice(1)).toEqual([
      expect.stringMatching(
        new RegExp(`^OK {2}${words}: .*photograph is the one.*Clock, Town stamped seal 14 at 2026-`),
      ),
      expect.stringMatching(new RegExp(`^OK {2}${plain}: .*Clock, Town stamped seal 11 at 2026-`)),
      '3 examined: 3 OK, 0 BAD, 0 INCOMPLETE.',
    ]);
    expect(code).toBe(0);
    expect((await check(plain, keys[1])).code).toBe(0);
  });

  it.runIf(needs('python3', 'openssl'))('passes the checker of its export', async () => {
    for (const [firing, key] of [
      [words, keys[0]],
      [words, keys[1]],
      [plain, keys[1]],
    ] as const) {
      expect(await checkExport(firing, key)).toMatchObject({
        code: 0,
        said: expect.stringContaining('the key you know'),
      });
    }
  });
});
