import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { linkLines, walkChain } from '../../daemon/recorder/hash-chain.ts';
import type { Entry } from '../../daemon/recorder/recorder.ts';

const openedAtMs = 1_795_600_800_000;
let dataDir: string;

const openStore = () => fileRecordStore(dataDir, { nowMs: () => openedAtMs + 1 });
const record = (): string => `${dataDir}/firings/a/record.jsonl`;
const note = (text: string): Entry => ({ type: 'note', t: openedAtMs + 90_000, by: 'Hanna', text });

beforeEach(async () => {
  dataDir = await mkdtemp(`${tmpdir()}/spyhole-words-`);
  const store = openStore();
  const recorder = await store.begin({ id: 'a', kiln: {}, schedule: null, open: { type: 'open', t: openedAtMs } });
  await recorder.append([{ type: 'raw', t: openedAtMs, text: '20' }]);
  await recorder.close({ type: 'close', t: openedAtMs + 60_000 });
  await store.release();
});

afterEach(() => rm(dataDir, { recursive: true }));

async function check(): Promise<{ code: number; said: readonly string[] }> {
  const said: string[] = [];
  return { code: await verify('--all', dataDir, (line) => said.push(line)), said };
}

describe('words about a firing that is over', () => {
  it('stand behind its close, sealed and in the ledger, and the next firing follows them', async () => {
    const store = openStore();
    expect(await store.amend('a', () => note('a crack'))).toBe(4);
    expect(
      await store.amend('a', (lines, head) => ({ ...note('seen'), type: 'sign-off', lines: lines.length, head })),
    ).toBe(5);
    const next = await store.begin({
      id: 'b',
      kiln: {},
      schedule: null,
      open: { type: 'open', t: openedAtMs + 99_000 },
    });
    await next.close({ type: 'close', t: openedAtMs + 100_000 });
    await store.release();
    const { content, head } = walkChain(await readFile(record()));
    expect(content.slice(3)).toMatchObject([
      { text: 'a crack' },
      { type: 'sign-off', lines: 4, head: content[4]?.prev },
    ]);
    const [first] = walkChain(await readFile(`${dataDir}/firings/b/record.jsonl`)).content;
    expect(first?.follows).toEqual({ firing: 'a', head });
    expect(await check()).toMatchObject({ code: 0 });
  });

  it('are missed when they are cut off together with their seal', async () => {
    const store = openStore();
    const before = [await readFile(record()), await readFile(`${dataDir}/firings/a/checkpoints.jsonl`)] as const;
    await store.amend('a', () => note('a crack'));
    await store.release();
    await writeFile(record(), before[0]);
    await writeFile(`${dataDir}/firings/a/checkpoints.jsonl`, before[1]);
    const { code, said } = await check();
    expect(code).toBe(1);
    expect(said[1]).toContain('Words that were added after the close are missing or were changed');
  });

  it('are not added to a firing that is on, to one that is not there, or to a record that was altered', async () => {
    const store = openStore();
    await expect(store.amend('c', () => note('x'))).rejects.toThrow('There is no record of a firing c');
    const on = await store.begin({ id: 'b', kiln: {}, schedule: null, open: { type: 'open', t: openedAtMs + 99_000 } });
    await expect(store.amend('b', () => note('x'))).rejects.toThrow('The record of firing b is not closed');
    await on.close({ type: 'close', t: openedAtMs + 99_001 });
    const entries = walkChain(await readFile(record())).content.map(({ n: _n, prev: _prev, ...entry }) => entry);
    const changed = entries.with(1, { ...(entries[1] as Entry), text: '21' });
    await writeFile(record(), linkLines(changed, { lines: 0, head: '0'.repeat(64) }).bytes);
    await expect(store.amend('a', () => note('x'))).rejects.toThrow('was altered, so nothing is added to it');
    await store.release();
  });

  it('go on where the power tore the last ones off', async () => {
    const store = openStore();
    await store.amend('a', () => note('a crack'));
    await store.release();
    const whole = await readFile(record());
    await writeFile(record(), Buffer.concat([whole, Buffer.from('{"by":"Ha')]));
    expect((await check()).code).toBe(3);
    const later = openStore();
    expect(await later.amend('a', () => note('again'))).toBe(6);
    await later.release();
    expect(walkChain(await readFile(record())).content.map((line) => line.type)).toEqual([
      'open',
      'raw',
      'close',
      'note',
      'recovered',
      'note',
    ]);
    expect((await check()).code).toBe(0);
  });
});
