import { once } from 'node:events';
import { connect, createServer, type Socket } from 'node:net';
import fc from 'fast-check';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Deliveries, network } from '../../simulators/board-deliveries.ts';
import { DeviceError } from '../../simulators/device.ts';
import { boardMessages, MAX_WAITING_MESSAGES, mqttBoard } from '../../simulators/mqtt-board.ts';
import { needs } from '../support/debian.ts';
import { freePort, type Mosquitto, mosquitto } from '../support/mosquitto.ts';

const reading = (s: number, sensor = 'shelf', celsius: number | null = 600 + s) => ({
  atMs: s * 1000,
  sensor,
  celsius,
});
const news = (...readings: ReturnType<typeof reading>[]) => ({ readings, lid: [], acts: [] });
const SEED = 20_261_125;

describe('a bad network', () => {
  const sent = Array.from({ length: 200 }, (_, i) => ({ atMs: i * 10_000, n: i }));
  const carried = (how: Deliveries): number[] => {
    const between = network<(typeof sent)[number]>(how);
    return [...between.carry(sent), ...between.rest()].map((m) => m.n);
  };

  it('loses nothing and makes nothing up, whatever it does to the order; the same for one seed', () => {
    const ratio = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(fc.integer(), ratio, ratio, ratio, (seed, lateRatio, doubledRatio, swappedRatio) => {
        const how = { seed, lateRatio, lateByS: 45, doubledRatio, swappedRatio };
        const arrived = carried(how);
        expect([...new Set(arrived)].sort((a, b) => a - b)).toEqual(sent.map((m) => m.n));
        expect(carried(how)).toEqual(arrived);
      }),
      { seed: SEED, numRuns: 200 },
    );
  });

  it('that is good changes nothing', () => {
    expect(carried({ seed: 1 })).toEqual(sent.map((m) => m.n));
  });

  it('brings late ones late, doubled ones twice, swapped ones behind their followers', () => {
    expect(carried({ seed: 1, doubledRatio: 1 }).slice(0, 4)).toEqual([0, 0, 1, 1]);
    expect(carried({ seed: 1, swappedRatio: 1 }).slice(0, 4)).toEqual([1, 0, 3, 2]);
    const late = carried({ seed: 5, lateRatio: 0.1, lateByS: 45 });
    const places = late.map((n, place) => place - n);
    expect(Math.max(...places)).toBe(4);
    expect(places.filter((p) => p >= 3).length).toBeGreaterThan(5);
  });
});

describe('the messages of a board', () => {
  const said = (spec: Parameters<typeof boardMessages>[0]) =>
    boardMessages(spec)
      .take({ ...news(reading(0), reading(0, 'top', null)), lid: [{ atMs: 0, lid: 'open' }] }, 0)
      .map((m) => [m.name, m.text]);
  const sensors = ['shelf', 'top'];

  it('are the bare numbers, each on its topic', () => {
    expect(said({ sensors, lidSwitch: true })).toEqual([
      ['lid', 'open'],
      ['shelf', '600'],
      ['top', ''],
    ]);
  });

  it('are one object for all couples', () => {
    expect(said({ sensors, payload: 'json' })).toEqual([['readings', '{"shelf":600,"top":null}']]);
    expect(said({ sensors, payload: 'json', lidSwitch: true, sourceTime: true })).toEqual([
      ['readings', '{"shelf":600,"top":null,"lid":"open","atMs":0}'],
    ]);
  });

  it('tell when it was measured, where the board has a clock', () => {
    expect(said({ sensors, sourceTime: true })).toEqual([
      ['shelf', '{"celsius":600,"atMs":0}'],
      ['top', '{"celsius":null,"atMs":0}'],
    ]);
  });
});

