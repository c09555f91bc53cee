import { createPublicKey } from 'node:crypto';
import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { groupedFingerprint } from '../../daemon/recorder/key-ring.ts';
import { fingerprintOf } from '../../daemon/recorder/signing.ts';

let dataDir: string;
let seals: Record<string, string>;

/** 25 November 2026, 10:00 UTC. */
const openedAtMs = 1_795_600_800_000;

const sealsOf = (id: string): string => `${dataDir}/firings/${id}/checkpoints.jsonl`;
const recordPath = (id: string): string => `${dataDir}/firings/${id}/record.jsonl`;

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-verify-`);
  seals = {};
  const store = fileRecordStore(dataDir);
  for (const id of ['20261124T1', '20261125T1', '20261126T1']) {
    const recorder = await store.begin({
      id,
      kiln: { name: 'Gas' },
      schedule: null,
      open: { type: 'open', t: openedAtMs },
    });
    await recorder.append([1, 2, 3].map((i) => ({ type: 'raw', t: openedAtMs + i, text: `${i}` })));
    await recorder.close({ type: 'close', t: openedAtMs + 540_000 });
    seals[id] = recorder.head;
  }
  await store.release();
});

afterEach(() => rm(dataDir, { recursive: true }));

async function ownKey(): Promise<string> {
  const pem = createPublicKey(await readFile(`${dataDir}/keys/public.pem`));
  return fingerprintOf(pem.export({ type: 'spki', format: 'der' }).toString('base64'));
}

async function run(target: string, dir = dataDir): Promise<{ code: number; said: readonly string[] }> {
  const said: string[] = [];
  const code = await verify(target, dir, (line) => said.push(line));
  return { code, said };
}

async function change(path: string, work: (text: string) => string): Promise<void> {
  const before = await readFile(path, 'utf8');
  const after = work(before);
  expect(after).not.toBe(before);
  await writeFile(path, after);
}

const cutLines = (count: number) => (text: string) =>
  `${text
    .split('\n')
    .slice(0, -1 - count)
    .join('\n')}\n`;

describe('spyhole verify', () => {
  it('says OK and the seal for a folder, a file and an id', async () => {
    for (const target of [`${dataDir}/firings/20261125T1`, recordPath('20261125T1'), '20261125T1']) {
      expect(await run(target)).toEqual({
        code: 0,
        said: [
          `OK  20261125T1: lines 1 to 5 stand as they were written, from the opening to the closing line. Signed 2026-11-25 10:09 UTC with key ${groupedFingerprint(await ownKey())}: if this is the key you know, nobody has changed it since. Seal ${seals['20261125T1']}`,
        ],
      });
    }
  });

  it('says OK for a record that was carried elsewhere with its seals, and not without them', async () => {
    const elsewhere = await mkdtemp(`${tmpdir()}/spyhole-elsewhere-`);
    await cp(recordPath('20261125T1'), `${elsewhere}/sent-by-mail.jsonl`);
    const { code, said } = await run(`${elsewhere}/sent-by-mail.jsonl`);
    expect(code).toBe(3);
    expect(said[0]).toContain('It carries no seals, so nobody has signed for it.');
    await cp(sealsOf('20261125T1'), `${elsewhere}/sent-by-mail.checkpoints.jsonl`);
    expect((await run(`${elsewhere}/sent-by-mail.jsonl`)).code).toBe(0);
    await rm(elsewhere, { recursive: true });
  });

  it('names the line that was changed', async () => {
    await change(recordPath('20261125T1'), (text) => text.replace(`"t":${openedAtMs + 2}`, `"t":${openedAtMs + 9}`));
    expect(await run('20261125T1')).toEqual({
      code: 1,
      said: ['BAD at line 3  20261125T1: Line 3 was changed after it was written.'],
    });
  });

  it('finds a changed last line by the seal, and where that is gone by the ledger', async () => {
    await change(recordPath('20261125T1'), (text) =>
      text.replace(`"t":${openedAtMs + 540_000}`, `"t":${openedAtMs + 540_001}`),
    );
    expect(await run('20261125T1')).toMatchObject({
      code: 1,
      said: [
        'BAD at line 1  20261125T1: Among lines 1 to 5 something is not what was signed, and the links were made to fit.',
      ],
    });
    await rm(sealsOf('20261125T1'));
    expect((await run('20261125T1')).said[0]).toContain(
      'BAD at line 5  20261125T1: Line 5, the closing one, was changed after the firing was closed',
    );
  });

  it('finds an end that is missing by the seals, and where they are gone too by the ledger', async () => {
    await change(recordPath('20261126T1'), cutLines(2));
    expect(await run('20261126T1')).toEqual({
      code: 3,
      said: [
        'INCOMPLETE  20261126T1: The firing was closed once, so lines at its end are lost. Lines 4 to 5 are missing, though they were signed for.',
      ],
    });
    await rm(sealsOf('20261126T1'));
    const { code, said } = await run('20261126T1');
    expect(code).toBe(3);
    expect(said[0]).toMatch(/^INCOMPLETE {2}20261126T1: The firing was closed once, so lines at its end are lost\./);
  });

  it('says of a firing that is on that all is well so far, and that it is not over', async () => {
    const store = fileRecordStore(dataDir);
    const recorder = await store.begin({ id: '20261127T1', kiln: {}, schedule: null, open: { type: 'open', t: 1 } });
    const lines = (count: number, t: number) => Array.from({ length: count }, (_, i) => ({ type: 'raw', t: t + i }));
    expect(await run('20261127T1')).toEqual({
      code: 3,
      said: [
        'INCOMPLETE  20261127T1: So far OK: the firing is on and its record is being written; line 1 stands as it was written, its first seal is set within ten minutes.',
      ],
    });
    await recorder.append(lines(3, 600_001));
    expect((await run('20261127T1')).said[0]).toMatch(
      /lines 1 to 4 stand as they were written, all of them are signed\.$/,
    );
    await recorder.append(lines(2, 700_000));
    expect((await run('20261127T1')).said[0]).toMatch(
      /lines 1 to 6 .*, signed up to line 4, the rest within ten minutes\.$/,
    );
    expect((await run('--all')).said).toContainEqual(expect.stringMatching(/^INCOMPLETE {2}20261127T1: So far OK/));
    // A seal, or what it counts, that is gone is no matter of being on.
    await rm(sealsOf('20261127T1'));
    expect((await run('20261127T1')).said[0]).toContain('It carries no seals, so nobody has signed for it.');
    await store.release();
  });

  it('calls a firing without its end incomplete where nobody writes it', async () => {
    const store = fileRecordStore(dataDir);
    await store.begin({ id: '20261127T1', kiln: {}, schedule: null, open: { type: 'open', t: 1 } });
    await store.release();
    expect(await run('20261127T1')).toMatchObject({
      code: 3,
      said: [expect.stringContaining('the firing is not over, or the end was lost')],
    });
    expect((await run('--all')).code).toBe(3);
  });

  it.each(['nothing-there', '../..', '/dev/null'])('says in one sentence that %s is no record', async (target) => {
    const { code, said } = await run(target);
    expect(code).toBe(2);
    expect(said).toEqual([expect.stringContaining(`${target}: there is no record; give a firing's folder`)]);
  });
});

