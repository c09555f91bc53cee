import { mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { RecordError } from '../../daemon/errors.ts';
import { type FileRecordStore, fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { checkChain, sha256 } from '../../daemon/recorder/hash-chain.ts';
import type { Entry, NewFiring } from '../../daemon/recorder/recorder.ts';

const nowMs = (): number => 1_795_601_700_000;
const raw = (i: number): Entry => ({ type: 'raw', t: 2_000 + i, text: `${i}` });
const firing = (id: string): NewFiring => ({
  id,
  kiln: { name: 'Gas', toleranceC: 6.5 },
  schedule: { name: 'Trace', segments: [{ kind: 'ramp', toC: 665, rateCPerH: 120.5 }] },
  open: { type: 'open', t: 1_000, version: '0.1.0' },
});

let dataDir: string;
let stores: FileRecordStore[];

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-record-`);
  stores = [];
});

afterEach(async () => {
  for (const store of stores) await store.release();
  await rm(dataDir, { recursive: true });
});

function openStore(): FileRecordStore {
  const store = fileRecordStore(dataDir, { nowMs });
  stores.push(store);
  return store;
}

const folder = (id: string): string => `${dataDir}/firings/${id}`;
const recordOf = (id: string): Promise<Buffer> => readFile(`${folder(id)}/record.jsonl`);

describe('a firing on the disk', () => {
  it('opens with its kiln and schedule, takes readings in order, and ends whole', async () => {
    const recorder = await openStore().begin(firing('a'));
    expect(recorder.lines).toBe(1);
    expect(await recorder.append([raw(1), raw(2)])).toBe(2);
    expect(await recorder.append([raw(3)])).toBe(4);
    await recorder.close({ type: 'close', t: 9_000 });

    const bytes = await recordOf('a');
    expect(checkChain(bytes)).toMatchObject({ verdict: 'OK', lines: 5, head: recorder.head });
    const [first] = bytes.toString('utf8').split('\n');
    expect(JSON.parse(first ?? '')).toMatchObject({
      n: 1,
      prev: '0'.repeat(64),
      version: '0.1.0',
      follows: null,
      kiln: { name: 'Gas', toleranceC: { decimal: '6.5' } },
    });
  });

  it('lies in files that only their owner may read, beside copies of kiln and schedule as they were given', async () => {
    await openStore().begin(firing('a'));
    expect((await stat(`${folder('a')}/record.jsonl`)).mode & 0o777).toBe(0o600);
    expect(JSON.parse(await readFile(`${folder('a')}/kiln.json`, 'utf8'))).toEqual(firing('a').kiln);
    expect(JSON.parse(await readFile(`${folder('a')}/schedule.json`, 'utf8'))).toEqual(firing('a').schedule);
  });

  it('needs no plan', async () => {
    await openStore().begin({ ...firing('a'), schedule: null });
    expect(await readdir(folder('a'))).not.toContain('schedule.json');
    expect((await openStore().read('a'))[0]).toMatchObject({ schedule: null });
  });

  it('keeps the order of readings that were handed over at the same time', async () => {
    const recorder = await openStore().begin(firing('a'));
    const numbers = await Promise.all(Array.from({ length: 40 }, (_, i) => recorder.append([raw(i), raw(i)])));
    expect(numbers).toEqual(numbers.map((_, i) => 2 + 2 * i));
    const lines = await openStore().read('a');
    expect(lines.slice(1).map((line) => line.text)).toEqual(numbers.flatMap((_, i) => [`${i}`, `${i}`]));
  });

  it('refuses a decimal by its place, writes nothing of that group, and goes on with the next', async () => {
    const recorder = await openStore().begin(firing('a'));
    const bad: Entry = { type: 'reading', t: 1, celsius: 650.5 };
    await expect(recorder.append([raw(1), bad])).rejects.toThrow('$.celsius: 650.5 is not a whole number');
    expect(await recorder.append([raw(2)])).toBe(2);
    expect(checkChain(await recordOf('a'))).toMatchObject({ verdict: 'INCOMPLETE', lines: 2 });
  });

  it('takes nothing after its closing line, and no closing line but through close', async () => {
    const recorder = await openStore().begin(firing('a'));
    await expect(recorder.append([{ type: 'close', t: 1 }])).rejects.toThrow('ends with its closing line');
    await recorder.close({ type: 'close', t: 9_000 });
    await expect(recorder.append([raw(1)])).rejects.toThrow(RecordError);
  });

  it('names the firing closed before it, and its seal', async () => {
    const store = openStore();
    const first = await store.begin(firing('a'));
    await first.close({ type: 'close', t: 9_000 });
    await store.begin(firing('b'));
    expect((await store.read('b'))[0]).toMatchObject({ follows: { firing: 'a', head: first.head } });
  });

  it('is named in the ledger when it opens and when it closes', async () => {
    const recorder = await openStore().begin(firing('a'));
    const opened = recorder.head;
    await recorder.append([raw(1)]);
    await recorder.close({ type: 'close', t: 9_000 });
    const ledger = await readFile(`${dataDir}/ledger.jsonl`);
    expect(checkChain(ledger)).toMatchObject({ verdict: 'INCOMPLETE', lines: 2 });
    expect(
      ledger
        .toString('utf8')
        .trimEnd()
        .split('\n')
        .map((line) => JSON.parse(line)),
    ).toMatchObject([
      { type: 'opened', firing: 'a', head: opened, t: 1_000 },
      { type: 'closed', firing: 'a', head: recorder.head, t: 9_000 },
    ]);
  });

  it('never writes over another one, and never outside its folder', async () => {
    const store = openStore();
    await store.begin(firing('a'));
    await expect(store.begin(firing('a'))).rejects.toThrow('There is a firing a already');
    await expect(store.begin(firing('../a'))).rejects.toThrow("is no firing's id");
    await expect(store.read('../firings/a')).rejects.toThrow("is no firing's id");
    await expect(store.read('zzz')).rejects.toThrow('There is no record of a firing zzz');
  });

  it('begins beside others that begin in the same moment, and only once under one id', async () => {
    const store = openStore();
    const results = await Promise.allSettled(['a', 'b', 'b', 'c'].map((id) => store.begin(firing(id))));
    expect(results.map(({ status }) => status)).toEqual(['fulfilled', 'fulfilled', 'rejected', 'fulfilled']);
    expect(checkChain(await readFile(`${dataDir}/ledger.jsonl`))).toMatchObject({ lines: 3, verdict: 'INCOMPLETE' });
  });

  it('is listed with the others, the newest last', async () => {
    const store = openStore();
    for (const id of ['20261125T2', '20261125T1', '20261126T0']) await store.begin(firing(id));
    expect(await store.ids()).toEqual(['20261125T1', '20261125T2', '20261126T0']);
    expect(await fileRecordStore(`${dataDir}/nowhere`).ids()).toEqual([]);
  });
});

describe('the daemon starts again', () => {
  it('goes on with the same firing where it was left', async () => {
    const before = openStore();
    const recorder = await before.begin(firing('a'));
    await recorder.append([raw(1)]);
    await recorder.leave();
    await before.release();

    const after = openStore();
    const [unfinished, ...others] = await after.unfinished();
    expect(others).toEqual([]);
    expect(unfinished).toMatchObject({ tornBytes: 0, lines: [{ type: 'open' }, raw(1)] });
    expect(await unfinished?.recorder.append([raw(2)])).toBe(3);
    await unfinished?.recorder.close({ type: 'close', t: 9_000 });
    expect(checkChain(await recordOf('a'))).toMatchObject({ verdict: 'OK', lines: 4 });
    expect(await openStore().ids()).toEqual(['a']);
  });

  it('goes on wherever power cut the last three lines, keeps every whole line, and sets the torn bytes aside', async () => {
    const before = openStore();
    const recorder = await before.begin(firing('a'));
    for (let i = 0; i < 4; i += 1) await recorder.append([raw(i)]);
    await recorder.leave();
    await before.release();
    const whole = await recordOf('a');
    const lines = whole.toString('utf8').split('\n').slice(0, -1);
    const lastThree = lines.slice(-3).reduce((bytes, line) => bytes + line.length + 1, 0);

    for (let length = whole.length; length >= whole.length - lastThree; length -= 1) {
      const cut = whole.subarray(0, length);
      const torn = cut.subarray(cut.lastIndexOf(0x0a) + 1);
      await writeFile(`${folder('a')}/record.jsonl`, cut);
      // A power cut leaves no seal over the last lines.
      await rm(`${folder('a')}/checkpoints.jsonl`);
      const store = openStore();
      const [unfinished] = await store.unfinished();
      expect(store.broken()).toEqual([]);
      expect(unfinished?.tornBytes).toBe(torn.length);

      const kept = cut.toString('utf8').split('\n').slice(0, -1);
      const now = (await recordOf('a')).toString('utf8').split('\n').slice(0, -1);
      expect(now.slice(0, kept.length)).toEqual(kept);
      expect(unfinished?.lines).toEqual(now.map((line) => JSON.parse(line)));
      const aside = (await readdir(folder('a'))).filter((name) => name.startsWith('record.torn-'));
      if (torn.length > 0) {
        expect(JSON.parse(now.at(-1) ?? '')).toMatchObject({
          type: 'recovered',
          bytes: torn.length,
          sha256: sha256(torn),
        });
        expect(await readFile(`${folder('a')}/${aside.find((name) => name.endsWith('-1'))}`)).toEqual(torn);
      }
      expect(aside).toHaveLength(torn.length > 0 ? 1 : 0);
      expect(await unfinished?.recorder.append([raw(99)])).toBe(now.length + 1);
      expect(checkChain(await recordOf('a'))).toMatchObject({ verdict: 'INCOMPLETE', lines: now.length + 1 });
      await unfinished?.recorder.leave();
      await store.release();
      for (const name of aside) await rm(`${folder('a')}/${name}`);
    }
  });

  it('leaves a record alone that somebody has altered, says so, and goes on with the others', async () => {
    const before = openStore();
    for (const id of ['a', 'b']) {
      const recorder = await before.begin(firing(id));
      await recorder.append([raw(1), raw(2)]);
      await recorder.leave();
    }
    await before.release();
    const altered = Buffer.from((await recordOf('a')).toString('utf8').replace('"t":2001', '"t":2007'));
    await writeFile(`${folder('a')}/record.jsonl`, altered);

    const store = openStore();
    expect((await store.unfinished()).map(({ recorder }) => recorder.firingId)).toEqual(['b']);
    expect(store.broken()).toEqual([{ id: 'a', sentence: expect.stringContaining('Line 2 was changed after') }]);
    expect(await recordOf('a')).toEqual(altered);
    await expect(store.read('a')).rejects.toThrow('was altered. Line 2 was changed after it was written');
  });

  it('misses a firing whose folder was removed', async () => {
    const before = openStore();
    await (await before.begin(firing('a'))).close({ type: 'close', t: 9_000 });
    await before.release();
    await rm(folder('a'), { recursive: true });
    const store = openStore();
    expect(await store.unfinished()).toEqual([]);
    expect(store.broken()).toEqual([
      { id: 'a', sentence: 'Firing a is named by the ledger, but its folder is missing.' },
    ]);
  });

  it('keeps an altered ledger aside, says so, and goes on', async () => {
    const before = openStore();
    await (await before.begin(firing('a'))).close({ type: 'close', t: 9_000 });
    await before.release();
    const altered = (await readFile(`${dataDir}/ledger.jsonl`, 'utf8')).replace('"t":1000', '"t":1001');
    await writeFile(`${dataDir}/ledger.jsonl`, altered);

    const store = openStore();
    await store.unfinished();
    expect(store.broken()).toMatchObject([
      { id: 'ledger', sentence: expect.stringContaining('kept as ledger.broken-1') },
    ]);
    expect(await readFile(`${dataDir}/ledger.broken-1`, 'utf8')).toBe(altered);
    await (await store.begin(firing('b'))).close({ type: 'close', t: 9_000 });
    expect(checkChain(await readFile(`${dataDir}/ledger.jsonl`))).toMatchObject({ lines: 3 });
  });
});
