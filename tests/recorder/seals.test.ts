import { execFile } from 'node:child_process';
import { createPrivateKey, createPublicKey, sign, verify as verifySignature } from 'node:crypto';
import { cp, mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { promisify } from 'node:util';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { keys } from '../../daemon/commands/keys.ts';
import { verify } from '../../daemon/commands/verify.ts';
import { type Checkpoint, readCheckpoints } from '../../daemon/recorder/checkpoint.ts';
import { realDisk } from '../../daemon/recorder/disk.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { handOverKey, openKeys } from '../../daemon/recorder/key-ring.ts';
import { needs, pathOf } from '../support/debian.ts';

const run = promisify(execFile);
const minuteMs = 60_000;
const openedAtMs = 1_795_600_800_000;

let dataDir: string;

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-seals-`);
});

afterEach(() => rm(dataDir, { recursive: true }));

const openStore = () => fileRecordStore(dataDir, { nowMs: () => openedAtMs });

/** A firing with a line each minute. */
async function fire(id: string, minutes: number, isClosed = true): Promise<void> {
  const store = openStore();
  const recorder = await store.begin({ id, kiln: {}, schedule: null, open: { type: 'open', t: openedAtMs } });
  for (let minute = 1; minute <= minutes; minute += 1) {
    await recorder.append([{ type: 'raw', t: openedAtMs + minute * minuteMs, text: String(minute) }]);
  }
  if (isClosed) await recorder.close({ type: 'close', t: openedAtMs + minutes * minuteMs });
  await store.release();
}

async function sealsOf(id: string): Promise<readonly Checkpoint[]> {
  return readCheckpoints(await readFile(`${dataDir}/firings/${id}/checkpoints.jsonl`)).checkpoints;
}

async function check(key?: string): Promise<{ readonly code: number; readonly said: readonly string[] }> {
  const said: string[] = [];
  const code = await verify('--all', dataDir, (line) => said.push(line), undefined, { key });
  return { code, said };
}

const fingerprint = async (): Promise<string> => (await openKeys(realDisk, dataDir, 0)).signer.fingerprint;

describe('the seals of a firing', () => {
  it('are set each ten minutes and at the close, and count all lines so far', async () => {
    await fire('a', 35);
    const seals = await sealsOf('a');
    expect(seals.map(({ lines, number }) => [number, lines])).toEqual([
      [1, 11],
      [2, 21],
      [3, 31],
      [4, 37],
    ]);
    expect(seals.map(({ atMs }) => (atMs - openedAtMs) / minuteMs)).toEqual([10, 20, 30, 35]);
    expect((await check(await fingerprint())).code).toBe(0);
  });

  it('are set when the daemon stops in the middle, and go on after its return', async () => {
    await fire('a', 3, false);
    expect((await sealsOf('a')).map(({ lines }) => lines)).toEqual([4]);
    const store = openStore();
    const [unfinished] = await store.unfinished();
    await unfinished?.recorder.append([{ type: 'raw', t: openedAtMs + 14 * minuteMs }]);
    await unfinished?.recorder.close({ type: 'close', t: openedAtMs + 15 * minuteMs });
    await store.release();
    expect((await sealsOf('a')).map(({ lines, number }) => [number, lines])).toEqual([
      [1, 4],
      [2, 5],
      [3, 6],
    ]);
    expect((await check()).code).toBe(0);
  });

  it('are set at the next start where the power went between the closing line and its seal', async () => {
    await fire('a', 3);
    await rm(`${dataDir}/firings/a/checkpoints.jsonl`);
    const ledger = (await readFile(`${dataDir}/ledger.jsonl`, 'utf8')).split('\n');
    await writeFile(`${dataDir}/ledger.jsonl`, `${ledger[0]}\n`);
    const seals = (await readFile(`${dataDir}/ledger.checkpoints.jsonl`, 'utf8')).split('\n');
    await writeFile(`${dataDir}/ledger.checkpoints.jsonl`, `${seals[0]}\n`);
    expect((await check()).code).toBe(3);
    const store = openStore();
    expect(await store.unfinished()).toEqual([]);
    await store.release();
    expect(await check(await fingerprint())).toMatchObject({ code: 0 });
  });

  it('stop a firing from going on in a record that was cut, and the ledger from being used that was put back', async () => {
    await fire('a', 3, false);
    await cp(dataDir, `${dataDir}-older`, { recursive: true });
    const store = openStore();
    const [unfinished] = await store.unfinished();
    await unfinished?.recorder.append([{ type: 'raw', t: openedAtMs + 4 * minuteMs }]);
    await store.release();
    await cp(`${dataDir}-older/firings/a/record.jsonl`, `${dataDir}/firings/a/record.jsonl`);
    const ledger = await readFile(`${dataDir}/ledger.jsonl`);
    await fire('b', 1);
    await writeFile(`${dataDir}/ledger.jsonl`, ledger);
    const after = openStore();
    expect(await after.unfinished()).toEqual([]);
    expect(after.broken().map(({ sentence }) => sentence)).toEqual([
      'The ledger was altered, or put back from an older copy, and a new one begun; the old one is kept as ledger.broken-1. Line 2 is missing, though it was signed for.',
      'The record of firing a was altered. Line 5 is missing, though it was signed for.',
    ]);
    await after.release();
    await rm(`${dataDir}-older`, { recursive: true });
  });
});

describe('the key', () => {
  it('is made at the first start, for its owner only', async () => {
    await fire('a', 1);
    expect((await readdir(`${dataDir}/keys`)).sort()).toEqual(['current.pem', 'keys.jsonl', 'public.pem']);
    expect((await stat(`${dataDir}/keys/current.pem`)).mode & 0o777).toBe(0o600);
    const said: string[] = [];
    await keys(dataDir, false, (line) => said.push(line));
    const digits = said[0]?.split(' key ')[1]?.replaceAll(' ', '');
    expect(digits).toBe(await fingerprint());
    expect(digits).toMatch(/^[0-9a-f]{32}$/);
  });

  it('may be asked for with spaces or colons, and another key is told from it', async () => {
    await fire('a', 1);
    const own = await fingerprint();
    expect((await check(own.match(/../g)?.join(':').toUpperCase())).code).toBe(0);
    const other = await check(own.replace(/./g, (digit) => (digit === '0' ? '1' : '0')));
    expect(other.code).toBe(1);
    expect(other.said[1]).toBe(
      'BAD  a: It is signed with a key that is not the one you know, and that yours did not name.',
    );
    expect(await check('b0b')).toEqual({
      code: 2,
      said: ['--key: "b0b" is no fingerprint; write its 32 digits, as the page Proof and each report show them.'],
    });
  });

  it('hands over to a new one: whoever knows the old or the new one can check what came before and after', async () => {
    await fire('a', 1);
    await fire('b', 2, false);
    const old = await fingerprint();
    await handOverKey(realDisk, dataDir, openedAtMs);
    const middle = await fingerprint();
    await handOverKey(realDisk, dataDir, openedAtMs + 1);
    const fresh = await fingerprint();
    expect(new Set([old, middle, fresh]).size).toBe(3);
    const store = openStore();
    const [unfinished] = await store.unfinished();
    await unfinished?.recorder.close({ type: 'close', t: openedAtMs + 5 * minuteMs });
    await store.release();
    expect(await check(old)).toMatchObject({ code: 0 });
    // Who knows only the new one cannot tell the firing that the old one alone signed.
    const { code, said } = await check(fresh);
    expect(code).toBe(1);
    expect(said.map((line) => line.split(':')[0])).toEqual(['OK  Ledger', 'BAD  a', 'OK  b', '3 examined']);
  });

  it('is not handed over while the watch runs', async () => {
    const store = openStore();
    await store.unfinished();
    await expect(keys(dataDir, true, () => undefined)).rejects.toThrow('Another watch');
    await store.release();
    await keys(dataDir, true, () => undefined);
    expect((await readFile(`${dataDir}/keys/keys.jsonl`, 'utf8')).split('\n')).toHaveLength(3);
  });

  it('outlives a power cut at any moment of the handing over', async () => {
    await openKeys(realDisk, dataDir, 0);
    for (const moment of ['next made', 'handed over'] as const) {
      const before = await fingerprint();
      const copy = await mkdtemp(`${tmpdir()}/spyhole-keys-`);
      await cp(dataDir, copy, { recursive: true });
      const fresh = await handOverKey(realDisk, copy, 1);
      const pem = await readFile(`${copy}/keys/current.pem`);
      await writeFile(`${dataDir}/keys/next.pem`, pem, { mode: 0o600 });
      if (moment === 'handed over') await cp(`${copy}/keys/keys.jsonl`, `${dataDir}/keys/keys.jsonl`);
      const { signer, trouble } = await openKeys(realDisk, dataDir, 2);
      expect(trouble).toBeNull();
      expect(signer.fingerprint).toBe(moment === 'handed over' ? fresh.fingerprint : before);
      expect(signer.handovers).toHaveLength(moment === 'handed over' ? 1 : 0);
      expect(await readdir(`${dataDir}/keys`)).not.toContain('next.pem');
      await rm(copy, { recursive: true });
    }
  });

  it('that is gone is told of, and the records of the new one stand apart', async () => {
    await fire('a', 1);
    const old = await fingerprint();
    await rm(`${dataDir}/keys/current.pem`);
    const store = openStore();
    await store.unfinished();
    expect(store.broken().map(({ sentence }) => sentence)).toEqual([
      expect.stringMatching(
        /^The key .* that signed the records is gone; a new one signs from now on\. Give its fingerprint/,
      ),
    ]);
    await store.release();
    await fire('b', 1);
    const { code, said } = await check(old);
    expect(code).toBe(1);
    expect(said.map((line) => line.split(':')[0])).toEqual(['BAD at line 3  Ledger', 'OK  a', 'BAD  b', '3 examined']);
  });

  it('that cannot be read keeps no line from being written, and the seal comes once it can', async () => {
    await fire('a', 1);
    const pem = await readFile(`${dataDir}/keys/current.pem`);
    await rm(`${dataDir}/keys/current.pem`);
    // A folder in the place of the file cannot be read by anybody, root included.
    await cp(`${dataDir}/firings`, `${dataDir}/keys/current.pem`, { recursive: true });
    const store = openStore();
    await store.unfinished();
    expect(store.broken()[0]?.sentence).toContain('Until then the records carry no seals.');
    const recorder = await store.begin({ id: 'b', kiln: {}, schedule: null, open: { type: 'open', t: openedAtMs } });
    await recorder.append([{ type: 'raw', t: openedAtMs + 30 * minuteMs }]);
    await rm(`${dataDir}/keys/current.pem`, { recursive: true });
    await writeFile(`${dataDir}/keys/current.pem`, pem, { mode: 0o600 });
    await recorder.close({ type: 'close', t: openedAtMs + 31 * minuteMs });
    await store.release();
    expect(await check(await fingerprint())).toMatchObject({ code: 0 });
  });
});

describe('signatures', () => {
  it('are those of RFC 8032, section 7.1, test 2', () => {
    const seed = '4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb';
    const point = '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c';
    const wanted =
      '92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00';
    // RFC 8410 wraps both in a fixed head.
    const key = createPrivateKey({
      key: Buffer.from(`302e020100300506032b657004220420${seed}`, 'hex'),
      format: 'der',
      type: 'pkcs8',
    });
    const found = sign(null, Buffer.from('72', 'hex'), key);
    expect(found.toString('hex')).toBe(wanted);
    const publicKey = createPublicKey({
      key: Buffer.from(`302a300506032b6570032100${point}`, 'hex'),
      format: 'der',
      type: 'spki',
    });
    expect(verifySignature(null, Buffer.from('72', 'hex'), publicKey, found)).toBe(true);
  });

  it.runIf(needs('openssl'))('and fingerprints can be had with openssl and sha256sum alone', async () => {
    await fire('a', 12);
    const openssl = pathOf('openssl');
    for (const seal of await sealsOf('a')) {
      await writeFile(`${dataDir}/text`, seal.text);
      await writeFile(`${dataDir}/sig`, Buffer.from(seal.signature, 'base64'));
      const words = ['pkeyutl', '-verify', '-pubin', '-inkey', `${dataDir}/keys/public.pem`, '-rawin'];
      const { stdout } = await run(openssl, [...words, '-in', `${dataDir}/text`, '-sigfile', `${dataDir}/sig`]);
      expect(stdout).toContain('Signature Verified Successfully');
      const head = await run('sh', ['-c', `head -n ${seal.lines} ${dataDir}/firings/a/record.jsonl | sha256sum`]);
      expect(seal.text.split('\n')[3]).toBe(head.stdout.slice(0, 64));
    }
    const sum = await run('sh', [
      '-c',
      `${openssl} pkey -pubin -in ${dataDir}/keys/public.pem -outform DER | sha256sum`,
    ]);
    expect(await fingerprint()).toBe(sum.stdout.slice(0, 32));
  });
});
