/** In mid-firing an instrument is moved and a sensor renamed, over the page's own questions and a real broker: the record goes on. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { loadConfig } from '../../daemon/config/load.ts';
import { type SmallBroker, startSmallBroker } from '../../daemon/inputs/small-broker.ts';
import { type RunningWatch, startWatch } from '../../daemon/runtime/assemble.ts';
import type { KilnNow, LiveMessage } from '../../daemon/wire/live-messages.ts';
import type { KilnForm } from '../../daemon/wire/setup.ts';
import { type MqttDevice, mqttDevice } from '../../simulators/mqtt-device.ts';
import { is } from '../support/live-viewer.ts';
import { climb } from '../support/loop-bench.ts';
import { type ManualClock, manualClock } from '../support/manual-clock.ts';
import { expectSameWhenLivedAgain, linesOf, readRecord } from '../support/record-check.ts';
import { toldSoFar } from '../support/told-so-far.ts';

let dir: string;
let broker: SmallBroker;
let board: MqttDevice;
let watch: RunningWatch | null = null;
let clock: ManualClock;
let told = toldSoFar<LiveMessage>();
let log = toldSoFar<string>();

beforeEach(async () => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-moved-'));
  broker = await startSmallBroker({ host: '127.0.0.1', port: 0 });
  const url = `mqtt://127.0.0.1:${broker.port}`;
  board = await mqttDevice({ url, topicPrefix: 'shed' });
  writeFileSync(
    join(dir, 'kilns.yaml'),
    `kilns:
  - id: gas
    name: Gas kiln
    heat: gas
    closure: door
    sampleS: 1
    sensors: [{name: shelf, letter: K}, {name: top, letter: K}]
    input: {kind: mqtt, url: "${url}", topics: {shelf: shed/one, top: shed/two}}
`,
  );
  clock = manualClock();
});
afterEach(async () => {
  await watch?.stop();
  watch = null;
  await board.stop();
  await broker.close();
  rmSync(dir, { recursive: true, force: true });
});

async function start(awayS = 0): Promise<void> {
  await watch?.stop();
  clock = manualClock(clock.nowMs() + awayS * 1000);
  told = toldSoFar();
  log = toldSoFar();
  const config = { ...loadConfig(join(dir, 'kilns.yaml')), listen: { host: '127.0.0.1', port: 0 } };
  watch = await startWatch({ config, dataDir: join(dir, 'data'), clock, log: log.add });
  watch.desk.listen(told.add);
  await listening(0);
}

async function listening(from: number): Promise<void> {
  await log.first((line): line is string => line.includes('Listening to'), from);
}

const now = (): KilnNow => {
  const kiln = watch?.desk.snapshot(true).kilns[0];
  if (kiln === undefined) throw new Error('no kiln is watched');
  return kiln;
};

async function ask(method: 'GET' | 'PUT', path: string, body?: object): Promise<Response> {
  const headers = { 'content-type': 'application/json' };
  return fetch(`${watch?.url}/api/setup/kilns${path}`, {
    method,
    ...(body !== undefined && { headers, body: JSON.stringify(body) }),
  });
}

async function change(edit: (form: KilnForm) => KilnForm): Promise<Response> {
  const { kilns } = (await (await ask('GET', '')).json()) as { kilns: KilnForm[] };
  const [form] = kilns;
  if (form === undefined) throw new Error('no form');
  const { id, ...changed } = edit(form);
  const from = log.all.length;
  const answer = await ask('PUT', `/${id}`, changed);
  if (answer.ok) await listening(from);
  return answer;
}

/** Each on these topics, a second after the one before, told as that sensor's. */
async function feed(topic: string, sensor: string, ...celsius: readonly number[]): Promise<void> {
  for (const one of celsius) {
    clock.pass(1000);
    const from = told.all.length;
    await board.publish(topic, String(one));
    await told.first(
      is('reading', (reading) => reading.sensor === sensor && reading.celsius === one),
      from,
    );
  }
}

const movedAndRenamed = (form: KilnForm): KilnForm => ({
  ...form,
  name: 'Old gas kiln',
  sensors: form.sensors.map((sensor) =>
    sensor.was === 'shelf'
      ? { ...sensor, name: 'lower shelf', spot: { kind: 'topic', topic: 'shed/three', path: '' } }
      : sensor,
  ),
});

test('a topic that moves counts at once, a sensor keeps its name until the firing ends, and the record can be lived again', async () => {
  await start();
  const { id } = (await watch?.desk.begin('gas', null, 'Mira')) ?? { id: '' };
  await feed('one', 'shelf', ...climb(20, 40, 20));
  expect((await change(movedAndRenamed)).status).toBe(200);
  expect(now()).toMatchObject({ name: 'Old gas kiln', sensors: ['shelf', 'top'], firing: { id } });
  // What is said where it was before is nobody's any more.
  await board.publish('one', '900');
  await feed('three', 'shelf', ...climb(40, 50, 10));
  await feed('two', 'top', 45);

  await start(20);
  expect(now()).toMatchObject({ name: 'Old gas kiln', sensors: ['shelf', 'top'], firing: { id } });
  await feed('three', 'shelf', ...climb(50, 60, 10));
  await watch?.desk.deed(id, 'Mira', { deed: 'end' });
  expect(now()).toMatchObject({
    name: 'Old gas kiln',
    sensors: ['lower shelf', 'top'],
    rulingSensor: 'lower shelf',
    firing: null,
  });
  await feed('three', 'lower shelf', 60.5);
  const next = await watch?.desk.begin('gas', null, 'Mira');
  await feed('three', 'lower shelf', 61);
  await watch?.desk.deed(next?.id ?? '', 'Mira', { deed: 'end' });

  const { lines, check } = await readRecord(join(dir, 'data'), id);
  expect(check.verdict).not.toBe('BAD');
  const spoken = linesOf(lines, 'reading').flatMap((line) => (line.v as { s: string }[] | undefined) ?? []);
  expect(new Set(spoken.map(({ s }) => s))).toEqual(new Set(['shelf', 'top']));
  expect(linesOf(lines, 'edge').filter((line) => line.edge === 'setup-changed')).toHaveLength(1);
  const state = expectSameWhenLivedAgain(lines);
  expect(state.sensors.shelf?.peakC).toBeCloseTo(60, 0);
  // Of the other couple nothing came for long, and the daemon was away: that is true.
  expect(new Set(linesOf(lines, 'alert').map((line) => line.alert))).toEqual(new Set(['silence']));
  const second = await readRecord(join(dir, 'data'), next?.id ?? '');
  expect(expectSameWhenLivedAgain(second.lines).sensors['lower shelf']?.last?.celsius).toBe(61);
});

test('a name that one of its sensors has in the firing is refused in one sentence, and all goes on', async () => {
  await start();
  await watch?.desk.begin('gas', null, 'Mira');
  await change(movedAndRenamed);
  for (const wrong of ['shelf', 'lower shelf']) {
    const answer = await change((form) => ({
      ...form,
      sensors: form.sensors.map((sensor) => (sensor.was === 'top' ? { ...sensor, name: wrong } : sensor)),
    }));
    expect(answer.status).toBe(409);
    const { error } = (await answer.json()) as { error: Record<string, string> };
    expect(Object.keys(error)).toEqual(['what', 'where', 'right']);
  }
  await feed('three', 'shelf', 30);
});
