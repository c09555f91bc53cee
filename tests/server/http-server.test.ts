import { once } from 'node:events';
import { connect, type Socket } from 'node:net';
import { networkInterfaces } from 'node:os';
import { afterEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import { ServerError } from '../../daemon/errors.ts';
import { systemClock } from '../../daemon/runtime/clock.ts';
import { type RunningServer, startServer } from '../../daemon/server/http-server.ts';
import { type ScriptedDesk, scriptedDesk } from '../support/scripted-desk.ts';

const running: RunningServer[] = [];
const desk: ScriptedDesk = scriptedDesk({ moment: 'overshoot' });

async function start(host = '127.0.0.1', port = 0): Promise<RunningServer> {
  const server = await startServer(desk, {
    host,
    port,
    hosts: [],
    webDir: '',
    log: () => undefined,
    clock: systemClock(),
  });
  running.push(server);
  return server;
}

afterEach(async () => {
  for (const server of running.splice(0)) await server.close();
});

/** Sends the text and resolves with all that came back, once the other side has closed. */
async function say(port: number, text: string, address = '127.0.0.1', keepSending?: string): Promise<string> {
  const socket: Socket = connect(port, address);
  let answer = '';
  socket.setEncoding('utf8');
  socket.on('data', (data: string) => {
    answer += data;
  });
  socket.on('error', () => undefined);
  socket.write(text);
  const drip = keepSending === undefined ? undefined : setInterval(() => socket.write(keepSending), 200);
  await new Promise((resolve) => socket.on('close', resolve));
  clearInterval(drip);
  return answer;
}

describe('where it listens', () => {
  it('says its address, which answers', async () => {
    const server = await start();
    expect(server.url).toBe(`http://127.0.0.1:${server.port}`);
    expect((await fetch(`${server.url}/health`)).status).toBe(200);
  });

  it('listens on localhost as on an address', async () => {
    const server = await start('localhost');
    expect(server.url).toBe(`http://localhost:${server.port}`);
    expect((await fetch(`${server.url}/health`)).status).toBe(200);
  });

  it('gives an address that answers when it listens on all of them', async () => {
    const server = await start('0.0.0.0');
    expect((await fetch(`${server.url}/health`)).status).toBe(200);
  });

  it('says that the port is in use, and what to do', async () => {
    const { port } = await start();
    const refused = start('127.0.0.1', port);
    await expect(refused).rejects.toThrow(ServerError);
    await expect(refused).rejects.toThrow(
      `Port ${port} on 127.0.0.1 is in use by another program, perhaps by this one started twice: stop that, or choose another port with --listen 127.0.0.1:${port + 1}.`,
    );
  });

  it('says that an address is not one of this machine', async () => {
    await expect(start('203.0.113.1')).rejects.toThrow(
      /^203\.0\.113\.1 is not an address of this machine: choose one of 127\.0\.0\.1.*, or 0\.0\.0\.0 for all of them\.$/,
    );
  });

  it('says that a name is not known', async () => {
    await expect(start('nowhere.invalid')).rejects.toThrow(
      /^The name nowhere\.invalid is not known to this machine: .*\.$/,
    );
  });

  it('says that a port is none', async () => {
    await expect(start('127.0.0.1', 70_000)).rejects.toThrow(
      /^70000 is no port: choose a whole number from 1 to 65535/,
    );
  });

  it.skipIf(process.getuid?.() === 0)('says that a port is not permitted to this user', async () => {
    await expect(start('127.0.0.1', 80)).rejects.toThrow(
      /^Port 80 on 127\.0\.0\.1 is not permitted to this user: choose one above 1023/,
    );
  });

  it('leaves nobody waiting when it stops', async () => {
    const server = await start();
    const viewer = new WebSocket(`ws://127.0.0.1:${server.port}/live`);
    await once(viewer, 'message');
    const idle = connect(server.port, '127.0.0.1');
    await once(idle, 'connect');
    await fetch(`${server.url}/health`);
    const left = once(viewer, 'close');
    await Promise.all([server.close(), new Promise((resolve) => idle.on('close', resolve).resume())]);
    expect((await left)[0]).toBe(1001);
    expect(desk.listenerCount()).toBe(0);
    await expect(fetch(`${server.url}/health`)).rejects.toThrow();
  });
});

describe('a sender that wastes its time', () => {
  it('is cut off, whether the head or the body comes too slowly or nothing comes at all', async () => {
    const { port } = await start();
    const began = 'POST /api/alerts/x/seen HTTP/1.1\r\nHost: localhost\r\n';
    const [slowHead, slowBody, silent] = await Promise.all([
      say(port, began, undefined, 'X: y\r\n'),
      say(port, `${began}Content-Type: application/json\r\nContent-Length: 5000\r\n\r\n{`, undefined, ' '),
      say(port, ''),
    ]);
    for (const answer of [slowHead, slowBody, silent]) {
      expect(answer).toMatch(/^HTTP\/1\.1 408 /);
      expect(answer).toContain('{"error":{"what":"it came too slowly"');
    }
  });

  it('hears what is wrong with a garbled request', async () => {
    const { port } = await start();
    for (const [text, status] of [
      ['what is this\r\n\r\n', 400],
      ['GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n', 400],
      [`GET / HTTP/1.1\r\nHost: localhost\r\nX: ${'x'.repeat(20_000)}\r\n\r\n`, 431],
      ['GET / HTTP/1.1\r\nConnection: close\r\n\r\n', 400],
      ['GET / HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n', 421],
    ] as const) {
      const answer = await say(port, text);
      expect(answer).toContain(`HTTP/1.1 ${status} `);
      expect(answer).toContain('x-content-type-options: nosniff');
      expect(answer).toMatch(/\{"error":\{"what":"[^"]+","where":"[^"]+","right":"[^"]+"\}\}$/);
    }
  });

  it('does not keep the page from others with five hundred idle connections', async () => {
    const server = await start();
    const idle = Array.from({ length: 500 }, () => connect(server.port, '127.0.0.1'));
    await Promise.all(idle.map((socket) => once(socket, 'connect')));
    expect((await fetch(`${server.url}/health`)).status).toBe(200);
    for (const socket of idle) socket.destroy();
  });
});

describe('the live feed of a real server', () => {
  async function upgrade(port: number, headers: Record<string, string>): Promise<number> {
    const socket = new WebSocket(`ws://127.0.0.1:${port}/live`, { headers });
    return new Promise((resolve, reject) => {
      socket.on('message', () => {
        socket.terminate();
        resolve(101);
      });
      socket.on('unexpected-response', (request, response) => {
        request.destroy();
        resolve(response.statusCode ?? 0);
      });
      socket.on('error', reject);
    });
  }

  it('is shown to its own page, and to a program that sends no origin', async () => {
    const { port } = await start();
    expect(await upgrade(port, { origin: `http://127.0.0.1:${port}` })).toBe(101);
    expect(await upgrade(port, { origin: `http://localhost:${port}`, host: `localhost:${port}` })).toBe(101);
    expect(await upgrade(port, {})).toBe(101);
  });

  it('is shown to no foreign page', async () => {
    const { port } = await start();
    for (const origin of [
      'null',
      'http://evil.example',
      `http://evil.example:${port}`,
      `http://203.0.113.9:${port}`,
      'http://127.0.0.1',
      `http://127.0.0.1:${port + 1}`,
      `https://127.0.0.1:${port}`,
      `http://127.0.0.1:${port}.evil.example`,
      `http://127.0.0.1.evil.example:${port}`,
    ]) {
      expect([origin, await upgrade(port, { origin })]).toEqual([origin, 403]);
    }
  });

  it('is not found under a foreign name', async () => {
    const { port } = await start();
    for (const host of ['evil.example', `evil.example:${port}`, '127.0.0.1:1', `127.0.0.1.evil.example:${port}`]) {
      expect([host, await upgrade(port, { host })]).toEqual([host, 421]);
    }
  });
});

const outside = Object.values(networkInterfaces())
  .flatMap((addresses) => addresses ?? [])
  .find((one) => one.family === 'IPv4' && !one.internal)?.address;

describe('from another device', () => {
  it.skipIf(outside === undefined)(
    'she may read and say that she has seen, and no more (skipped without a network)',
    async () => {
      const { port } = await start('0.0.0.0');
      const there = `http://${outside}:${port}`;
      expect(await (await fetch(`${there}/api/state`)).json()).toMatchObject({ mayCommand: false });
      const here = `http://127.0.0.1:${port}`;
      expect(await (await fetch(`${here}/api/state`)).json()).toMatchObject({ mayCommand: true });
      const send = (base: string, path: string, body: object): Promise<Response> =>
        fetch(`${base}${path}`, {
          method: 'POST',
          headers: { 'content-type': 'application/json', origin: base },
          body: JSON.stringify(body),
        });
      expect((await send(there, '/api/firings', { kiln: 'electric' })).status).toBe(403);
      const alert = desk.snapshot(true).kilns[0]?.alerts[0]?.id ?? '';
      expect((await send(there, `/api/alerts/${encodeURIComponent(alert)}/seen`, { by: 'Hanna' })).status).toBe(200);
      expect((await send(here, '/api/firings', { kiln: 'electric' })).status).toBe(201);
      const viewer = new WebSocket(`ws://${outside}:${port}/live`, { origin: there });
      const [first] = await once(viewer, 'message');
      expect(JSON.parse(String(first))).toMatchObject({ type: 'snapshot', mayCommand: false });
    },
  );

  it.skipIf(outside === undefined)('she cannot take all the room there is (skipped without a network)', async () => {
    const { port } = await start('0.0.0.0');
    const taken = Array.from({ length: 100 }, () => connect(port, outside ?? ''));
    await Promise.all(taken.map((socket) => once(socket, 'connect')));
    expect(await say(port, 'GET /health HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n', outside)).toBe('');
    expect((await fetch(`http://127.0.0.1:${port}/health`)).status).toBe(200);
    for (const socket of taken) socket.destroy();
  });
});
