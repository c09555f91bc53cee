import { cp, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { realDisk } from '../../daemon/recorder/disk.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { openKeys } from '../../daemon/recorder/key-ring.ts';
import { readOpening } from '../../daemon/runtime/record-lines.ts';

const fixture = fileURLToPath(new URL('../data/records/version-1', import.meta.url));
const closed = '20250512T104500Z-gas-kiln-0001';
const unfinished = '20250513T104500Z-gas-kiln-0002';

let dataDir: string;

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-version-1-`);
  await cp(fixture, dataDir, { recursive: true });
});

afterEach(() => rm(dataDir, { recursive: true }));

async function check(target: string, key?: string): Promise<{ code: number; said: readonly string[] }> {
  const said: string[] = [];
  const code = await verify(target, dataDir, (line) => said.push(line), undefined, { key });
  return { code, said };
}

describe('a record of the first format', () => {
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
});