describe('spyhole verify --all', () => {
  it('examines each firing and the ledger', async () => {
    const { code, said } = await run('--all');
    expect(code).toBe(0);
    expect(said.map((line) => line.split(':')[0])).toEqual([
      'OK  Ledger',
      'OK  20261124T1',
      'OK  20261125T1',
      'OK  20261126T1',
      '4 examined',
    ]);
  });

  it.each(['20261124T1', '20261125T1', '20261126T1'])('misses a firing that was removed: %s', async (id) => {
    await rm(`${dataDir}/firings/${id}`, { recursive: true });
    const { code, said } = await run('--all');
    expect(code).toBe(1);
    expect(said).toContainEqual(expect.stringMatching(new RegExp(`^BAD {2}${id}: .* its record is missing`)));
  });

  it('misses a removed firing by the next one where the ledger was cut too', async () => {
    await rm(`${dataDir}/firings/20261124T1`, { recursive: true });
    await rm(`${dataDir}/ledger.jsonl`);
    const { code, said } = await run('--all');
    expect(code).toBe(1);
    expect(said).toContainEqual(expect.stringContaining('BAD  Ledger: The ledger is missing'));
    expect(said).toContainEqual(expect.stringContaining('BAD  20261124T1: The ledger or the next firing names'));
  });

  it('finds a change in the ledger and names its line', async () => {
    await change(`${dataDir}/ledger.jsonl`, (text) => text.replace('20261125T1', '20261125T2'));
    const { code, said } = await run('--all');
    expect(code).toBe(1);
    expect(said[0]).toBe('BAD at line 3  Ledger: Line 3 was changed after it was written.');
  });

  it('finds a ledger that was cut back', async () => {
    await change(`${dataDir}/ledger.jsonl`, cutLines(2));
    const { code, said } = await run('--all');
    expect(code).toBe(1);
    expect(said).toContainEqual('BAD  20261126T1: The ledger does not name this firing, though it is over.');
  });

  it('finds a firing replaced by another one that is whole in itself', async () => {
    await cp(recordPath('20261124T1'), recordPath('20261125T1'));
    await cp(sealsOf('20261124T1'), sealsOf('20261125T1'));
    const { code, said } = await run('--all');
    expect(code).toBe(1);
    expect(said).toContainEqual(expect.stringContaining('BAD at line 1  20261125T1: Line 1 was changed'));
  });

  it('says in one sentence that a folder holds no firings', async () => {
    expect(await run('--all', `${dataDir}/none`)).toEqual({
      code: 2,
      said: [`${dataDir}/none: there are no firings; give the folder that the watch records into with --data.`],
    });
  });
});
