/** Instruments of several kinds at the daemon, as one configuration names them: on the page and in the record. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { loadConfig } from '../../daemon/config/load.ts';
import { type RunningWatch, startWatch } from '../../daemon/runtime/assemble.ts';
import { simulatedClock } from '../../daemon/runtime/clock.ts';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { runBehind } from '../../simulators/behind-interface.ts';
import { is } from '../support/live-viewer.ts';
import { freePort } from '../support/mosquitto.ts';
import { expectSameWhenLivedAgain, linesOf, readRecord } from '../support/record-check.ts';
import { scriptedSource } from '../support/scripted-source.ts';
import { toldSoFar } from '../support/told-so-far.ts';

let dir: string;
let toStop: (() => Promise<unknown>)[];

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-instruments-'));
  toStop = [];
});
afterEach(async () => {
  for (const stop of toStop.reverse()) await stop();
  rmSync(dir, { recursive: true, force: true });
});

/** A controller whose last values stand in its registers. */
async function controllerAt(port: number): Promise<void> {
  const clock = simulatedClock(3600);
  const source = scriptedSource({
    startedAtMs: clock.nowMs(),
    sampleS: 10,
    endsAfterS: 600,
    sensors: { chamber: (s) => 348.25 + s / 2 },
    controller: () => ({ setpointC: 660, outputRatio: 0.42, shownC: 648, segment: 1 }),
  });
  const running = await runBehind(
    source,
    [{ kind: 'modbus-tcp', host: '127.0.0.1', port, sensors: ['chamber'] }],
    clock,
  );
  await running.done;
  toStop.push(running.stop);
}

/** A box that prints a line four times a second to whoever listens. */
async function boxWith(line: string): Promise<number> {
  const server: Server = createServer((socket) => {
    socket.on('error', () => undefined);
    const beat = setInterval(() => socket.write(line), 250);
    socket.once('close', () => clearInterval(beat));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  toStop.push(() => new Promise((resolve) => server.close(resolve)));
  const address = server.address();
  return typeof address === 'object' && address !== null ? address.port : 0;
}

async function watchOver(inputs: string): Promise<{ watch: RunningWatch; dataDir: string; heard: typeof heard }> {
  const file = join(dir, 'kilns.yaml');
  writeFileSync(
    file,
    `kilns:
  - id: electric
    name: Electric kiln
    heat: electric
    closure: lid
    sensors: [{name: chamber, letter: S}, {name: shelf, letter: K}]
    input:
${inputs}`,
  );
  const dataDir = join(dir, 'data');
  const loaded = loadConfig(file);
  const config = { ...loaded, listen: { host: '127.0.0.1', port: 0 } };
  const watch = await startWatch({ config, dataDir, log: () => undefined });
  toStop.push(() => watch.stop());
  const told = toldSoFar<LiveMessage>();
  watch.desk.listen((message) => told.add(message));
  /** The first message from now on that is wanted. */
  const heard = <T extends LiveMessage>(wanted: (message: LiveMessage) => message is T): Promise<T> =>
    told.first(wanted, told.all.length);
  return { watch, dataDir, heard };
}

test('a controller on Modbus and a box that prints lines feed one kiln, and the page and the record know what both said', async () => {
  const port = await freePort();
  await controllerAt(port);
  const box = await boxWith('T1: 651,5 C fan 3\r\n');
  const { watch, dataDir, heard } = await watchOver(`
      - kind: modbus-tcp
        address: 127.0.0.1:${port}
        everyS: 0.2
        points:
          - {sensor: chamber, register: 0, scale: 0.1}
          - {gives: setpoint, register: 100, scale: 0.1}
          - {gives: output, register: 101, scale: 0.1}
      - {kind: tcp, address: "127.0.0.1:${box}", pattern: "T1: {shelf} C fan {-}"}
`);
  await heard(is('reading', (r) => r.sensor === 'chamber' && r.celsius === 648.3));
  await heard(is('reading', (r) => r.sensor === 'shelf' && r.celsius === 651.5));
  const { id } = await watch.desk.begin('electric', null, 'Mira');
  const chamber = await heard(is('reading', (r) => r.sensor === 'chamber' && r.line !== null));
  expect(chamber).toMatchObject({ celsius: 648.3, quality: 'good' });
  expect(await heard(is('reading', (r) => r.sensor === 'shelf' && r.line !== null))).toMatchObject({ celsius: 651.5 });
  expect(await heard(is('controller', (c) => c.firing === id))).toMatchObject({ setpointC: 660, outputRatio: 0.42 });
  const now = watch.desk.snapshot(true).kilns[0];
  expect(now?.controller).toMatchObject({ setpointC: 660, outputRatio: 0.42 });
  expect(now?.troubles).toEqual([]);
  await watch.stop();
  const { lines, check } = await readRecord(dataDir, id);
  expect(check.verdict).not.toBe('BAD');
  const readings = linesOf(lines, 'reading');
  const registers = readings.find((line) => line.in === 'modbus-tcp-1' && line.ch === 'unit 1 holding 0');
  expect(registers).toMatchObject({ raw: '1953', v: [{ s: 'chamber', q: 'good', mC: 648_300 }] });
  expect(readings.find((line) => line.ch === 'unit 1 holding 100')).toMatchObject({
    raw: '19c8 01a4',
    controller: { setMC: 660_000, out: 420 },
  });
  expect(readings.find((line) => line.in === 'tcp-1')).toMatchObject({ raw: 'T1: 651,5 C fan 3' });
  expect(expectSameWhenLivedAgain(lines).controller).toMatchObject({ setpointC: 660, outputRatio: 0.42 });
});

test('an instrument that is not there is named on the page, and the others are read on', async () => {
  const box = await boxWith('651.5\r\n');
  const port = await freePort();
  const { watch, heard } = await watchOver(`
      - {kind: modbus-tcp, address: "127.0.0.1:${port}", points: [{sensor: chamber, register: 0}]}
      - {kind: tcp, address: "127.0.0.1:${box}", columns: [shelf]}
`);
  await heard(is('reading', (r) => r.sensor === 'shelf' && r.celsius === 651.5));
  expect(watch.desk.snapshot(true).kilns[0]?.troubles).toEqual([
    `127.0.0.1:${port} refuses the connection. Check the port, and whether the box is set to listen there; it is tried again by itself.`,
  ]);
});
