/** A second kiln on a Modbus line that is in use, set up over HTTP at the running watch: no file is edited, nothing is started anew. */
import { mkdirSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { loadConfig, noKilnsYet } from '../../daemon/config/load.ts';
import { type RunningWatch, startWatch } from '../../daemon/runtime/assemble.ts';
import { needs } from '../support/debian.ts';
import { serveWithPymodbus } from '../support/modbus-clients.ts';
import { freePort } from '../support/mosquitto.ts';
import { terminalPair } from '../support/terminal-pair.ts';

const PATIENCE = { timeout: 30_000 };
const REGISTERS = { 1: { 3: [215, 660], 4: [1] }, 7: { 3: [231], 4: [1] } };

describe.runIf(needs('socat', 'pymodbus', 'serial_asyncio'))('a second kiln on a Modbus line that is in use', () => {
  let dir: string;
  let file: string;
  let watch: RunningWatch;
  let toStop: (() => Promise<unknown>)[];
  beforeEach(async () => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-line-'));
    file = join(dir, 'data', 'spyhole.yaml');
    toStop = [];
    mkdirSync(join(dir, 'by-id'));
    watch = await startWatch({
      config: { ...noKilnsYet(file), listen: { host: '127.0.0.1', port: 0 } },
      dataDir: join(dir, 'data'),
      log: () => undefined,
      byIdDir: join(dir, 'by-id'),
      webDir: dir,
    });
    toStop.push(() => watch.stop());
  });
  afterEach(async () => {
    for (const stop of toStop.reverse()) await stop();
    rmSync(dir, { recursive: true, force: true });
  });

  async function ask(method: 'GET' | 'POST' | 'PUT', path: string, body?: object) {
    const sent =
      body === undefined ? {} : { body: JSON.stringify(body), headers: { 'content-type': 'application/json' } };
    const answer = await fetch(`${watch.url}${path}`, { method, ...sent });
    // biome-ignore lint/suspicious/noExplicitAny: each test looks at what it expects of it
    return { status: answer.status, body: (await answer.json()) as any };
  }
  const offered = async (): Promise<readonly string[]> => {
    const { ear } = (await ask('GET', '/api/setup/ear')).body;
    return (ear?.offers ?? []).map(({ id }: { id: string }) => id);
  };
  const kilnNow = (id: string) => watch.desk.snapshot(true).kilns.find((kiln) => kiln.id === id);
  const celsius = (id: string) => kilnNow(id)?.readings[0]?.celsius;
  const listen = (place: object) => ask('PUT', '/api/setup/ear', place);

  /** Listens there to this unit until its first register is offered, and sets up a kiln by it. */
  async function setUp(place: object, unit: number, name: string) {
    expect((await listen({ ...place, unit, register: 0 })).status).toBe(200);
    const offer = `unit ${unit} holding 0`;
    await expect.poll(offered, PATIENCE).toContain(offer);
    const picks = [{ sensor: 'chamber', letter: 'K', offer, way: 'int16 ABCD 0.1 C' }];
    return ask('POST', '/api/setup/kilns', { name, heat: 'electric', closure: 'lid', picks });
  }

  async function bothAreRead(place: object): Promise<void> {
    expect((await setUp(place, 1, 'First')).status).toBe(201);
    await expect.poll(() => celsius('first'), PATIENCE).toBe(21.5);
    const begun = await ask('POST', '/api/firings', { kiln: 'first', by: 'test' });
    expect(begun.status).toBe(201);
    // The first is being fired, and is read on while somebody listens beside it.
    expect((await setUp(place, 7, 'Second')).status).toBe(201);
    await expect.poll(() => celsius('second'), PATIENCE).toBe(23.1);
    expect(kilnNow('first')?.troubles).toEqual([]);
    expect(kilnNow('first')?.firing?.id).toBe(begun.body.id);
    const refused = await ask('POST', '/api/setup/kilns/first/remove', {});
    expect(refused).toMatchObject({ status: 409, body: { error: { what: 'First is being fired' } } });
    expect((await ask('POST', '/api/setup/kilns/second/remove', {})).status).toBe(200);
    expect(kilnNow('second')).toBeUndefined();
    const before = kilnNow('first')?.readings[0]?.atMs ?? 0;
    await expect.poll(() => kilnNow('first')?.readings[0]?.atMs, PATIENCE).toBeGreaterThan(before + 1000);
    expect(loadConfig(file).kilns.map(({ kiln }) => kiln.id)).toEqual(['first']);
  }

  it('on a serial port', async () => {
    const pair = await terminalPair(dir);
    toStop.push(pair.unplug);
    const slave = await serveWithPymodbus({ path: `${pair.port}-far-end` }, REGISTERS);
    toStop.push(slave.stop);
    const port = join(dir, 'by-id', 'usb-line');
    symlinkSync(pair.port, port);
    await bothAreRead({ kind: 'modbus-rtu', port, baud: 19_200, parity: 'none' });
    const { ports } = (await ask('GET', '/api/setup/places')).body;
    expect(ports).toEqual([{ path: port, usedBy: 'First', line: { baud: 19_200, parity: 'none' } }]);
    // Whoever speaks otherwise to a line than it is spoken to would be heard by nobody.
    expect(await listen({ kind: 'serial', port, baud: 9600 })).toMatchObject({
      status: 409,
      body: { error: { what: 'First is read there over modbus-rtu', right: 'listen there over modbus-rtu too' } },
    });
    // Whatever speed is named, the line's own is written.
    expect((await setUp({ kind: 'modbus-rtu', port, baud: 9600, parity: 'even' }, 7, 'Third')).status).toBe(201);
    expect(loadConfig(file).kilns.map(({ inputs }) => inputs[0])).toMatchObject([
      { at: { baud: 19_200, parity: 'none' } },
      { at: { baud: 19_200, parity: 'none' } },
    ]);
  }, 120_000);

  it('behind one address in the network', async () => {
    const port = await freePort();
    const slave = await serveWithPymodbus({ port }, REGISTERS);
    toStop.push(slave.stop);
    await bothAreRead({ kind: 'modbus-tcp', address: `127.0.0.1:${port}` });
  }, 120_000);
});
