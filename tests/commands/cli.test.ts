/** The built command line, as a person types it: exit codes, one sentence for each mistake, and never a stack trace. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { SnapshotMessage } from '../../daemon/wire/live-messages.ts';
import { type BuiltWatch, builtMain, runBuilt, startBuiltWatch } from '../support/built-daemon.ts';
import { freePort } from '../support/mosquitto.ts';

let dir: string;
let watches: BuiltWatch[];

beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'spyhole-cli-'));
  watches = [];
});

afterEach(async () => {
  for (const watch of watches) await watch.kill();
  await rm(dir, { recursive: true, force: true });
});

const kiln = {
  id: 'kiln-1',
  name: 'Kiln by the door',
  heat: 'electric',
  closure: 'lid',
  sensors: [{ name: 'middle', letter: 'K' }],
};

async function file(name: string, content: unknown): Promise<string> {
  const path = join(dir, name);
  await writeFile(path, typeof content === 'string' ? content : JSON.stringify(content));
  return path;
}

function configWith(input: object): Promise<string> {
  return file('spyhole.yaml', { kilns: [{ ...kiln, input }] });
}

async function start(config: string, data = join(dir, 'data')): Promise<BuiltWatch> {
  const watch = await startBuiltWatch(['--config', config, '--data', data]);
  watches.push(watch);
  return watch;
}

async function stateOf(watch: BuiltWatch): Promise<SnapshotMessage> {
  return (await (await fetch(`${watch.url}/api/state`)).json()) as SnapshotMessage;
}

/** One mistake, one line, and no trace of the program's own insides. */
function expectSentence(stderr: string, wanted: RegExp): void {
  expect(stderr).toMatch(wanted);
  expect(stderr.trim().split('\n')).toHaveLength(1);
  expectNoTrace(stderr);
}

function expectNoTrace(text: string): void {
  expect(text).not.toMatch(/^\s+at |node:internal|\.[jt]s:\d+|Error:/m);
}

test('a configuration that is not there is named, with what to do', async () => {
  const { code, stdout, stderr } = await runBuilt(['watch', '--config', join(dir, 'nowhere.yaml')]);
  expect(code).toBe(2);
  expect(stdout).toBe('');
  expectSentence(stderr, /nowhere\.yaml.*(not there|cannot be read)/);
});

test('three mistakes in a configuration are told at once, each with its place and what would be right', async () => {
  const config = await file('spyhole.yaml', {
    listen: 'everywhere',
    kilns: [
      { ...kiln, heat: 'oil', sensors: [{ name: 'middle', letter: 'Q' }], input: { kind: 'serial', port: '/dev/x' } },
    ],
  });
  const { code, stderr } = await runBuilt(['watch', '--config', config]);
  expect(code).toBe(2);
  expect(stderr).toMatch(/listen/);
  expect(stderr).toMatch(/kilns\[0\]\.heat.*gas or electric/);
  expect(stderr).toMatch(/kilns\[0\]\.sensors\[0\]\.letter.*B, E, J, K, N, R, S, T/);
  expectNoTrace(stderr);
});

test('a port in use is told in one sentence', async () => {
  const other = createServer().listen(0, '127.0.0.1');
  await once(other, 'listening');
  const { port } = other.address() as AddressInfo;
  const config = await configWith({ kind: 'serial', port: join(dir, 'no-device') });
  const { code, stdout, stderr } = await runBuilt([
    ...['watch', '--config', config, '--data', join(dir, 'data'), '--listen', `127.0.0.1:${port}`],
  ]);
  other.close();
  expect(code).toBe(2);
  expect(stdout).toBe('');
  expectSentence(stderr, new RegExp(`${port}.*in use`));
});

test('an address that is none is told in one sentence', async () => {
  const config = await configWith({ kind: 'serial', port: join(dir, 'no-device') });
  const { code, stderr } = await runBuilt(['watch', '--config', config, '--listen', 'here']);
  expect(code).toBe(2);
  expectSentence(stderr, /--listen.*127\.0\.0\.1:4660/);
});

test('a serial port that is missing is told in log and page, and the watch goes on', async () => {
  const device = join(dir, 'no-device');
  const watch = await start(await configWith({ kind: 'serial', port: device }));
  expect(await watch.logged(/no-device is not there/)).toContain('Kiln by the door: ');
  const { kilns } = await stateOf(watch);
  expect(kilns[0]?.troubles).toEqual([expect.stringMatching(/no-device is not there\. Plug the instrument in/)]);
  expect((await fetch(`${watch.url}/health`)).status).toBe(200);
  const { code, stderr } = await watch.stop();
  expect(code).toBe(0);
  expectNoTrace(stderr);
});

