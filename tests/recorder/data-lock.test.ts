import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { describeHolder } from '../../daemon/recorder/data-lock.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';

let dataDir: string;

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-lock-`);
});

afterEach(() => rm(dataDir, { recursive: true }));

describe('two daemons and one data folder', () => {
  it('lets only one write, while the other may read', async () => {
    const first = fileRecordStore(dataDir);
    const second = fileRecordStore(dataDir);
    await first.unfinished();
    await expect(second.unfinished()).rejects.toThrow(
      `Another watch (process ${process.pid}) writes the records in ${dataDir}; stop it first`,
    );
    expect(await second.ids()).toEqual([]);
    await first.release();
    await second.unfinished();
    await second.release();
    expect(await readdir(dataDir)).toEqual(['firings', 'keys', 'ledger.jsonl']);
  });

  it('respects a lock while its process lives and takes it over once it is dead', async () => {
    const other = spawn('sleep', ['600']);
    await once(other, 'spawn');
    await writeFile(`${dataDir}/lock`, describeHolder(other.pid ?? 0, 'another'));
    const store = fileRecordStore(dataDir);
    await expect(store.unfinished()).rejects.toMatchObject({ code: 'data-in-use' });

    other.kill('SIGKILL');
    await once(other, 'exit');
    await store.unfinished();
    await store.release();
  });

  it('is not held up by a lock from before the machine was started, though the number is in use again', async () => {
    const earlier = { ...JSON.parse(describeHolder(process.pid, 'another')), bootId: 'an earlier start' };
    await writeFile(`${dataDir}/lock`, JSON.stringify(earlier));
    const store = fileRecordStore(dataDir);
    await store.unfinished();
    await store.release();
  });

  it('is not held up by another program that has got the number of a dead daemon', async () => {
    const earlier = { ...JSON.parse(describeHolder(process.pid, 'another')), startTicks: '1' };
    await writeFile(`${dataDir}/lock`, JSON.stringify(earlier));
    const store = fileRecordStore(dataDir);
    await store.unfinished();
    await store.release();
  });

  it('is not held up by a lock that was not written to its end', async () => {
    await writeFile(`${dataDir}/lock`, '{"pid":1');
    const store = fileRecordStore(dataDir);
    await store.unfinished();
    await store.release();
  });
});
