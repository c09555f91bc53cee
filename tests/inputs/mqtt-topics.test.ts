import { createServer, type Server } from 'node:net';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Input } from '../../daemon/inputs/input.ts';
import { type MqttOptions, mqttTopics } from '../../daemon/inputs/mqtt-topics.ts';
import { startSmallBroker } from '../../daemon/inputs/small-broker.ts';
import { attentiveListener } from '../support/attentive-listener.ts';
import { needs } from '../support/debian.ts';
import { manualWaits } from '../support/manual-waits.ts';
import { freePort, mosquitto } from '../support/mosquitto.ts';

const hasMosquitto = needs('mosquitto', 'mosquitto_passwd');

interface RunningBroker {
  readonly port: number;
  stop(): Promise<void>;
}

const brokers: { name: string; start: (port?: number) => Promise<RunningBroker> }[] = [
  {
    name: 'the small broker',
    start: async (port = 0) => {
      const broker = await startSmallBroker({ host: '127.0.0.1', port });
      return { port: broker.port, stop: broker.close };
    },
  },
  ...(hasMosquitto
    ? [{ name: 'Mosquitto', start: (port?: number) => mosquitto(port === undefined ? {} : { port }) }]
    : []),
];

let toStop: (() => Promise<unknown>)[];
beforeEach(() => {
  toStop = [];
});
afterEach(async () => {
  for (const stop of toStop.reverse()) await stop();
});

function watch(port: number, more: Partial<MqttOptions> = {}) {
  const clock = manualWaits();
  const listener = attentiveListener();
  const url = `mqtt://127.0.0.1:${port}`;
  const input: Input = mqttTopics({ name: 'mqtt-1', url, topics: ['kiln/top', 'kiln/lid'], ...more }, clock, () => 0);
  toStop.push(() => input.stop());
  input.start(listener);
  return { clock, listener, input };
}

async function instrument(port: number): Promise<MqttClient> {
  const client = await connectAsync(`mqtt://127.0.0.1:${port}`, { reconnectPeriod: 0 });
  client.on('error', () => {});
  toStop.push(() => client.endAsync(true));
  return client;
}

describe.each(brokers)('topics at $name', ({ start }) => {
  async function startBroker(port?: number): Promise<RunningBroker> {
    const broker = await start(port);
    toStop.push(() => broker.stop());
    return broker;
  }

  it('hands on each payload with its topic, as the instrument sent it', async () => {
    const { port } = await startBroker();
    const { listener } = watch(port);
    await listener.told((s) => s.state === 'connected');
    const kiln = await instrument(port);
    await kiln.publishAsync('kiln/top', '648.5');
    await kiln.publishAsync('kiln/other', '1');
    await kiln.publishAsync('kiln/top', '');
    await kiln.publishAsync('kiln/lid', 'open', { qos: 1 });
    await listener.message((m) => m.text === 'open');
    expect(listener.messages).toEqual([
      { channel: 'kiln/top', text: '648.5' },
      { channel: 'kiln/top', text: '' },
      { channel: 'kiln/lid', text: 'open' },
    ]);
  });

  it('marks a value that the broker kept from earlier, so that it is never taken for now', async () => {
    const { port } = await startBroker();
    const kiln = await instrument(port);
    await kiln.publishAsync('kiln/top', '1234', { retain: true, qos: 1 });
    const { listener } = watch(port);
    await listener.message((m) => m.text === '1234');
    await kiln.publishAsync('kiln/top', '20.5', { retain: true, qos: 1 });
    await listener.message((m) => m.text === '20.5');
    expect(listener.messages).toEqual([
      { channel: 'kiln/top', text: '1234', retained: true },
      { channel: 'kiln/top', text: '20.5' },
    ]);
  });

  it('keeps no more than 4 kB of a payload', async () => {
    const { port } = await startBroker();
    const { listener } = watch(port);
    await listener.told((s) => s.state === 'connected');
    const kiln = await instrument(port);
    await kiln.publishAsync('kiln/top', Buffer.alloc(100_000, '7'));
    const { text } = await listener.message(() => true);
    expect(text).toBe('7'.repeat(4096));
  });

  it('says that the broker has gone, and hears the kiln again once the broker is back', async () => {
    const first = await startBroker();
    const { listener, clock } = watch(first.port);
    await listener.told((s) => s.state === 'connected');
    await first.stop();
    const gone = await listener.told((s) => s.state === 'lost');
    expect(gone.sentence).toBe(
      `The broker 127.0.0.1:${first.port} has gone. Check whether it runs; it is tried again by itself.`,
    );
    expect(await clock.passNextWait()).toBe(1000);
    const refused = await listener.told((s) => s.sentence.startsWith('No broker answers'));
    expect(refused.sentence).toBe(
      `No broker answers at 127.0.0.1:${first.port}. Start the broker, or correct its address in the configuration.`,
    );
    await startBroker(first.port);
    expect(await clock.passNextWait()).toBe(2000);
    await listener.told((s) => s.state === 'connected', 3);
    const kiln = await instrument(first.port);
    await kiln.publishAsync('kiln/top', '649');
    await listener.message((m) => m.text === '649');
    expect(listener.statuses.map((s) => s.state)).toEqual(['connecting', 'connected', 'lost', 'lost', 'connected']);
  });
});

describe('a broker that cannot be used', () => {
  it('is told of once, however often it is tried', async () => {
    const { listener, clock } = watch(await freePort());
    const waits: number[] = [];
    for (let i = 0; i < 7; i++) waits.push(await clock.passNextWait());
    expect(waits).toEqual([1000, 2000, 4000, 8000, 16_000, 30_000, 30_000]);
    expect(listener.statuses.map((s) => s.state)).toEqual(['connecting', 'lost']);
  });

  it('is named where something else than a broker answers', async () => {
    const server: Server = createServer((socket) => {
      socket.on('error', () => {});
      socket.resume();
      socket.end('HTTP/1.1 400 Bad Request\r\n\r\n');
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    toStop.push(() => new Promise((resolve) => server.close(resolve)));
    const address = server.address();
    const { listener } = watch(typeof address === 'object' && address !== null ? address.port : 0);
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toMatch(/Check whether it (is an MQTT broker|runs)/);
  });

  describe.runIf(hasMosquitto)('for want of the right password', () => {
    it('says what to correct, and knocks only each half minute', async () => {
      const { port, stop } = await mosquitto({ user: 'kiln', password: 'right' });
      toStop.push(stop);
      const { listener, clock } = watch(port, { username: 'kiln', password: 'wrong' });
      const { sentence } = await listener.told((s) => s.state === 'lost');
      expect(sentence).toContain('Correct username and passwordFile in the configuration');
      expect(await clock.passNextWait()).toBe(30_000);
    });

    it('lets the right one in', async () => {
      const { port, stop } = await mosquitto({ user: 'kiln', password: 'right' });
      toStop.push(stop);
      const { listener } = watch(port, { username: 'kiln', password: 'right' });
      await listener.told((s) => s.state === 'connected');
    });
  });
});