test('a broker that is absent is told in log and page, and the watch goes on', async () => {
  const url = `mqtt://127.0.0.1:${await freePort()}`;
  const watch = await start(await configWith({ kind: 'mqtt', url, topics: { middle: 'studio/middle' } }));
  await watch.logged(/No broker answers at/);
  const { kilns } = await stateOf(watch);
  expect(kilns[0]?.troubles).toEqual([
    expect.stringMatching(/^No broker answers at 127\.0\.0\.1:\d+\. Start the broker/),
  ]);
  const { code, stderr } = await watch.stop();
  expect(code).toBe(0);
  expectNoTrace(stderr);
});

test('a data folder that another watch has is left to it', async () => {
  const config = await configWith({ kind: 'serial', port: join(dir, 'no-device') });
  const first = await start(config);
  const { code, stdout, stderr } = await runBuilt([
    ...['watch', '--config', config, '--data', join(dir, 'data'), '--listen', '127.0.0.1:0'],
  ]);
  expect(code).toBe(2);
  expect(stdout).toBe('');
  expectSentence(stderr, /^Another watch \(process \d+\) writes the records in .*; stop it first/);
  expect((await fetch(`${first.url}/health`)).status).toBe(200);
});

test('a killed watch leaves its data folder free for the next one', async () => {
  const config = await configWith({ kind: 'serial', port: join(dir, 'no-device') });
  await (await start(config)).kill();
  const second = await start(config);
  expect((await fetch(`${second.url}/health`)).status).toBe(200);
});

const readings = 'time,sensor,celsius\n2026-11-18T06:00:00Z,middle,20\n2026-11-18T06:00:10Z,middle,21\n';

test('a wrong schedule is refused by replay, every fault named', async () => {
  const schedule = await file('plan.yaml', {
    name: 'Upside down',
    segments: [
      { kind: 'hold', minutes: -3 },
      { kind: 'ramp', toC: 660, rateCPerH: 'quickly' },
    ],
  });
  const rows = await file('rows.csv', readings);
  const { code, stdout, stderr } = await runBuilt(['replay', '--schedule', schedule, '--readings', rows, '--json']);
  expect(code).toBe(2);
  expect(stdout).toBe('');
  expect(stderr).toMatch(/segments\[0\]/);
  expect(stderr).toMatch(/rateCPerH.*flat-out/);
  expectNoTrace(stderr);
});

test.each([
  ['without anything to replay', ['replay'], /--schedule and --readings, or --firing/],
  ['of a firing that is not there', ['replay', '--firing', '/nowhere/at/all'], /ENOENT.*folder of a firing/],
  ['of an unknown option', ['replay', '--sideways'], /--sideways/],
  ['of an unknown command', ['fire'], /fire/],
  ['of a firing to verify that is not there', ['verify', '20260101T000000Z-none-0000'], /20260101T000000Z-none-0000/],
  ['of verify without a firing', ['verify'], /name a firing/],
])('a command %s is answered with one sentence and code 2', async (_what, args, wanted) => {
  const { code, stderr } = await runBuilt(args, { SPYHOLE_DATA: dir });
  expect(code).toBe(2);
  expectSentence(stderr, wanted);
});

test('rows that are no curve are refused in one sentence', async () => {
  const schedule = await file('plan.yaml', { name: 'Up', segments: [{ kind: 'ramp', toC: 100, rateCPerH: 100 }] });
  const rows = await file('rows.csv', 'when,what\n1,2\n');
  const { code, stderr } = await runBuilt(['replay', '--schedule', schedule, '--readings', rows]);
  expect(code).toBe(2);
  expectSentence(stderr, /rows\.csv.*line 1.*time,sensor,celsius/);
});

test('a reader that goes away after one line hears no complaint', async () => {
  const schedule = await file('plan.yaml', { name: 'Up', segments: [{ kind: 'ramp', toC: 100, rateCPerH: 100 }] });
  // Ten readings in two minutes and then a silence, over and over: more bytes of alerts than the 65,536 that a pipe holds (pipe(7)).
  const times = Array.from({ length: 5000 }, (_, i) =>
    new Date(Date.UTC(2026, 10, 18) + (Math.floor(i / 10) * 200 + (i % 10) * 12) * 1000).toISOString(),
  );
  const rows = await file('rows.csv', `time,sensor,celsius\n${times.map((t) => `${t},middle,20`).join('\n')}\n`);
  const whole = await runBuilt(['replay', '--schedule', schedule, '--readings', rows, '--json']);
  expect(whole.stdout.length).toBeGreaterThan(150_000);
  const command = `"${process.execPath}" "${builtMain()}" replay --schedule "${schedule}" --readings "${rows}" --json | head -n 1`;
  const shell = spawn('sh', ['-c', command]);
  const said = { stdout: '', stderr: '' };
  for (const stream of ['stdout', 'stderr'] as const) {
    shell[stream].setEncoding('utf8').on('data', (text: string) => {
      said[stream] += text;
    });
  }
  await once(shell, 'close');
  expect(said.stderr).toBe('');
  expect(said.stdout.trim().split('\n')).toHaveLength(1);
  expect(JSON.parse(said.stdout)).toHaveProperty('alert');
});
