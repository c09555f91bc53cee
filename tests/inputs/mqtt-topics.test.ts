import { readdirSync } from 'node:fs';
import { connect, createServer, type Server, type Socket } from 'node:net';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Input } from '../../daemon/inputs/input.ts';
import { type MqttOptions, mqttTopics } from '../../daemon/inputs/mqtt-topics.ts';
import { startSmallBroker } from '../../daemon/inputs/small-broker.ts';
import { attentiveListener } from '../support/attentive-listener.ts';
import { lineTo } from '../support/cut-line.ts';
import { needs } from '../support/debian.ts';
import { hurriedClock } from '../support/hurried-clock.ts';
import { manualWaits } from '../support/manual-waits.ts';
import { freePort, mosquitto } from '../support/mosquitto.ts';
import { BROKERS } from '../support/source-benches.ts';

const hasMosquitto = needs('mosquitto', 'mosquitto_passwd', 'openssl');

interface RunningBroker {
  readonly port: number;
  stop(): Promise<void>;
}

const brokers: { name: string; version: '3.1.1' | 5; start: (port?: number) => Promise<RunningBroker> }[] = [
  {
    name: 'the small broker',
    version: '3.1.1',
    start: async (port = 0) => {
      const broker = await startSmallBroker({ host: '127.0.0.1', port });
      return { port: broker.port, stop: broker.close };
    },
  },
  ...(hasMosquitto
    ? (['3.1.1', 5] as const).map((version) => ({
        name: 'Mosquitto',
        version,
        start: (port?: number) => mosquitto(port === undefined ? {} : { port }),
      }))
    : []),
];

let toStop: (() => Promise<unknown>)[];
beforeEach(() => {
  toStop = [];
});
afterEach(async () => {
  for (const stop of toStop.reverse()) await stop();
});

function watchWith(port: number, more: Partial<MqttOptions> = {}) {
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

describe.each(brokers)('topics at $name, MQTT $version', ({ start, version }) => {
  const watch = (port: number) => watchWith(port, { version });

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
      `No broker answers at 127.0.0.1:${first.port}. Start the broker, or correct its address.`,
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
    const { listener, clock } = watchWith(await freePort());
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
    const { listener } = watchWith(typeof address === 'object' && address !== null ? address.port : 0);
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toMatch(/Check whether it (is an MQTT broker|runs)/);
  });

  it('for its version is named, with what to write', async () => {
    const { port, close } = await startSmallBroker({ host: '127.0.0.1', port: 0 });
    toStop.push(close);
    const { listener } = watchWith(port, { version: 5 });
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toContain('Write version: 3.1.1 or version: 5, whichever it speaks.');
  });

  describe.runIf(hasMosquitto).each(['3.1.1', 5] as const)('for want of the right password, MQTT %s', (version) => {
    it('says what to correct, and knocks only each half minute', async () => {
      const { port, stop } = await mosquitto({ user: 'kiln', password: 'right' });
      toStop.push(stop);
      const { listener, clock } = watchWith(port, { version, username: 'kiln', password: 'wrong' });
      const { sentence } = await listener.told((s) => s.state === 'lost');
      expect(sentence).toContain('password. Correct them');
      expect(sentence).not.toContain('wrong');
      expect(await clock.passNextWait()).toBe(30_000);
    });

    it('lets the right one in', async () => {
      const { port, stop } = await mosquitto({ user: 'kiln', password: 'right' });
      toStop.push(stop);
      const { listener } = watchWith(port, { version, username: 'kiln', password: 'right' });
      await listener.told((s) => s.state === 'connected');
    });
  });
});

describe.runIf(hasMosquitto)('an encrypted line to Mosquitto', () => {
  async function secured(how: Parameters<typeof mosquitto>[0] = {}) {
    const broker = await mosquitto({ tls: true, ...how });
    toStop.push(broker.stop);
    return broker;
  }

  it.each(['3.1.1', 5] as const)('carries readings, with name and password, MQTT %s', async (version) => {
    const { port, url, ca } = await secured({ user: 'kiln', password: 'right' });
    const who = { username: 'kiln', password: 'right' };
    const { listener } = watchWith(port, { url, ca, version, ...who });
    await listener.told((s) => s.state === 'connected');
    const kiln = await connectAsync(url, { ca, ...who, reconnectPeriod: 0 });
    toStop.push(() => kiln.endAsync(true));
    await kiln.publishAsync('kiln/top', '648.5');
    await listener.message((m) => m.text === '648.5');
  });

  it('is refused where nobody vouches for the broker, with what would help', async () => {
    const { port, url } = await secured();
    const { listener } = watchWith(port, { url });
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toContain('shows a certificate that this machine does not trust');
    expect(sentence).toContain('Write caFile');
  });

  it('is refused where the certificate is for another name', async () => {
    const { port, ca } = await secured();
    const { listener } = watchWith(port, { url: `mqtts://127.0.0.1:${port}`, ca });
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toContain('shows a certificate for another name');
  });

  it('to a broker without TLS says so', async () => {
    const { port, stop } = await mosquitto();
    toStop.push(stop);
    const { ca } = await secured();
    const { listener } = watchWith(port, { url: `mqtts://localhost:${port}`, ca });
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toMatch(/does not speak TLS|whether the address should begin with mqtts:/);
  });
});

