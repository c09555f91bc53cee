import { mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { KilnConfig } from '../../daemon/config/load.ts';
import { Setup } from '../../daemon/runtime/setup.ts';
import { buildApp } from '../../daemon/server/http-server.ts';
import { needs } from '../support/debian.ts';
import { type ManualClock, manualClock } from '../support/manual-clock.ts';
import { scriptedDesk } from '../support/scripted-desk.ts';
import { terminalPair } from '../support/terminal-pair.ts';

describe.runIf(needs('socat'))('setting a kiln up over HTTP', () => {
  let dir: string;
  let clock: ManualClock;
  let setup: Setup;
  let app: FastifyInstance;
  let watched: KilnConfig[];
  let say: (line: string) => Promise<void>;
  let port: string;
  let unplug: () => Promise<void>;
  beforeEach(async () => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-setup-'));
    const pair = await terminalPair(dir);
    say = pair.write;
    unplug = pair.unplug;
    port = join(dir, 'usb-amplifier');
    symlinkSync(pair.port, port);
    clock = manualClock();
    watched = [];
    setup = new Setup({
      file: join(dir, 'config', 'spyhole.yaml'),
      clock,
      log: () => undefined,
      env: {},
      byIdDir: dir,
      kilns: () => watched,
      watchKiln: async (kiln) => {
        watched.push(kiln);
      },
    });
    const options = { host: '0.0.0.0', port: 4660, hosts: [], webDir: '', log: () => undefined, clock, setup };
    app = buildApp(scriptedDesk(), options, new Map());
  });
  afterEach(async () => {
    await setup.stop();
    await unplug();
    rmSync(dir, { recursive: true, force: true });
  });

  async function ask(method: 'GET' | 'POST' | 'PUT', url: string, body?: object, from = '127.0.0.1') {
    const payload = body === undefined ? {} : { payload: JSON.stringify(body) };
    const headers = { host: 'localhost:4660', ...(body !== undefined && { 'content-type': 'application/json' }) };
    const answer = await app.inject({ method, url, ...payload, headers, remoteAddress: from });
    return { status: answer.statusCode, body: answer.json() };
  }
  const ear = async () => (await ask('GET', '/api/setup/ear')).body.ear;
  const listen = () => ask('PUT', '/api/setup/ear', { kind: 'serial', port, baud: 9600 });
  const kiln = {
    name: 'Gas kiln',
    heat: 'gas',
    closure: 'door',
    picks: [{ sensor: 'shelf', letter: 'K', offer: 'column 1 of 1', way: 'C' }],
  };
  /** The port is open once what was said arrives. */
  async function hear(line: string): Promise<void> {
    await expect
      .poll(async () => {
        await say(line);
        return (await ear())?.offers.length;
      })
      .toBe(1);
  }

  it('is for the kilns’ own machine alone', async () => {
    for (const [method, url, body] of [
      ['GET', '/api/setup/places'],
      ['GET', '/api/setup/ear'],
      ['PUT', '/api/setup/ear', { kind: 'tcp', address: '192.168.1.1:22' }],
      ['POST', '/api/setup/ear/stop', {}],
      ['POST', '/api/setup/kilns', kiln],
    ] as const) {
      expect((await ask(method, url, body, '192.168.1.9')).status).toBe(403);
    }
  });

  it('leads from the port to a kiln that is watched', async () => {
    const { ports } = (await ask('GET', '/api/setup/places')).body;
    expect(ports).toContainEqual({ path: port, usedBy: null });
    expect(await ear()).toBeNull();
    expect((await listen()).status).toBe(200);
    await hear('21.5\n');
    const added = await ask('POST', '/api/setup/kilns', kiln);
    expect(added).toMatchObject({ status: 201, body: { id: 'gas-kiln' } });
    expect(watched.map((one) => one.kiln.id)).toEqual(['gas-kiln']);
    // The port is given free for the kiln, and is the kiln's from then on.
    expect(await ear()).toBeNull();
    expect((await ask('GET', '/api/setup/places')).body.ports).toContainEqual({ path: port, usedBy: 'Gas kiln' });
    expect(await listen()).toMatchObject({ status: 409, body: { error: { what: 'Gas kiln listens there already' } } });
  });

  it('is refused where the instrument says something else meanwhile, or nothing was listened to', async () => {
    expect((await ask('POST', '/api/setup/kilns', kiln)).status).toBe(404);
    await listen();
    await hear('21.5\n');
    const other = { ...kiln, picks: [{ ...kiln.picks[0], offer: 'column 2 of 3' }] };
    expect(await ask('POST', '/api/setup/kilns', other)).toMatchObject({
      status: 409,
      body: { error: { what: 'shelf was picked from what the instrument no longer says' } },
    });
    const twice = { ...kiln, picks: [kiln.picks[0], kiln.picks[0]] };
    expect((await ask('POST', '/api/setup/kilns', twice)).status).toBe(409);
    expect(watched).toEqual([]);
  });

  it('gives the port free once the page is gone', async () => {
    await listen();
    clock.pass(15_000);
    expect(await ear()).not.toBeNull();
    clock.pass(30_000);
    expect(await ear()).toBeNull();
  });

  it.each([
    [{ kind: 'serial', port: '/dev/x', baud: 1 }],
    [{ kind: 'mqtt', url: 'http://x' }],
    [{ kind: 'mqtt', url: 'mqtt://user:secret@x' }],
    [{ kind: 'tcp', address: 'nowhere' }],
    [{ kind: 'shout' }],
    [{ kind: 'serial', port: '/dev/x', baud: 9600, more: 1 }],
  ])('says what is wrong with %j', async (place) => {
    const answer = await ask('PUT', '/api/setup/ear', place);
    expect(answer.status).toBe(400);
    expect(Object.keys(answer.body.error)).toEqual(['what', 'where', 'right']);
    expect(JSON.stringify(answer.body)).not.toContain('secret');
  });
});
