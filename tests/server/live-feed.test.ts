import { once } from 'node:events';
import { createServer, type Server } from 'node:http';
import { connect, type Socket } from 'node:net';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { WebSocket } from 'ws';
import { type LiveFeed, liveFeed } from '../../daemon/server/live-feed.ts';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { type ManualClock, manualClock } from '../support/manual-clock.ts';
import { type ScriptedDesk, scriptedDesk } from '../support/scripted-desk.ts';

let desk: ScriptedDesk;
let clock: ManualClock;
let server: Server;
let feed: LiveFeed;
let logged: string[];
let port: number;

beforeEach(async () => {
  desk = scriptedDesk({ moment: 'overshoot' });
  clock = manualClock(Date.UTC(2026, 10, 18, 12, 58));
  logged = [];
  feed = liveFeed(desk, {
    clock,
    check: () => null,
    mayCommand: (request) => request.headers['x-test'] !== 'network',
    log: (sentence) => logged.push(sentence),
  });
  server = createServer();
  server.on('upgrade', (request, socket, head) => feed.upgrade(request, socket, head));
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  port = typeof address === 'object' && address !== null ? address.port : 0;
});

afterEach(async () => {
  feed.close();
  clock.pass(60_000);
  server.closeAllConnections();
  server.close();
  await once(server, 'close');
});

/** A viewer that keeps what it hears and can wait for the next thing. */
interface Viewer {
  readonly socket: WebSocket;
  readonly heard: LiveMessage[];
  /** Resolves once this many messages were heard in all. */
  until(count: number): Promise<void>;
}

async function open(headers: Record<string, string> = {}): Promise<Viewer> {
  const socket = new WebSocket(`ws://127.0.0.1:${port}/live`, { headers });
  const heard: LiveMessage[] = [];
  let look: () => void = () => undefined;
  socket.on('message', (data) => {
    heard.push(JSON.parse(String(data)) as LiveMessage);
    look();
  });
  const until = (count: number): Promise<void> =>
    new Promise((resolve) => {
      look = () => {
        if (heard.length >= count) resolve();
      };
      look();
    });
  await until(1);
  return { socket, heard, until };
}

/** Everything the viewer sent so far has been read by the server once this resolves. */
async function roundTrip(socket: WebSocket): Promise<void> {
  socket.ping();
  await once(socket, 'pong');
}

async function rawUpgrade(path = '/live', version = 13): Promise<Socket> {
  const socket = connect(port, '127.0.0.1');
  socket.write(
    `GET ${path} HTTP/1.1\r\nHost: localhost\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n` +
      `Sec-WebSocket-Version: ${version}\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n`,
  );
  await once(socket, 'readable');
  return socket;
}

