import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { describe, expect, it } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { RecordError } from '../../daemon/errors.ts';
import { type Disk, realDisk } from '../../daemon/recorder/disk.ts';
import { type FileRecordStore, fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { checkChain } from '../../daemon/recorder/hash-chain.ts';
import type { Entry, Recorder } from '../../daemon/recorder/recorder.ts';
import { type FailingDisk, type Failure, failingDisk } from './failing-disk.ts';
import { forgetfulDisk } from './forgetful-disk.ts';

const id = '20261125T101500Z-gas-3f9a';
const lastOperation = 60;
const nowMs = (): number => 1_795_601_700_000;

/** What the recorder has promised so far. */
interface Promised {
  /** Entries that stand on the disk by its word, with the number of the line each was given. */
  readonly entries: { readonly n: number; readonly text: string }[];
  begun: boolean;
  closed: boolean;
}

const nothing = (): Promised => ({ entries: [], begun: false, closed: false });

/** Tries until it works; after the third refusal the disk is whole again, where it can be. */
async function persist<T>(disk: Disk, work: () => Promise<T>): Promise<T> {
  for (let refusals = 0; ; refusals += 1) {
    if (refusals === 3) (disk as Partial<FailingDisk>).heal?.();
    try {
      return await work();
    } catch (error) {
      if (!(error instanceof RecordError) || refusals >= 3) throw error;
      expect(error.message).toMatch(/^\S.*\.$/);
    }
  }
}

/** One short firing: opened, twelve groups of readings, closed. */
async function fire(disk: Disk, dataDir: string, promised: Promised): Promise<void> {
  const store = fileRecordStore(dataDir, { disk, nowMs });
  await persist(disk, () => store.unfinished());
  const recorder = await persist(disk, () =>
    store.begin({ id, kiln: { name: 'Gas' }, schedule: { name: 'Trace' }, open: { type: 'open', t: nowMs() } }),
  );
  promised.begun = true;
  await goOn(disk, store, recorder, promised);
}

async function goOn(disk: Disk, store: FileRecordStore, recorder: Recorder, promised: Promised): Promise<void> {
  for (let group = 0; group < 12; group += 1) {
    const entries = [0, 1, 2].slice(0, 1 + (group % 3)).map((i): Entry => {
      return { type: 'raw', t: nowMs() + group * 1000 + i, text: `reading ${promised.entries.length + i}` };
    });
    const first = await persist(disk, () => recorder.append(entries));
    promised.entries.push(...entries.map((entry, i) => ({ n: first + i, text: String(entry.text) })));
  }
  await persist(disk, () => recorder.close({ type: 'close', t: nowMs() + 60_000 }));
  promised.closed = true;
  await persist(disk, () => store.release());
}

/** Each promised entry stands at its line, and nothing stands between them that was not promised in this order. */
async function expectKept(disk: Disk, dataDir: string, promised: Promised): Promise<void> {
  const lines = await fileRecordStore(dataDir, { disk, nowMs }).read(id);
  for (const { n, text } of promised.entries) expect(lines[n - 1]).toMatchObject({ n, type: 'raw', text });
}

async function expectClosed(disk: Disk, dataDir: string): Promise<void> {
  const check = checkChain(await disk.read(`${dataDir}/firings/${id}/record.jsonl`));
  expect(check).toMatchObject({ verdict: 'OK' });
  const ledger = (await disk.read(`${dataDir}/ledger.jsonl`)).toString('utf8').trimEnd().split('\n');
  const spoken = ledger.map((line) => JSON.parse(line)).filter((line) => line.firing === id);
  expect(spoken.map((line) => line.type)).toEqual(['opened', 'closed']);
  expect(spoken[1].head).toBe(check.head);
}

const moments = Array.from({ length: lastOperation }, (_, i) => i + 1);
const kinds: readonly (readonly [Failure, 'once' | 'from then on'])[] = [
  ['EIO', 'once'],
  ['ENOSPC', 'once'],
  ['EIO', 'from then on'],
  ['ENOSPC', 'from then on'],
];
const failsFrom = (k: number, how: 'once' | 'from then on') => (operation: number) =>
  how === 'once' ? operation === k : operation >= k;

describe('a disk that refuses', () => {
  it('is asked often enough that each of its refusals is tried', async () => {
    const disk = failingDisk(forgetfulDisk(), 'EIO', () => false);
    await fire(disk, '/data', nothing());
    expect(disk.count()).toBeGreaterThanOrEqual(lastOperation);
  });

  it.each(kinds)(
    'loses nothing that was acknowledged, and the chain stays whole: %s, %s, on the real disk',
    async (failure, how) => {
      for (const k of moments) {
        const dataDir = await mkdtemp(`${tmpdir()}/spyhole-faults-`);
        try {
          const disk = failingDisk(realDisk, failure, failsFrom(k, how));
          const promised = nothing();
          await fire(disk, dataDir, promised);
          expect(disk.failures(), `operation ${k}`).toBeGreaterThan(0);
          await expectKept(realDisk, dataDir, promised);
          await expectClosed(realDisk, dataDir);
          const said: string[] = [];
          expect(await verify('--all', dataDir, (line) => said.push(line)), said.join('\n')).toBe(0);
        } finally {
          await rm(dataDir, { recursive: true });
        }
      }
    },
  );

  it.each(kinds)('loses nothing either when the power goes right after the firing: %s, %s', async (failure, how) => {
    for (const k of moments) {
      const memory = forgetfulDisk();
      const promised = nothing();
      await fire(failingDisk(memory, failure, failsFrom(k, how)), '/data', promised);
      const found = memory.afterPowerCut('lost');
      await expectKept(found, '/data', promised);
      await expectClosed(found, '/data');
    }
  });
});

describe('a sync that fails', () => {
  it('is final for the file: the firing goes on in a fresh copy, without what was refused', async () => {
    const dataDir = await mkdtemp(`${tmpdir()}/spyhole-sync-`);
    const path = `${dataDir}/firings/${id}/record.jsonl`;
    let failing = -1;
    const disk = failingDisk(realDisk, 'EIO', (operation) => operation === failing);
    const store = fileRecordStore(dataDir, { disk, nowMs });
    const recorder = await store.begin({ id, kiln: {}, schedule: null, open: { type: 'open', t: nowMs() } });
    await recorder.append([{ type: 'raw', t: nowMs(), text: 'kept' }]);
    const before = await stat(path);

    // An append asks for a write, then for the sync.
    failing = disk.count() + 2;
    const long: Entry = { type: 'raw', t: nowMs(), text: 'refused '.repeat(50) };
    await expect(recorder.append([long])).rejects.toMatchObject({
      code: 'disk-refuses',
      message: `The record of firing ${id} cannot be written: the disk refuses (EIO); it must be whole, connected and not read-only.`,
    });
    expect(await recorder.append([{ type: 'gap', t: nowMs(), missing: 1 }])).toBe(3);
    expect((await stat(path)).ino).not.toBe(before.ino);
    expect((await store.read(id)).map((line) => line.type)).toEqual(['open', 'raw', 'gap']);
    await recorder.close({ type: 'close', t: nowMs() });
    await expectClosed(realDisk, dataDir);
    await store.release();
    await rm(dataDir, { recursive: true });
  });

  it('leaves a record alone whose acknowledged lines are no longer there, and says so', async () => {
    const memory = forgetfulDisk();
    let failing = -1;
    const disk = failingDisk(memory, 'EIO', (operation) => operation === failing);
    const store = fileRecordStore('/data', { disk, nowMs });
    const recorder = await store.begin({ id, kiln: {}, schedule: null, open: { type: 'open', t: nowMs() } });
    failing = disk.count() + 2;
    await expect(recorder.append([{ type: 'raw', t: nowMs() }])).rejects.toThrow(RecordError);

    const file = await memory.open(`/data/firings/${id}/record.jsonl`);
    await file.write(Buffer.from('[[['), 3);
    const found = await memory.read(`/data/firings/${id}/record.jsonl`);
    await expect(recorder.append([{ type: 'raw', t: nowMs() }])).rejects.toMatchObject({ code: 'record-damaged' });
    expect(await memory.read(`/data/firings/${id}/record.jsonl`)).toEqual(found);
  });
});

describe('power that goes', () => {
  it('takes no firing with it although its folder had to be made again', async () => {
    const memory = forgetfulDisk();
    await fileRecordStore('/data', { disk: memory, nowMs }).unfinished();
    const emptied = memory.afterPowerCut('lost');
    for (const name of ['lock', 'firings']) await emptied.remove(`/data/${name}`);
    const store = fileRecordStore('/data', { disk: emptied, nowMs });
    await store.begin({ id, kiln: {}, schedule: null, open: { type: 'open', t: nowMs() } });
    const found = emptied.afterPowerCut('lost');
    expect(await fileRecordStore('/data', { disk: found, nowMs }).read(id)).toHaveLength(1);
  });

  it.each(['lost', 'kept'] as const)(
    'at any moment takes nothing that was acknowledged, and the same firing goes on (unsynced bytes %s)',
    async (unsyncedBytes) => {
      for (let k = 1; k <= 100; k += 1) {
        const memory = forgetfulDisk();
        const promised = nothing();
        const dying = failingDisk(memory, 'EIO', (operation) => operation >= k);
        // Without `heal` nothing works any more, so the attempts end where the power went.
        await fire({ ...dying, heal: undefined } as Disk, '/data', promised).catch((error: unknown) => {
          expect(error).toBeInstanceOf(RecordError);
        });

        const found = memory.afterPowerCut(unsyncedBytes);
        // The machine has started anew, so the lock is that of a process which is gone (see data-lock.test.ts).
        await found.remove('/data/lock');
        const store = fileRecordStore('/data', { disk: found, nowMs });
        const [resumed, ...others] = await store.unfinished();
        expect(others).toEqual([]);
        expect(store.broken()).toEqual([]);
        if (promised.begun) await expectKept(found, '/data', promised);
        if (promised.begun && !promised.closed) expect(resumed ?? (await closedAnyway(found))).toBeTruthy();
        if (resumed) await goOn(found, store, resumed.recorder, promised);
        if (!resumed && !promised.begun) {
          await store.release();
          await fire(found, '/data', promised);
        }
        await expectKept(found, '/data', promised);
        await expectClosed(found, '/data');
      }
    },
  );
});

/** The closing line may have reached the disk although nobody heard of it. */
async function closedAnyway(disk: Disk): Promise<boolean> {
  return checkChain(await disk.read(`/data/firings/${id}/record.jsonl`)).verdict === 'OK';
}
