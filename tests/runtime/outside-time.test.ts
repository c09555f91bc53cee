import { execFile } from 'node:child_process';
import { appendFile, cp, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { timeAuthority } from '../../daemon/notifier/time-authority.ts';
import { readCheckpoints } from '../../daemon/recorder/checkpoint.ts';
import { type FileRecordStore, fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { OutsideTime } from '../../daemon/runtime/outside-time.ts';
import { needs, pathOf } from '../support/debian.ts';
import { type ManualClock, manualClock } from '../support/manual-clock.ts';
import { type TimeAuthority, timeAuthorityOnLoopback } from '../support/time-authority.ts';

const run = promisify(execFile);
const nowMs = 1_795_600_800_000;
const minuteMs = 60_000;

describe.runIf(needs('openssl'))('the seals under an outside clock', () => {
  let authority: TimeAuthority;
  let dir: string;
  let store: FileRecordStore;
  let clock: ManualClock;
  let said: string[];
  let outside: OutsideTime;

  beforeAll(async () => {
    authority = await timeAuthorityOnLoopback();
  });
  afterAll(() => authority.stop());

  beforeEach(async () => {
    dir = await mkdtemp(join(tmpdir(), 'spyhole-outside-'));
    store = fileRecordStore(dir, { nowMs: () => nowMs });
    clock = manualClock();
    said = [];
    outside = new OutsideTime({ store, ask: timeAuthority(authority.url), clock, log: (line) => said.push(line) });
    authority.answerWith((answer) => answer);
    await authority.listen(true);
  });
  afterEach(async () => {
    await outside.stop();
    await store.release();
    await rm(dir, { recursive: true });
  });

  async function fire(id: string, isClosed = true): Promise<void> {
    const recorder = await store.begin({ id, kiln: {}, schedule: null, open: { type: 'open', t: nowMs } });
    await recorder.append([{ type: 'raw', t: nowMs + 1, text: '20' }]);
    if (isClosed) await recorder.close({ type: 'close', t: nowMs + 2 });
  }
  const folder = (id: string): string => join(dir, 'firings', id);
  const stamps = (id: string): Promise<string[]> => readdir(join(folder(id), 'stamps')).catch(() => []);
  async function check(): Promise<{ readonly code: number; readonly said: string }> {
    const lines: string[] = [];
    return { code: await verify('--all', dir, (line) => lines.push(line)), said: lines.join('\n') };
  }
  const awaited = (id: string): Promise<string | null> => outside.awaited(id);

  it('are stamped once the firing is over, and openssl says the same of it', async () => {
    await fire('a');
    await fire('b', false);
    expect(await awaited('a')).toBe('the time authority is asked within a minute.');
    await outside.look();
    expect(await stamps('a')).toEqual(['1.tsr']);
    expect(await awaited('a')).toBeNull();
    const asked = authority.asked();
    await outside.look();
    // A firing that is still on has no last seal yet.
    expect(authority.asked()).toBe(asked);
    expect(await stamps('b')).toEqual([]);

    const [seal] = readCheckpoints(await readFile(join(folder('a'), 'checkpoints.jsonl'))).checkpoints;
    await writeFile(join(dir, 'seal'), seal?.text ?? '');
    const answer = join(folder('a'), 'stamps/1.tsr');
    const openssl = (...words: string[]) => run(pathOf('openssl'), ['ts', ...words, '-in', answer]);
    const { stdout } = await openssl('-verify', '-data', join(dir, 'seal'), '-CAfile', authority.caFile);
    expect(stdout).toContain('Verification: OK');
    await appendFile(join(dir, 'seal'), ' ');
    await expect(openssl('-verify', '-data', join(dir, 'seal'), '-CAfile', authority.caFile)).rejects.toThrow();
    const time = /Time stamp: (.*)/.exec((await openssl('-reply', '-text')).stdout)?.[1] ?? '';
    const minute = new Date(time).toISOString().slice(0, 16).replace('T', ' ');
    expect((await check()).said).toContain(`Clock, Town stamped seal 1 at ${minute} UTC.`);
  });

  it('are stamped anew when words were added behind the close', async () => {
    await fire('a');
    await outside.look();
    await store.amend('a', () => ({ type: 'note', t: nowMs + 3, by: 'Hanna', text: 'a crack' }));
    expect(await awaited('a')).not.toBeNull();
    await outside.look();
    expect(await stamps('a')).toEqual(['1.tsr', '2.tsr']);
    expect(await check()).toMatchObject({ code: 0, said: expect.stringContaining('stamped seal 2 at') });
  });

  it('wait while there is no network, are asked for again later and later, and nothing else waits', async () => {
    await authority.listen(false);
    outside.start();
    await fire('a');
    const before = authority.asked();
    const looks = async (count: number): Promise<void> => {
      for (let i = 0; i < count; i += 1) {
        clock.pass(20_000);
        await outside.look();
      }
    };
    await looks(1);
    expect(await awaited('a')).toBe(`The time authority ${authority.url} cannot be reached (ECONNREFUSED).`);
    expect((await check()).code).toBe(0);
    await fire('b');
    await authority.listen(true);
    await looks(2);
    expect(authority.asked()).toBe(before);
    await looks(2);
    expect([await stamps('a'), await stamps('b')]).toEqual([['1.tsr'], ['1.tsr']]);
    expect(said).toEqual([
      `The time authority ${authority.url} cannot be reached (ECONNREFUSED). The seals are stamped later; no firing waits for it.`,
      'The time authority answers again.',
    ]);
    await outside.stop();
    expect(clock.timerCount()).toBe(0);
  });

  it('are asked for after a restart too', async () => {
    await fire('a');
    await store.release();
    store = fileRecordStore(dir, { nowMs: () => nowMs });
    outside = new OutsideTime({ store, ask: timeAuthority(authority.url), clock, log: () => undefined });
    await outside.look();
    await store.release();
    store = fileRecordStore(dir, { nowMs: () => nowMs });
    expect([await stamps('a'), await store.unstamped()]).toEqual([['1.tsr'], []]);
  });

  const flip = (answer: Buffer, at: number): Buffer => {
    const bytes = Buffer.from(answer);
    bytes[at] = (bytes[at] ?? 0) ^ 1;
    return bytes;
  };
  it.each<readonly [what: string, why: string, change: (answer: Buffer) => Buffer | Promise<Buffer>]>([
    ['whose signature does not fit', 'its signature does not fit', (answer) => flip(answer, answer.length - 1)],
    ['that is none', 'no time stamp of this seal', () => Buffer.from('<html>log in to the network</html>')],
    ['that refuses', 'it refuses: Bad request format', () => authority.answerTo(Buffer.from('no question'))],
  ])('keep no answer %s', async (_, why, change) => {
    await fire('a');
    authority.answerWith(change);
    await outside.look();
    expect(await stamps('a')).toEqual([]);
    expect(await awaited('a')).toContain(why);
    expect((await check()).code).toBe(0);
  });

  it('keep no answer that was given to an earlier question', async () => {
    await fire('a');
    let earlier = Buffer.alloc(0);
    authority.answerWith((answer) => {
      earlier = Buffer.from(answer);
      return Buffer.alloc(0);
    });
    await outside.look();
    authority.answerWith(() => earlier);
    clock.pass(minuteMs);
    await outside.look();
    expect(await stamps('a')).toEqual([]);
    expect(await awaited('a')).toBe('The time authority gave no stamp: its answer is to another question.');
  });

  it('keep nothing of a server that is no authority, or never comes to an end', async () => {
    const server = createServer((request, response) => {
      if (request.url === '/page') response.setHeader('content-type', 'text/html').end('hello');
      else if (request.url === '/gone') response.writeHead(503).end();
      else if (request.url === '/flood') {
        response.setHeader('content-type', 'application/timestamp-reply');
        response.end(Buffer.alloc(1_000_000));
      }
    }).listen(0, '127.0.0.1');
    await new Promise((done) => server.once('listening', done));
    const address = server.address();
    const base = `http://127.0.0.1:${typeof address === 'object' ? address?.port : ''}`;
    const never = new AbortController().signal;
    const ask = (path: string) => timeAuthority(`${base}${path}`, 300)(Buffer.from('?'), never);
    await expect(ask('/page')).rejects.toThrow('answers, but not as a time authority does');
    await expect(ask('/gone')).rejects.toThrow('answers 503');
    await expect(ask('/flood')).rejects.toThrow('answers with more than 65536 bytes');
    await expect(ask('/silence')).rejects.toThrow('does not answer within 0.3 s');
    server.closeAllConnections();
    await new Promise((done) => server.close(done));
  });

  it('are missed where their stamp is taken away, and told where another is laid in its place', async () => {
    await fire('a');
    await outside.look();
    const path = join(folder('a'), 'stamps/1.tsr');
    const answer = await readFile(path);
    for (let at = 0; at < answer.length; at += 37) {
      await writeFile(path, flip(answer, at));
      expect(await check(), `bit of byte ${at}`).toMatchObject({
        code: 1,
        said: expect.stringContaining("BAD  a: The time authority's stamp of seal 1 was changed"),
      });
    }
    await rm(path);
    expect(await check()).toMatchObject({
      code: 3,
      said: expect.stringContaining('stamp of seal 1 is missing, though line 3 of the ledger names it.'),
    });
    await writeFile(path, answer);
    expect((await check()).code).toBe(0);
  });

  it('show that the end was cut off, seals and all, where nobody has the ledger', async () => {
    await fire('a');
    await store.amend('a', () => ({ type: 'note', t: nowMs + 3, by: 'Hanna', text: 'a crack' }));
    await outside.look();
    for (const name of ['record.jsonl', 'checkpoints.jsonl']) {
      const path = join(folder('a'), name);
      const lines = (await readFile(path, 'utf8')).split('\n');
      await writeFile(path, `${lines.slice(0, -2).join('\n')}\n`);
    }
    const elsewhere = join(dir, 'elsewhere');
    await cp(folder('a'), elsewhere, { recursive: true });
    const lines: string[] = [];
    expect(await verify(elsewhere, dir, (line) => lines.push(line))).toBe(3);
    expect(lines[0]).toContain('A time authority has stamped seal 2, which is missing: so is the end of the record.');
  });
});