describe('a page in another room', () => {
  it('first hears how everything stands, then each thing as it happens', async () => {
    const viewer = await open();
    expect(viewer.heard).toEqual([JSON.parse(JSON.stringify(desk.snapshot(true)))]);
    const told: LiveMessage[] = [];
    desk.listen((message) => told.push(message));
    desk.advance(5);
    await desk.alertDeed(desk.snapshot(true).kilns[0]?.alerts[0]?.id ?? '', 'Hanna', {
      deed: 'seen',
      alertId: '',
    });
    await viewer.until(1 + told.length);
    expect(told.map((message) => message.type)).toContain('alert');
    expect(viewer.heard.slice(1)).toEqual(JSON.parse(JSON.stringify(told)));
  });

  it('hears on the network that it may not command', async () => {
    const near = await open();
    const far = await open({ 'x-test': 'network' });
    expect(near.heard[0]).toMatchObject({ type: 'snapshot', mayCommand: true });
    expect(far.heard[0]).toMatchObject({ type: 'snapshot', mayCommand: false });
  });

  it('hears a heartbeat each second with the age of every reading', async () => {
    const viewer = await open();
    clock.pass(3000);
    await viewer.until(4);
    expect(viewer.heard.slice(1)).toEqual(
      [1000, 2000, 3000].map((ms) => ({
        type: 'heartbeat',
        atMs: Date.UTC(2026, 10, 18, 12, 58) + ms,
        ages: { 'gas/upper': 1, 'gas/lower': 1, 'electric/middle': 1 },
        simulated: null,
        utcOffsetMinutes: 60,
        signs: Object.fromEntries(desk.snapshot(false).kilns.map(({ id, sign }) => [id, sign])),
      })),
    );
  });

  it('hears no heartbeat from a desk that cannot say how old the readings are, and hears the rest', async () => {
    const viewer = await open();
    desk.snapshot = () => {
      throw new Error('no ages');
    };
    clock.pass(1000);
    desk.push({ type: 'trouble', atMs: 0, kiln: null, troubles: ['the disk is full'] });
    await viewer.until(2);
    expect(viewer.heard[1]).toMatchObject({ type: 'trouble' });
    expect(logged).toEqual(['The live feed has no heartbeat: no ages.']);
  });

  it('hears nothing after the snapshot that is older than it', async () => {
    const first = await open();
    desk.advance(5);
    desk.advance(5); // Within the same fifth of a second: this position is held back.
    const second = await open();
    clock.pass(250);
    desk.push({ type: 'trouble', atMs: 0, kiln: null, troubles: [] });
    await second.until(2);
    expect(second.heard[1]).toMatchObject({ type: 'trouble' });
    await first.until(10);
    expect(first.heard.filter((message) => message.type === 'position')).toHaveLength(2);
  });

  it('is told that the daemon stops', async () => {
    const viewer = await open();
    feed.close();
    const [code] = await once(viewer.socket, 'close');
    expect(code).toBe(1001);
    expect(desk.listenerCount()).toBe(0);
    clock.pass(60_000);
    expect(clock.timerCount()).toBe(0);
  });

  it('is told so when the daemon cannot say how things stand, and the daemon goes on', async () => {
    desk.snapshot = () => {
      throw new Error('out of breath');
    };
    const socket = new WebSocket(`ws://127.0.0.1:${port}/live`);
    const [code] = await once(socket, 'close');
    expect(code).toBe(1011);
    expect(logged).toEqual(['A page could not be shown the kilns: out of breath.']);
  });
});

