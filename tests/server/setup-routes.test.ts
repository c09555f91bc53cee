import { mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type KilnConfig, loadConfig } from '../../daemon/config/load.ts';
import type { Recorder } from '../../daemon/recorder/recorder.ts';
import { FiringLoop } from '../../daemon/runtime/firing-loop.ts';
import { Setup } from '../../daemon/runtime/setup.ts';
import { WatchedKilns } from '../../daemon/runtime/watched-kilns.ts';
import { buildApp } from '../../daemon/server/http-server.ts';
import { refusalSentence } from '../../web/api.ts';
import { needs } from '../support/debian.ts';
import { type ManualClock, manualClock } from '../support/manual-clock.ts';
import { scriptedDesk } from '../support/scripted-desk.ts';
import { terminalPair } from '../support/terminal-pair.ts';

describe.runIf(needs('socat'))('setting a kiln up over HTTP', () => {
  let dir: string;
  let clock: ManualClock;
  let setup: Setup;
  let app: FastifyInstance;
  let kilns: WatchedKilns;
  let loops: Map<string, FiringLoop>;
  let told: string[];
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
    told = [];
    loops = new Map();
    kilns = new WatchedKilns({
      clock,
      loops,
      openLoop: (config) => restingLoop(config, clock),
      utcOffsetMinutes: () => 0,
    });
    setup = new Setup({
      file: join(dir, 'config', 'spyhole.yaml'),
      clock,
      log: () => undefined,
      env: {},
      byIdDir: dir,
      kilns,
      told: {
        set: ({ kiln }) => told.push(`${kiln.id} set`),
        gone: (id) => told.push(`${id} gone`),
      },
    });
    const options = { host: '0.0.0.0', port: 4660, hosts: [], webDir: '', log: () => undefined, clock, setup };
    app = buildApp(scriptedDesk(), options, new Map());
  });
  afterEach(async () => {
    await setup.stop();
    await kilns.stopListening();
    for (const loop of loops.values()) await loop.stop();
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
      ['GET', '/api/setup/kilns'],
      ['PUT', '/api/setup/kilns/gas-kiln', {}],
      ['POST', '/api/setup/kilns/gas-kiln/remove', {}],
    ] as const) {
      expect((await ask(method, url, body, '192.168.1.9')).status).toBe(403);
    }
  });

  it('leads from the port to a kiln that is watched', async () => {
    const { ports } = (await ask('GET', '/api/setup/places')).body;
    expect(ports).toContainEqual({ path: port, usedBy: null, line: null });
    expect(await ear()).toBeNull();
    expect((await listen()).status).toBe(200);
    await hear('21.5\n');
    const added = await ask('POST', '/api/setup/kilns', kiln);
    expect(added).toMatchObject({ status: 201, body: { id: 'gas-kiln' } });
    expect(kilns.all.map((one) => one.kiln.id)).toEqual(['gas-kiln']);
    expect(told).toEqual(['gas-kiln set']);
    // The port is given free for the kiln, and is the kiln's from then on.
    expect(await ear()).toBeNull();
    expect((await ask('GET', '/api/setup/places')).body.ports).toContainEqual({
      path: port,
      usedBy: 'Gas kiln',
      line: null,
    });
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
    expect(kilns.all).toEqual([]);
  });

  describe('once it is set up', () => {
    beforeEach(async () => {
      await listen();
      await hear('21.5\n');
      await ask('POST', '/api/setup/kilns', kiln);
      told.length = 0;
      form.inputs = [{ kind: 'serial', port, baud: 9600 }];
    });
    const form = {
      name: 'Gas kiln',
      heat: 'gas',
      closure: 'door',
      inputs: [{ kind: 'serial', port: '', baud: 9600 }],
      sensors: [{ was: 'shelf', name: 'shelf', letter: 'K', unit: 'C', correction: null, register: null, spot: null }],
    };
    const file = () => join(dir, 'config', 'spyhole.yaml');
    const heardOf = (id: string, sensor = 'shelf') => loops.get(id)?.state.sensors[sensor]?.last?.celsius;

    it('is changed: its name, its couple, what its figures mean, and is watched on', async () => {
      expect((await ask('GET', '/api/setup/kilns')).body).toEqual({
        kilns: [{ id: 'gas-kiln', ...form }],
        file: file(),
        keptAs: `${file()}.before`,
      });
      const correction = { atC: 600, correctionC: -2.5, uncertaintyC: 1.5 };
      const sensors = form.sensors.map((sensor) => ({
        ...sensor,
        name: 'lower shelf',
        letter: 'N',
        unit: 'F',
        correction,
      }));
      const changed = { ...form, name: 'Old gas kiln', sensors };
      expect((await ask('PUT', '/api/setup/kilns/gas-kiln', changed)).status).toBe(200);
      changed.sensors = sensors.map((sensor) => ({ ...sensor, was: 'lower shelf' }));
      expect(told).toEqual(['gas-kiln set']);
      expect((await ask('GET', '/api/setup/kilns')).body.kilns).toEqual([{ id: 'gas-kiln', ...changed }]);
      await expect
        .poll(async () => {
          await say('1112.0\n');
          return heardOf('gas-kiln', 'lower shelf');
        })
        .toBe(600 - 2.5);
      expect(loadConfig(`${file()}.before`, {}).kilns[0]?.kiln).toMatchObject({ name: 'Gas kiln' });
    });

    it('is removed, and its port is free again', async () => {
      const before = readFileSync(file(), 'utf8');
      expect((await ask('POST', '/api/setup/kilns/gas-kiln/remove', {})).status).toBe(200);
      expect(told).toEqual(['gas-kiln gone']);
      expect([...loops.keys()]).toEqual([]);
      expect(loadConfig(file(), {}).kilns).toEqual([]);
      expect(readFileSync(`${file()}.before`, 'utf8')).toBe(before);
      expect((await ask('GET', '/api/setup/places')).body.ports).toContainEqual({
        path: port,
        usedBy: null,
        line: null,
      });
      await listen();
      await hear('21.5\n');
      expect((await ask('POST', '/api/setup/kilns', kiln)).status).toBe(201);
    });

    it.each([
      ['name', { name: 'lid' }, 'The name of a sensor: found "lid"; right: write 1 to 40 letters'],
      ['place', {}, 'Where its instrument speaks: found 9'],
    ])('is told what is wrong with its %s in the words of the page', async (what, sensor, sentence) => {
      const wrong = {
        ...form,
        inputs: what === 'place' ? [{ kind: 'serial', port, baud: 9601 }] : form.inputs,
        sensors: form.sensors.map((one) => ({ ...one, ...sensor })),
      };
      const { status, body } = await ask('PUT', '/api/setup/kilns/gas-kiln', wrong);
      expect(status).toBe(409);
      expect(refusalSentence(body)).toContain(sentence);
      expect(refusalSentence(body)).not.toContain('kilns[');
    });

    it('is not taken out while it is fired, nor are its figures given another meaning, and it says so', async () => {
      await loops.get('gas-kiln')?.begin(null, 'test');
      const before = readFileSync(file(), 'utf8');
      expect(await ask('POST', '/api/setup/kilns/gas-kiln/remove', {})).toMatchObject({
        status: 409,
        body: { error: { what: 'Gas kiln is being fired' } },
      });
      for (const wrong of [
        { ...form, heat: 'electric' },
        { ...form, sensors: [{ ...form.sensors[0], unit: 'F' }] },
        { ...form, sensors: [{ ...form.sensors[0], letter: 'S' }] },
      ]) {
        expect(await ask('PUT', '/api/setup/kilns/gas-kiln', wrong)).toMatchObject({
          status: 409,
          body: { error: { what: 'Gas kiln is being fired: what its figures mean stays' } },
        });
      }
      expect(readFileSync(file(), 'utf8')).toBe(before);
      await expect
        .poll(async () => {
          await say('21.7\n');
          return heardOf('gas-kiln');
        })
        .toBe(21.7);
    });

    it('is heard at another plug at once while it is fired, and its sensor is renamed when that is over', async () => {
      const id = await loops.get('gas-kiln')?.begin(null, 'test');
      const loop = loops.get('gas-kiln');
      const other = await terminalPair(join(dir, 'config'));
      const plug = join(dir, 'usb-at-the-back');
      symlinkSync(other.port, plug);
      const moved = {
        ...form,
        inputs: [{ kind: 'serial', port: plug, baud: 19_200 }],
        sensors: [{ ...form.sensors[0], name: 'lower shelf' }],
      };
      expect((await ask('PUT', '/api/setup/kilns/gas-kiln', moved)).status).toBe(200);
      expect(told).toEqual(['gas-kiln set']);
      expect(loops.get('gas-kiln')).toBe(loop);
      expect(loop?.running?.id).toBe(id);
      await expect
        .poll(async () => {
          clock.pass(1000);
          await other.write('22.5\n');
          return heardOf('gas-kiln');
        })
        .toBe(22.5);
      // The first plug is free again, and the file has the new name already.
      expect((await ask('GET', '/api/setup/places')).body.ports).toContainEqual({
        path: port,
        usedBy: null,
        line: null,
      });
      expect((await ask('GET', '/api/setup/kilns')).body.kilns[0].sensors[0].was).toBe('lower shelf');
      expect(loop?.state.kiln.sensors.map(({ name }) => name)).toEqual(['shelf']);
      await loop?.deed(id ?? '', 'test', { deed: 'end' });
      expect(loop?.state.kiln.sensors.map(({ name }) => name)).toEqual(['lower shelf']);
      expect(heardOf('gas-kiln', 'lower shelf')).toBe(22.5);
      await expect
        .poll(async () => {
          clock.pass(1000);
          await other.write('23.5\n');
          return heardOf('gas-kiln', 'lower shelf');
        })
        .toBe(23.5);
      await other.unplug();
    });

    it('is watched on as it was where the change cannot be written', async () => {
      const wrong = { ...form, sensors: [{ ...form.sensors[0], was: 'other' }] };
      expect(await ask('PUT', '/api/setup/kilns/gas-kiln', wrong)).toMatchObject({
        status: 409,
        body: { error: { what: 'other is no sensor of this kiln' } },
      });
      writeFileSync(file(), 'kilns: [');
      expect((await ask('POST', '/api/setup/kilns/gas-kiln/remove', {})).status).toBe(409);
      expect((await ask('POST', '/api/setup/kilns/nobody/remove', {})).status).toBe(404);
      expect(readFileSync(file(), 'utf8')).toBe('kilns: [');
      await expect
        .poll(async () => {
          await say('21.9\n');
          return heardOf('gas-kiln');
        })
        .toBe(21.9);
    });
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

/** A loop whose records are kept nowhere. */
function restingLoop({ kiln }: KilnConfig, clock: ManualClock): FiringLoop {
  const recorder: Recorder = {
    firingId: `${kiln.id}-1`,
    lines: 1,
    head: '',
    append: async () => 1,
    close: async () => undefined,
    leave: async () => undefined,
  };
  const silent = (): void => undefined;
  return new FiringLoop({
    kiln: { ...kiln, utcOffsetMinutes: 0 },
    clock,
    log: silent,
    listener: { said: silent, changed: silent, closed: silent, troubled: silent },
    openRecord: async () => recorder,
    software: 'spyhole under test',
    simulated: false,
    utcOffsetMinutes: () => 0,
  });
}
