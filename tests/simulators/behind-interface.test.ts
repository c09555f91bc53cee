import { createReadStream, mkdtempSync, rmSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { SerialPort } from 'serialport';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { simulatedClock } from '../../daemon/runtime/clock.ts';
import { type Behind, runBehind } from '../../simulators/behind-interface.ts';
import { DeviceError, type DeviceReading, sourceOf } from '../../simulators/device.ts';
import { fireScenario, liveFiring } from '../../simulators/firing-scenario.ts';
import { tcpFrame } from '../../simulators/modbus/frames.ts';
import { needs } from '../support/debian.ts';
import { manualClock } from '../support/manual-clock.ts';
import { manualWaits } from '../support/manual-waits.ts';
import { freePort, mosquitto } from '../support/mosquitto.ts';
import { quietElectric } from '../support/scenarios.ts';
import { scriptedSource } from '../support/scripted-source.ts';
import { terminalPair } from '../support/terminal-pair.ts';

const climb = { shelf: (s: number) => 20 + s / 4, top: (s: number) => (s % 70 === 0 ? null : 24 + s / 4) };
const sensors = ['shelf', 'top'];
const onTcp: Behind = { kind: 'modbus-tcp', host: '127.0.0.1', port: 0, sensors, lidSwitch: true };

/** The lines that a board prints of two couples read at the same moments. */
function linesOf(readings: readonly DeviceReading[]): string[] {
  return readings.flatMap((shelf, i) => (i % 2 === 0 ? [`${shelf.celsius};${readings[i + 1]?.celsius ?? ''}`] : []));
}

/** All that was heard was said, in that order; some of what was said may be missing. */
function expectInOrder(heard: readonly string[], said: readonly string[]): void {
  let at = 0;
  const strangers = heard.filter((one) => {
    const found = said.indexOf(one, at);
    if (found >= 0) at = found + 1;
    return found < 0;
  });
  expect(strangers).toEqual([]);
}

/** Words of the registers, asked for over a socket of one's own. */
async function asker(where: string | undefined) {
  const port = Number(where?.split(':').at(-1));
  const socket: Socket = connect(port, '127.0.0.1');
  await new Promise<void>((resolve, reject) => socket.once('connect', resolve).once('error', reject));
  async function ask(from: number, count: number): Promise<Buffer> {
    socket.write(tcpFrame(1, 1, Uint8Array.of(3, from >> 8, from & 0xff, 0, count)));
    return await new Promise<Buffer>((resolve) => socket.once('data', resolve));
  }
  return {
    async exception(from: number): Promise<number> {
      const reply = await ask(from, 1);
      expect(reply[7]).toBe(0x83);
      return reply[8] ?? 0;
    },
    async words(from: number, count: number): Promise<number[]> {
      const reply = await ask(from, count);
      return Array.from({ length: count }, (_, i) => reply.readUInt16BE(9 + 2 * i));
    },
    close: () => socket.destroy(),
  };
}

describe('a kiln behind Modbus', () => {
  it('runs on to the instant at which it is polled', async () => {
    const clock = manualClock();
    // Its samples fall between two moments at which it would be asked anyway.
    const startedAtMs = clock.nowMs() + 10;
    const source = scriptedSource({ startedAtMs, sampleS: 1, endsAfterS: 60, sensors: climb });
    const running = await runBehind(source, [onTcp], clock);
    const client = await asker(running.where[0]);
    expect(await client.words(8, 1)).toEqual([4]);
    for (const s of [1, 2, 3]) {
      clock.pass(startedAtMs + s * 1000 + 5 - clock.nowMs());
      expect(await client.words(6, 4)).toEqual([0, 2000 + 25 * s, 1, 0]);
    }
    client.close();
    await running.stop();
    expect(clock.timerCount()).toBe(0);
  });

  it('that has broken down says so to whoever polls, and to whoever runs it', async () => {
    const clock = manualClock();
    const source = scriptedSource({ startedAtMs: clock.nowMs(), sampleS: 1, endsAfterS: 60, sensors: climb });
    const broken = {
      ...source,
      controller: () => {
        throw new RangeError('the elements have melted');
      },
    };
    const running = await runBehind(broken, [onTcp], clock);
    const client = await asker(running.where[0]);
    expect(await client.exception(0)).toBe(4);
    await expect(running.done).rejects.toThrow('the elements have melted');
    expect(await client.exception(0)).toBe(4);
    client.close();
    await running.stop();
  });

  it('answers with its last values when the firing is over, and says that it is', async () => {
    const clock = manualClock();
    const lid = [{ atMs: clock.nowMs() + 30_000, lid: 'open' as const }];
    const source = scriptedSource({ startedAtMs: clock.nowMs(), sampleS: 10, endsAfterS: 60, sensors: climb, lid });
    const running = await runBehind(source, [onTcp], clock);
    const client = await asker(running.where[0]);
    clock.pass(29_000);
    expect(await client.words(200, 2)).toEqual([0b101, 2]);
    clock.pass(600_000);
    await running.done;
    expect(await client.words(200, 1)).toEqual([0b110]);
    expect(await client.words(0, 1)).toEqual([350]);
    expect(running.counts()).toEqual([{ readings: 14, lost: 0, requests: 3 }]);
    client.close();
    await running.stop();
  });
});

describe('a whole simulated firing behind Modbus', () => {
  it('shows at 3,600 times speed what its couples measured and its controller wants', async () => {
    const clock = simulatedClock(3600);
    const scenario = { ...quietElectric(), startedAtMs: clock.nowMs(), endsAfterS: 2 * 3600 };
    const firing = liveFiring(scenario);
    const names = scenario.couples.map((c) => c.sensor);
    const running = await runBehind(sourceOf(firing), [{ ...onTcp, sensors: names }], clock);
    await running.done;
    const { rows } = fireScenario(scenario);
    const client = await asker(running.where[0]);
    for (const [i, sensor] of names.entries()) {
      const celsius = rows.findLast((r) => r.sensor === sensor)?.celsius ?? 0;
      expect(celsius).toBeGreaterThan(100);
      const hundredths = Math.round(celsius * 100);
      expect(await client.words(10 * i + 6, 2)).toEqual([hundredths >> 16, hundredths & 0xffff]);
    }
    const setpointC = firing.plant.controller()?.setpointC ?? 0;
    expect(await client.words(100, 1)).toEqual([Math.round(setpointC * 10)]);
    expect(running.counts()[0]?.readings).toBe(rows.length);
    client.close();
    await running.stop();
  });
});

describe.runIf(needs('socat', 'mosquitto'))('a kiln behind several interfaces at once', () => {
  let dir: string;
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-behind-'));
  });
  afterEach(() => rmSync(dir, { recursive: true, force: true }));

  it('says the same at each of them, at 3,600 times speed: six hours in six seconds, and nothing lost unsaid', async () => {
    const pair = await terminalPair(dir);
    const port = new SerialPort({ path: pair.port, baudRate: 9600, autoOpen: false });
    await new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())));
    let heard = '';
    port.on('data', (bytes: Buffer) => {
      heard += bytes.toString();
    });
    const broker = await mosquitto();
    const listener = await connectAsync(broker.url);
    const published: string[] = [];
    listener.on('message', (topic, payload) => published.push(`${topic} ${payload.toString()}`));
    await listener.subscribeAsync('kiln/+', { qos: 1 });

    const clock = simulatedClock(3600);
    const source = scriptedSource({ startedAtMs: clock.nowMs(), sampleS: 10, endsAfterS: 6 * 3600, sensors: climb });
    const behinds: Behind[] = [
      { kind: 'serial', path: `${pair.port}-far-end`, sensors },
      { kind: 'mqtt', url: broker.url, sensors },
      onTcp,
    ];
    const running = await runBehind(source, behinds, clock);
    await running.done;
    const counts = running.counts();
    expect(counts.map((c) => c.readings)).toEqual(behinds.map(() => source.all.length));
    // A machine that is busy elsewhere may lose some on the way: then they are counted.
    const [linesOut = 0, messagesOut = 0] = counts.map((c) => c.readings - c.lost);
    const lines = (): string[] => heard.split('\r\n').slice(0, -1);
    while (published.length < messagesOut) await new Promise((resolve) => listener.once('message', resolve));
    while (lines().length < linesOut / 2) await new Promise((resolve) => port.once('data', resolve));
    expect(published).toHaveLength(messagesOut);
    expect(lines()).toHaveLength(linesOut / 2);
    expectInOrder(
      published,
      source.all.map((r) => `kiln/${r.sensor} ${r.celsius ?? ''}`),
    );
    expectInOrder(lines(), linesOf(source.all));

    const client = await asker(running.where[2]);
    expect(await client.words(6, 2)).toEqual([Math.floor(542_000 / 65_536), 542_000 % 65_536]);
    client.close();
    await running.stop();
    await listener.endAsync();
    await broker.stop();
    await new Promise<void>((resolve) => port.close(() => resolve()));
    await pair.unplug();
  });

  it('loses readings where nobody takes the lines away, counts them, and tears no line', async () => {
    const pair = await terminalPair(dir);
    const clock = manualWaits();
    const source = scriptedSource({ startedAtMs: clock.nowMs(), sampleS: 1, endsAfterS: 20_000, sensors: climb });
    const running = await runBehind(source, [{ kind: 'serial', path: `${pair.port}-far-end`, sensors }], clock);
    const linesOut = (): number => {
      const { readings = 0, lost = 0 } = running.counts()[0] ?? {};
      return (readings - lost) / sensors.length;
    };
    // Half of the firing in one breath: nobody else has a turn meanwhile.
    clock.pass(10_000_000);
    clock.repeat();
    expect(linesOut()).toBeLessThan(9000);

    // Not as a serial port: opening one throws away what waits in it.
    const port = createReadStream(pair.port);
    port.on('error', () => {});
    let heard = '';
    port.on('data', (bytes) => {
      heard += String(bytes);
    });
    const whole = (): string[] => heard.split('\r\n').slice(0, -1);
    // The last line that was begun may wait for its end until there is another one.
    const heardAllBut = async (last: number): Promise<void> => {
      while (whole().length < linesOut() - last) await new Promise((resolve) => port.once('data', resolve));
    };
    await heardAllBut(1);
    clock.pass(10_000_000);
    clock.repeat();
    await running.done;
    await heardAllBut(1);

    const { readings, lost = 0 } = running.counts()[0] ?? {};
    expect(readings).toBe(source.all.length);
    expect(lost).toBeGreaterThan(1000);
    expectInOrder(whole(), linesOf(source.all));
    port.destroy();
    await running.stop();
    await pair.unplug();
  });

  it('tells in one sentence that the line was unplugged', async () => {
    const pair = await terminalPair(dir);
    const clock = manualClock();
    const source = scriptedSource({ startedAtMs: clock.nowMs(), sampleS: 1, endsAfterS: 600, sensors: climb });
    const path = `${pair.port}-far-end`;
    const running = await runBehind(source, [{ kind: 'serial', path, sensors }], clock);
    await pair.unplug();
    clock.pass(5000);
    await expect(running.done).rejects.toThrow(`${path} has gone away (EIO). Plug it in and begin again.`);
    await running.stop();
  });
});