describe('a page that misbehaves', () => {
  it('is not obeyed', async () => {
    const viewer = await open();
    const before = JSON.stringify(desk.snapshot(true));
    viewer.socket.send(JSON.stringify({ type: 'end', firing: desk.snapshot(true).kilns[0]?.firing?.id }));
    viewer.socket.send('end');
    await roundTrip(viewer.socket);
    expect(JSON.stringify(desk.snapshot(true))).toBe(before);
    expect(viewer.heard).toHaveLength(1);
    expect(feed.viewerCount()).toBe(1);
  });

  it('is sent away when it says too much at once', async () => {
    const viewer = await open();
    viewer.socket.send('x'.repeat(5000));
    const [code] = await once(viewer.socket, 'close');
    expect(code).toBe(1009);
    // The page may hear of the close before the server has done with the socket.
    await vi.waitFor(() => expect(feed.viewerCount()).toBe(0));
  });

  it('that stops reading is sent away without delaying the others, and comes back to a fresh snapshot', async () => {
    const timers = clock.timerCount();
    const quick = await open();
    const slow = await open();
    slow.socket.pause();
    const line = 'x'.repeat(100_000);
    let sent = 0;
    while (feed.viewerCount() === 2) {
      desk.push({ type: 'trouble', atMs: sent, kiln: null, troubles: [line] });
      sent += 1;
      await quick.until(1 + sent);
      // Kernel buffers take some MB on the way; far more than that must not pile up anywhere.
      expect(sent).toBeLessThan(500);
    }
    expect(quick.heard.slice(1).map((message) => message.atMs)).toEqual(Array.from({ length: sent }, (_, i) => i));
    const closed = once(slow.socket, 'close');
    slow.socket.resume();
    expect((await closed)[0]).toBe(1013);
    expect(slow.heard.length - 1).toBeLessThan(sent);
    await expect.poll(() => clock.timerCount()).toBe(timers);
    const again = await open();
    expect(again.heard[0]).toMatchObject({ type: 'snapshot' });
  });

  it('that never reads its leave is cut off', async () => {
    const socket = await rawUpgrade();
    const quick = await open();
    let sent = 0;
    while (feed.viewerCount() === 2) {
      desk.push({ type: 'trouble', atMs: sent, kiln: null, troubles: ['x'.repeat(100_000)] });
      sent += 1;
      await quick.until(1 + sent);
    }
    const connections = (): Promise<number> =>
      new Promise((resolve, reject) => {
        server.getConnections((error, count) => (error ? reject(error) : resolve(count)));
      });
    expect(await connections()).toBe(2);
    const closed = new Promise((resolve) => socket.on('close', resolve));
    socket.on('error', () => undefined);
    clock.pass(5000);
    socket.resume();
    await closed;
    expect(await connections()).toBe(1);
  });

  it('whose network went away is noticed within half a minute', async () => {
    const silent = await rawUpgrade();
    expect(feed.viewerCount()).toBe(1);
    const closed = new Promise((resolve) => silent.on('close', resolve));
    silent.resume();
    clock.pass(15_000);
    expect(feed.viewerCount()).toBe(1);
    clock.pass(15_000);
    await closed;
    expect(feed.viewerCount()).toBe(0);
  });

  it('is not confused with one that answers', async () => {
    const viewer = await open();
    for (let i = 0; i < 4; i++) {
      const pinged = once(viewer.socket, 'ping');
      clock.pass(15_000);
      await pinged;
      await roundTrip(viewer.socket);
    }
    expect(feed.viewerCount()).toBe(1);
  });

  it('finds the feed at /live alone, in the version that is spoken here', async () => {
    for (const [path, version, status] of [
      ['/', 13, 404],
      ['/live/', 13, 404],
      ['/live/../live', 13, 404],
      ['/live%00', 13, 404],
      ['/live', 7, 400],
    ] as const) {
      const socket = await rawUpgrade(path, version);
      const answer = String(socket.read());
      expect(answer).toContain(`HTTP/1.1 ${status} `);
      expect(JSON.parse(answer.split('\r\n\r\n')[1] ?? '')).toHaveProperty('error.right');
      socket.destroy();
    }
    expect(feed.viewerCount()).toBe(0);
  });
});

describe('many pages', () => {
  it('may come and go a thousand times and leave nothing behind', async () => {
    const timers = clock.timerCount();
    const warnings: Error[] = [];
    const warn = (warning: Error): void => void warnings.push(warning);
    process.on('warning', warn);
    for (let i = 0; i < 1000; i++) {
      const { socket } = await open();
      expect(desk.listenerCount()).toBe(1);
      const closed = once(socket, 'close');
      if (i % 2 === 0) socket.close();
      else socket.terminate();
      await closed;
    }
    const last = await open();
    await roundTrip(last.socket);
    expect(feed.viewerCount()).toBe(1);
    expect(clock.timerCount()).toBe(timers);
    expect(warnings).toEqual([]);
    process.off('warning', warn);
  });

  it('twenty of them all hear the same', async () => {
    const viewers = await Promise.all(Array.from({ length: 20 }, () => open()));
    for (let i = 0; i < 100; i++) desk.push({ type: 'trouble', atMs: i, kiln: null, troubles: [] });
    await Promise.all(viewers.map((viewer) => viewer.until(101)));
    for (const { heard } of viewers) expect(heard).toEqual(viewers[0]?.heard);
  });

  it('are two hundred at most', async () => {
    const viewers = await Promise.all(Array.from({ length: 200 }, () => open()));
    expect(feed.viewerCount()).toBe(200);
    const socket = await rawUpgrade();
    expect(String(socket.read())).toContain('HTTP/1.1 503 ');
    for (const viewer of viewers) viewer.socket.terminate();
  });
});
