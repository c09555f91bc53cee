/** The data folder is copied with `cp -r` again and again while the real daemon writes into it from a real terminal. */
import { execFile } from 'node:child_process';
import { cp, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { describe, expect, test } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { serialDevice } from '../../simulators/serial-device.ts';
import { runBuilt, startBuiltWatch } from '../support/built-daemon.ts';
import { needs } from '../support/debian.ts';
import { terminalPair } from '../support/terminal-pair.ts';

const run = promisify(execFile);
const COPIES = 25;
/** At this pace a seal is set every half second of the wall's clock: copies fall between lines and their seals. */
const SPEED = 1200;
const LINE_REAL_MS = 2;

describe.runIf(needs('socat'))('a copy taken while the watch writes', () => {
  test(`is never called altered, and its firing can be read (${COPIES} copies)`, async () => {
    const dir = await mkdtemp(join(tmpdir(), 'spyhole-copied-'));
    const pair = await terminalPair(dir);
    const device = serialDevice(`${pair.port}-far-end`, ['middle']);
    let said = 0;
    const speaking = setInterval(() => {
      said += 1;
      device.write([{ atMs: 0, sensor: 'middle', celsius: 600 + (said % 50) / 10 }]);
    }, LINE_REAL_MS);
    const kiln = { id: 'kiln', name: 'Kiln', heat: 'gas', closure: 'door', sampleS: 3600 };
    const input = { kind: 'serial', port: pair.port, simulated: true };
    const config = { clock: { speed: SPEED }, kilns: [{ ...kiln, sensors: [{ name: 'middle', letter: 'K' }], input }] };
    await writeFile(join(dir, 'spyhole.yaml'), JSON.stringify(config));
    const data = join(dir, 'data');
    const watch = await startBuiltWatch(['--config', join(dir, 'spyhole.yaml'), '--data', data]);
    const post = (path: string, body: object): Promise<Response> =>
      fetch(`${watch.url}${path}`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify(body),
      });
    try {
      const begun = await post('/api/firings', { kiln: 'kiln', by: 'Hanna' });
      const { id } = (await begun.json()) as { id: string };
      for (let copy = 1; copy <= COPIES; copy += 1) {
        const to = join(dir, `copy-${copy}`);
        await post(`/api/firings/${id}/notes`, { by: 'Hanna', text: `before copy ${copy}` });
        await run('cp', ['-r', data, to]);
        const found: string[] = [];
        expect(await verify('--all', to, (line) => found.push(line)), found.join('\n')).toBe(3);
        expect(found.filter((line) => line.startsWith('BAD'))).toEqual([]);
        const lines = await fileRecordStore(to).read(id);
        expect(lines.some((line) => Object(line.said).text === `before copy ${copy}`)).toBe(true);
        await rm(to, { recursive: true });
      }
      // The command asks the growing folder itself.
      const live = await runBuilt(['verify', '--all', '--data', data]);
      expect(live).toMatchObject({ code: 3, stdout: expect.stringContaining('1 OK, 0 BAD, 1 INCOMPLETE') });
    } finally {
      clearInterval(speaking);
      await watch.kill();
      device.close();
      await pair.unplug();
      await rm(dir, { recursive: true, force: true });
    }
  });
});

describe('a copy whose files are of two moments', () => {
  test('is incomplete, not altered, where a seal or the ledger is younger than the lines', async () => {
    const dir = await mkdtemp(join(tmpdir(), 'spyhole-moments-'));
    const data = join(dir, 'data');
    const nowMs = 1_795_600_800_000;
    const store = fileRecordStore(data, { nowMs: () => nowMs });
    const open = { type: 'open', t: nowMs };
    const recorder = await store.begin({ id: 'a', kiln: {}, schedule: null, open });
    const earlier = join(dir, 'earlier');
    await cp(data, earlier, { recursive: true });
    await recorder.append([{ type: 'raw', t: nowMs + 700_000, text: '20' }]);
    await store.begin({ id: 'b', kiln: {}, schedule: null, open });
    await store.release();
    await cp(join(data, 'firings/a/checkpoints.jsonl'), join(earlier, 'firings/a/checkpoints.jsonl'));
    for (const name of ['ledger.jsonl', 'ledger.checkpoints.jsonl']) await cp(join(data, name), join(earlier, name));
    const said: string[] = [];
    expect(await verify('--all', earlier, (line) => said.push(line))).toBe(3);
    expect(said.slice(1)).toEqual([
      expect.stringMatching(/^INCOMPLETE {2}a: Line 2 is missing, though it was signed for\./),
      expect.stringMatching(/^INCOMPLETE {2}b: The ledger ends with the opening of this firing/),
      '3 examined: 1 OK, 0 BAD, 2 INCOMPLETE.',
    ]);
    await rm(dir, { recursive: true });
  });
});