describe('a kiln behind an interface that cannot be opened', () => {
  const source = () => scriptedSource({ startedAtMs: 0, sampleS: 1, endsAfterS: 60, sensors: climb });
  const refused = async (...behinds: Behind[]): Promise<Error> => {
    const clock = manualClock();
    const error = await runBehind(source(), behinds, clock).then(
      () => new Error('opened'),
      (e: Error) => e,
    );
    expect(error).toBeInstanceOf(DeviceError);
    expect(clock.timerCount()).toBe(0);
    return error;
  };

  it('says which, why, and what would be right', async () => {
    const port = await freePort();
    const nowhere = join(tmpdir(), 'no-such-terminal');
    expect((await refused({ kind: 'serial', path: nowhere, sensors })).message).toBe(
      `${nowhere} cannot be opened (ENOENT). Give one end of a terminal pair that is there, or a port.`,
    );
    expect((await refused({ kind: 'modbus-rtu', path: nowhere, sensors })).message).toMatch(/no-such-terminal/);
    expect((await refused({ kind: 'modbus-rtu', path: nowhere, sensors })).message).toMatch(
      /Give a port that is there/,
    );
    expect((await refused({ kind: 'mqtt', url: `mqtt://127.0.0.1:${port}`, sensors })).message).toMatch(
      /cannot be reached \(ECONNREFUSED\)/,
    );
    const many = Array.from({ length: 9 }, (_, i) => `couple ${i}`);
    expect((await refused({ ...onTcp, sensors: many })).message).toBe(
      'The kiln has 9 sensors and the register map has room for 8. Show fewer.',
    );
  });

  it('closes those that were open already: the port is free again', async () => {
    const port = await freePort();
    const first: Behind = { kind: 'modbus-tcp', host: '127.0.0.1', port, sensors };
    const error = await refused(first, first);
    expect(error.message).toBe(
      `127.0.0.1:${port} cannot be listened on (EADDRINUSE). Another program listens there: choose another port, or 0 for any.`,
    );
    const again = await runBehind(source(), [first], manualClock());
    expect(again.where).toEqual([`Modbus TCP on 127.0.0.1:${port}`]);
    await again.stop();
  });
});
