import { cp, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { putBack } from '../../daemon/commands/put-back.ts';
import { verify } from '../../daemon/commands/verify.ts';
import { type FileRecordStore, fileRecordStore } from '../../daemon/recorder/file-recorder.ts';

const nowMs = 1_795_600_800_000;
let dir: string;

beforeEach(async () => {
  dir = await mkdtemp(`${tmpdir()}/spyhole-mark-`);
});

afterEach(() => rm(dir, { recursive: true }));

const openStore = (data = 'data', sealsFolder = `${dir}/elsewhere`): FileRecordStore =>
  fileRecordStore(`${dir}/${data}`, { nowMs: () => nowMs, sealsFolder });

async function fire(store: FileRecordStore, id: string, isClosed = true): Promise<void> {
  const recorder = await store.begin({ id, kiln: {}, schedule: null, open: { type: 'open', t: nowMs } });
  await recorder.append([{ type: 'raw', t: nowMs + 1, text: '20' }]);
  if (isClosed) await recorder.close({ type: 'close', t: nowMs + 2 });
}

async function start(store: FileRecordStore) {
  const unfinished = await store.unfinished();
  const told = store.broken().map(({ sentence }) => sentence);
  return { unfinished, told };
}

const restore = async (): Promise<void> => {
  await rm(`${dir}/data`, { recursive: true });
  await cp(`${dir}/backup`, `${dir}/data`, { recursive: true });
};

async function check(): Promise<{ readonly code: number; readonly said: readonly string[] }> {
  const said: string[] = [];
  return { code: await verify('--all', `${dir}/data`, (line) => said.push(line)), said };
}

describe('a seal that somebody has kept', () => {
  it('was told as it was made, and its fifth line is what verify takes', async () => {
    const told: { origin: string; line: string }[] = [];
    const store = fileRecordStore(`${dir}/data`, {
      nowMs: () => nowMs,
      sealed: (origin, line) => told.push({ origin, line }),
    });
    await fire(store, 'a');
    await store.release();
    const last = told.findLast(({ origin }) => origin === 'a');
    expect(told.some(({ origin }) => origin === 'ledger')).toBe(true);
    const seal = (JSON.parse(last?.line ?? '{}') as { text: string }).text.split('\n')[4];
    const said: string[] = [];
    expect(await verify('--all', `${dir}/data`, (line) => said.push(line), undefined, { seal })).toBe(0);
    expect(said).toContain('OK  The seal you know: it stands under line 3 of a.');
  });

  it('is found under its line, and missed where an older copy was put back', async () => {
    const first = openStore();
    await fire(first, 'a');
    await first.release();
    await cp(`${dir}/data`, `${dir}/backup`, { recursive: true });
    const second = openStore();
    await fire(second, 'b');
    await second.release();
    const seals = (await check()).said.flatMap((line) => / Seal ([0-9a-f]{64})$/.exec(line)?.[1] ?? []);
    expect(seals).toHaveLength(3);
    const ask = async (target: string, seal: string): Promise<readonly [number, string | undefined]> => {
      const said: string[] = [];
      const code = await verify(target, `${dir}/data`, (line) => said.push(line), undefined, { seal });
      return [code, said.find((line) => line.includes('seal') || line.includes('The seal you know'))];
    };
    const [ledger = '', , b = ''] = seals;
    expect(await ask('--all', ledger)).toEqual([0, 'OK  The seal you know: it stands under line 4 of the ledger.']);
    expect(await ask('--all', b)).toEqual([0, 'OK  The seal you know: it stands under line 3 of b.']);
    expect((await ask('b', b))[0]).toBe(0);
    expect((await ask('a', b))[0]).toBe(1);
    await restore();
    for (const seal of [ledger, b]) {
      const [code, sentence] = await ask('--all', seal);
      expect(code).toBe(1);
      expect(sentence).toMatch(/^BAD {2}The seal you know: no line here has it\./);
    }
    expect(await ask('--all', 'b0b')).toEqual([2, expect.stringContaining('"b0b" is no seal; write its 64 digits')]);
  });
});

describe('the last seals kept elsewhere', () => {
  it('tell that the whole data folder was put back from an older copy, once and for ever', async () => {
    const first = openStore();
    await fire(first, 'a');
    await first.release();
    await cp(`${dir}/data`, `${dir}/backup`, { recursive: true });
    const second = openStore();
    await fire(second, 'b');
    await second.release();
    await restore();
    expect((await check()).code).toBe(0);
    const third = openStore();
    expect((await start(third)).told).toEqual([
      expect.stringMatching(/^The records were put back from an older copy.*counts 4 lines of the ledger/),
    ]);
    await fire(third, 'c');
    await third.release();
    const { code, said } = await check();
    expect(code).toBe(3);
    expect(said[0]).toBe(
      'INCOMPLETE  Ledger: Line 3 says that the records were put back from an older copy; what was recorded between is missing. If it was wanted, say so with spyhole put-back.',
    );
    expect(said.slice(1, 3)).toEqual([expect.stringMatching(/^OK/), expect.stringMatching(/^OK/)]);
    const later = openStore();
    expect((await start(later)).told).toEqual([]);
    await later.release();
  });

  it('keep a firing from going on in an older copy of its record', async () => {
    const first = openStore();
    await fire(first, 'a', false);
    await first.release();
    await cp(`${dir}/data`, `${dir}/backup`, { recursive: true });
    const second = openStore();
    const { unfinished } = await start(second);
    await unfinished[0]?.recorder.append([{ type: 'raw', t: nowMs + 3, text: '21' }]);
    await second.release();
    await restore();
    const third = openStore();
    expect(await start(third)).toEqual({
      unfinished: [],
      told: ['The record of firing a was put back from an older copy; the firing does not go on in it.'],
    });
    await third.release();
  });

  it('say nothing where all is in order, and two data folders may share the place', async () => {
    for (const data of ['data', 'other', 'data']) {
      const store = openStore(data);
      expect((await start(store)).told).toEqual([]);
      await fire(store, data === 'other' ? 'x' : `y${(await store.ids()).length}`);
      await store.release();
    }
    expect((await check()).code).toBe(0);
  });

  it('that cannot be kept are told of, and the firing is recorded all the same', async () => {
    await writeFile(`${dir}/elsewhere`, 'a file in the place of the folder');
    const store = openStore();
    await fire(store, 'a');
    expect((await start(store)).told).toEqual([expect.stringContaining('The last seals cannot be kept in')]);
    await store.release();
    expect((await check()).code).toBe(0);
  });
});

describe('a copy put back on purpose', () => {
  /** The file that the watch is started with. */
  async function config(): Promise<string> {
    const kiln = { id: 'k', name: 'Kiln', heat: 'gas', closure: 'door', sensors: [{ name: 'a', letter: 'K' }] };
    const input = { kind: 'serial', port: '/dev/ttyUSB0' };
    const path = `${dir}/spyhole.yaml`;
    await writeFile(path, JSON.stringify({ data: 'data', sealsFolder: 'elsewhere', kilns: [{ ...kiln, input }] }));
    return path;
  }
  const sayWhy = async (said: string[] = []): Promise<readonly string[]> => {
    const words = { by: 'Hanna', why: 'the disk broke,\ncopy of Sunday', config: await config() };
    await putBack(words, (line) => said.push(line));
    return said;
  };
  /** A firing that is over in the copy and one that is not; both went on after it was taken. */
  async function restored(): Promise<string> {
    const first = openStore();
    await fire(first, 'a');
    await fire(first, 'b', false);
    await first.release();
    await cp(`${dir}/data`, `${dir}/backup`, { recursive: true });
    const second = openStore();
    const { unfinished } = await start(second);
    await unfinished[0]?.recorder.close({ type: 'close', t: nowMs + 4 });
    await fire(second, 'c');
    await second.release();
    const lost = (await check()).said[0]?.match(/Seal ([0-9a-f]{64})$/)?.[1] ?? '';
    await restore();
    return lost;
  }

  it('is said by the owner, stands signed in the ledger for ever, and is no roll-back any more', async () => {
    const lostSeal = await restored();
    expect(await sayWhy()).toEqual([expect.stringMatching(/^Line 5 of the ledger says so now, signed/)]);
    const { code, said } = await check();
    expect(said[0]).toMatch(
      /^OK {2}Ledger: Its lines stand as they were written\. Line 5: Hanna put the records back from an older copy on purpose, \d{4}-.* UTC: “the disk broke, copy of Sunday”; what was recorded between is not here\./,
    );
    expect(said[1]).toMatch(/^OK {2}a/);
    // What was cut off a firing stays missing.
    expect(said[2]).toMatch(
      /^INCOMPLETE {2}b: Its end is not here: line 5 of the ledger says that the records were put/,
    );
    expect(code).toBe(3);
    const later = openStore();
    expect(await start(later)).toEqual({ unfinished: [], told: [] });
    await fire(later, 'd');
    await later.release();
    const again = openStore();
    expect((await start(again)).told).toEqual([]);
    await again.release();
    const asked: string[] = [];
    expect(await verify('--all', `${dir}/data`, (line) => asked.push(line), undefined, { seal: lostSeal })).toBe(1);
    expect(asked.find((line) => line.includes('The seal you know'))).toContain(
      'Line 5 of the ledger says that Hanna put one back: “the disk broke, copy of Sunday”.',
    );
  });

  it('may be said after the watch has told of it, and the next one is told again', async () => {
    await restored();
    const told = openStore();
    expect((await start(told)).told).toHaveLength(2);
    await told.release();
    expect((await check()).said[0]).toContain('If it was wanted, say so with spyhole put-back.');
    await sayWhy();
    expect((await check()).said[0]).toMatch(/^OK {2}Ledger/);
    await restore();
    const secondTime = openStore();
    expect((await start(secondTime)).told[0]).toMatch(/^The records were put back from an older copy/);
    await secondTime.release();
    expect((await check()).said[0]).toMatch(/^INCOMPLETE {2}Ledger/);
  });

  it('needs who and why, records to speak of, and no watch that runs', async () => {
    const store = openStore();
    await fire(store, 'a');
    await expect(sayWhy()).rejects.toThrow('Another watch');
    await store.release();
    const say = (by: string, why: string, data = `${dir}/data`) => putBack({ by, why, data }, () => undefined);
    await expect(say(' ', 'why')).rejects.toThrow('--by: nothing is said; write who says so');
    await expect(say('Hanna', '\u0007')).rejects.toThrow('--why: nothing is said');
    await expect(say('Hanna', 'why', `${dir}/none`)).rejects.toThrow('holds no records');
  });
});