describe.runIf(hasMosquitto).each(BROKERS)('$name', ({ name, bench }) => {
  it('that is started anew ten times is found each time, with our own back-off, and nothing grows', async () => {
    const source = await bench();
    const clock = hurriedClock(40);
    const listener = attentiveListener();
    const input = source.input(clock, () => 0);
    toStop.push(source.end, () => input.stop());
    input.start(listener);
    let files = 0;
    let timers = 0;
    for (let round = 1; round <= 10; round++) {
      const [toldBefore, heardBefore] = [listener.statuses.length, listener.messages.length];
      const board = await source.plugIn();
      await listener.told((s) => s.state === 'connected', toldBefore);
      await listener.message((m) => m.text === '648.5', heardBefore);
      const toldThen = listener.statuses.length;
      await board.unplug();
      await listener.told((s) => s.state === 'lost', toldThen);
      if (round === 3) [files, timers] = [openFiles(), clock.timerCount()];
    }
    // A try may be under way as they are counted: one file and its timers, not one of each round.
    expect(openFiles()).toBeLessThanOrEqual(files + 2);
    expect(clock.timerCount()).toBeLessThanOrEqual(timers + 2);
    const ours = [1000, 2000, 4000, 8000, 16_000, 30_000];
    expect(clock.asked.filter((ms) => ours.includes(ms)).length).toBeGreaterThanOrEqual(10);
    expect(name).toContain('Mosquitto');
  });
});

describe.runIf(hasMosquitto).each(['3.1.1', 5] as const)(
  'another program under our name at the broker, MQTT %s',
  (version) => {
    it('is outlived: we come back under another name, and do not fight', async () => {
      const { port, stop } = await mosquitto();
      toStop.push(stop);
      const names: string[] = [];
      const door = await sniffing(port, (bytes) => {
        const [name] = /spyhole-[0-9a-f]{12}/.exec(bytes.toString('latin1')) ?? [];
        if (name !== undefined) names.push(name);
      });
      toStop.push(door.stop);
      const { listener, clock } = watchWith(door.port, { version });
      await listener.told((s) => s.state === 'connected');
      const thief = await connectAsync(`mqtt://127.0.0.1:${port}`, {
        clientId: names[0] ?? '',
        protocolVersion: version === 5 ? 5 : 4,
        reconnectPeriod: 0,
      });
      thief.on('error', () => {});
      toStop.push(() => thief.endAsync(true));
      const { sentence } = await listener.told((s) => s.state === 'lost');
      // Debian's Mosquitto closes the line without a reason, in either version.
      expect(sentence).toContain('it is tried again by itself');
      expect(await clock.passNextWait()).toBe(1000);
      await listener.told((s) => s.state === 'connected', 3);
      expect(names).toHaveLength(2);
      expect(names[1]).not.toBe(names[0]);
      expect(thief.connected).toBe(true);
    });
  },
);

it.each([
  [142, 'Another program has taken our place at the broker', 30_000],
  [152, 'has shut us out', 30_000],
  [139, 'is being shut down', 1000],
])('a broker that closes the line with reason %i of MQTT 5 is quoted in plain words', async (reason, words, waitMs) => {
  const letsUsIn = Buffer.from([0x20, 3, 0, 0, 0]);
  const closes = Buffer.from([0xe0, 2, reason, 0]);
  const server = createServer((socket) => {
    socket.on('error', () => {});
    socket.once('data', () => socket.end(Buffer.concat([letsUsIn, closes])));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  toStop.push(() => new Promise((resolve) => server.close(resolve)));
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  const { listener, clock } = watchWith(port, { version: 5 });
  const { sentence } = await listener.told((s) => s.state === 'lost');
  expect(sentence).toContain(words);
  expect(await clock.passNextWait()).toBe(waitMs);
});

it.runIf(hasMosquitto)('a network that dies without a word is noticed', async () => {
  const { port, stop } = await mosquitto();
  toStop.push(stop);
  const line = await lineTo(port);
  toStop.push(line.stop);
  const { listener } = watchWith(line.port, { keepaliveS: 1 });
  await listener.told((s) => s.state === 'connected');
  line.hush();
  const { sentence } = await listener.told((s) => s.state === 'lost');
  expect(sentence).toContain('has gone without a word');
});

function openFiles(): number {
  return readdirSync('/proc/self/fd').length;
}

/** A door before the broker at which what goes in is looked at. */
async function sniffing(to: number, look: (bytes: Buffer) => void): Promise<{ port: number; stop(): Promise<void> }> {
  const sockets = new Set<Socket>();
  const server = createServer((near) => {
    const far = connect(to, '127.0.0.1');
    for (const socket of [near, far]) {
      sockets.add(socket);
      socket.on('error', () => {});
    }
    near.on('close', () => far.destroy());
    near.on('data', look);
    near.pipe(far);
    far.pipe(near);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  return {
    port: typeof address === 'object' && address !== null ? address.port : 0,
    async stop() {
      for (const socket of sockets) socket.destroy();
      await new Promise((resolve) => server.close(resolve));
    },
  };
}