describe.runIf(needs('mosquitto'))('a board at a real broker', () => {
  let broker: Mosquitto;
  let listener: MqttClient;
  let heard: { topic: string; text: string; retained: boolean; qos: number }[];
  beforeEach(async () => {
    broker = await mosquitto();
    listener = await connectAsync(broker.url);
    heard = [];
    listener.on('message', (topic, payload, { retain, qos }) =>
      heard.push({ topic, text: payload.toString(), retained: retain, qos }),
    );
  });
  afterEach(async () => {
    await listener.endAsync(true);
    await broker.stop();
  });
  const until = async (isThere: () => boolean): Promise<void> => {
    while (!isThere()) await new Promise((resolve) => listener.once('message', resolve));
  };

  it('leaves its last value with the broker where it is told to, and only there', async () => {
    const kept = await mqttBoard({ url: broker.url, topicPrefix: 'kept', sensors: ['shelf'], retained: true });
    const plain = await mqttBoard({ url: broker.url, topicPrefix: 'plain', sensors: ['shelf'], qos: 0 });
    for (const board of [plain, kept]) {
      board.say(news(reading(0), reading(10)), 10_000);
      await board.flushed();
    }
    await listener.subscribeAsync('#', { qos: 1 });
    await until(() => heard.length === 1);
    expect(heard).toEqual([{ topic: 'kept/shelf', text: '610', retained: true, qos: 1 }]);
    plain.say(news(reading(20)), 20_000);
    await until(() => heard.length === 2);
    expect(heard[1]).toEqual({ topic: 'plain/shelf', text: '620', retained: false, qos: 0 });
    await kept.stop();
    await plain.stop();
  });

  it('is ready while it is there, ended when it took its leave, lost when its wire was cut', async () => {
    const gate = await cuttableWire(broker.port);
    await listener.subscribeAsync('+/status', { qos: 1 });
    const spec = { sensors: ['shelf'], status: true };
    const orderly = await mqttBoard({ ...spec, url: broker.url, topicPrefix: 'orderly' });
    const cut = await mqttBoard({ ...spec, url: `mqtt://127.0.0.1:${gate.port}`, topicPrefix: 'cut' });
    await orderly.stop();
    await gate.cut();
    const of = (name: string): string[] => heard.filter((h) => h.topic === `${name}/status`).map((h) => h.text);
    await until(() => of('orderly').length >= 2 && of('cut').length >= 2);
    expect(of('orderly')).toEqual(['ready', 'ended']);
    expect(of('cut')).toEqual(['ready', 'lost']);
    await cut.stop();
  });

  it('counts what it loses while the broker is away, and keeps no more than a board can', async () => {
    const board = await mqttBoard({ url: broker.url, topicPrefix: 'k', sensors: ['shelf'] });
    await broker.stop();
    const many = Array.from({ length: MAX_WAITING_MESSAGES + 250 }, (_, i) => reading(i));
    board.say(news(...many), 0);
    expect(board.counts()).toEqual({ readings: many.length, lost: 250, requests: 0 });
    const again = await mosquitto({ port: broker.port });
    const late = await connectAsync(again.url);
    await late.subscribeAsync('k/#', { qos: 1 });
    await board.flushed();
    expect(board.counts().lost).toBe(250);
    await board.stop();
    await late.endAsync(true);
    await again.stop();
  });

  it('says in one sentence that there is no broker', async () => {
    const url = `mqtt://127.0.0.1:${await freePort()}`;
    const refused = mqttBoard({ url, topicPrefix: 'k', sensors: ['shelf'] });
    await expect(refused).rejects.toThrow(DeviceError);
    await expect(refused).rejects.toThrow(
      `${url} cannot be reached (ECONNREFUSED). Start a broker there, or give its address.`,
    );
  });
});

/** A wire to the broker that can be cut for good. */
async function cuttableWire(toPort: number): Promise<{ port: number; cut(): Promise<void> }> {
  const sockets: Socket[] = [];
  const server = createServer((near) => {
    const far = connect(toPort, '127.0.0.1');
    for (const socket of [near, far]) socket.on('error', () => {});
    near.pipe(far).pipe(near);
    sockets.push(near, far);
  }).listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  if (typeof address !== 'object' || address === null) throw new Error('no port to be had');
  return {
    port: address.port,
    async cut() {
      server.close();
      for (const socket of sockets) socket.destroy();
      await once(server, 'close');
    },
  };
}
