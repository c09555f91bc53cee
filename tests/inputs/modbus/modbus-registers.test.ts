/** The whole way: a real terminal and a real socket, to a slave that others wrote and to simulated ones with faults. */
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Input } from '../../../daemon/inputs/input.ts';
import {
  type Block,
  type LineOptions,
  modbusLine,
  sharedLine,
} from '../../../daemon/inputs/modbus/modbus-registers.ts';
import { systemClock } from '../../../daemon/runtime/clock.ts';
import type { Behind } from '../../../simulators/behind-interface.ts';
import { type AttentiveListener, attentiveListener } from '../../support/attentive-listener.ts';
import { needs } from '../../support/debian.ts';
import { FINISHED_SENSORS, finishedFiring } from '../../support/finished-firing.ts';
import { serveWithPymodbus } from '../../support/modbus-clients.ts';
import { freePort } from '../../support/mosquitto.ts';
import { type TerminalPair, terminalPair } from '../../support/terminal-pair.ts';

const hasPeers = needs('socat', 'pymodbus', 'serial_asyncio');
let dir: string;
let pairs: TerminalPair[];
let toStop: (() => Promise<unknown>)[];

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-modbus-'));
  pairs = [];
  toStop = [];
});
afterEach(async () => {
  for (const stop of toStop.reverse()) await stop();
  for (const pair of pairs) await pair.unplug();
  rmSync(dir, { recursive: true, force: true });
});

async function plugIn(): Promise<TerminalPair> {
  const pair = await terminalPair(dir);
  pairs = [pair];
  return pair;
}

const block = (unit: number, functionCode: 3 | 4, address: number, registerCount = 1): Block => ({
  channel: `unit ${unit} ${functionCode === 3 ? 'holding' : 'input'} ${address}`,
  unit,
  functionCode,
  address,
  registerCount,
});

/** Quick rounds; patience enough for a busy machine. */
const QUICK = { everyS: 0.05, timeoutS: 1 };

function read(
  line: LineOptions,
  blocks: readonly Block[],
  name = 'modbus-1',
): { input: Input; listener: AttentiveListener } {
  const [input] = modbusLine(line, [{ name, blocks }], systemClock(), () => 0);
  if (input === undefined) throw new Error('no input was made');
  const listener = attentiveListener();
  toStop.push(() => input.stop());
  input.start(listener);
  return { input, listener };
}

const rtu = (port: string, more = {}): LineOptions => ({
  framing: 'rtu',
  at: { port, baud: 9600, parity: 'none', stopBits: 1 },
  ...QUICK,
  ...more,
});
const tcp = (port: number, more = {}): LineOptions => ({
  framing: 'tcp',
  at: { host: '127.0.0.1', port },
  repeatsNumber: true,
  ...QUICK,
  ...more,
});

const units = {
  1: { 3: [6483, 6600, 25], 4: [11, 12, 13] },
  7: { 3: [0xffff, 0x7fff], 4: [0x4422, 0x1000] },
};
const asked = [block(1, 3, 0, 2), block(1, 4, 2), block(7, 4, 0, 2), block(7, 3, 0, 2)];
const told = {
  'unit 1 holding 0': '1953 19c8',
  'unit 1 input 2': '000d',
  'unit 7 input 0': '4422 1000',
  'unit 7 holding 0': 'ffff 7fff',
};

async function allOf(listener: AttentiveListener, wanted: Readonly<Record<string, string>>): Promise<void> {
  for (const [channel, text] of Object.entries(wanted)) {
    await listener.message((m) => m.channel === channel && m.text === text);
  }
  for (const { channel, text } of listener.messages) expect(wanted[channel ?? '']).toBe(text);
}

describe.runIf(hasPeers)('a line on which a kiln is read already', () => {
  it('is shared with whoever comes, and read on when he leaves; its port is opened once', async () => {
    const pair = await plugIn();
    const slave = await serveWithPymodbus({ path: `${pair.port}-far-end` }, units);
    toStop.push(slave.stop);
    const shared = sharedLine(rtu(pair.port), systemClock(), () => 0);
    expect(shared.isIdle).toBe(true);
    const join = (name: string, blocks: readonly Block[]) => {
      const input = shared.input({ name, blocks });
      const listener = attentiveListener();
      toStop.push(() => input.stop());
      input.start(listener);
      return { input, listener };
    };
    const first = join('modbus-1', [block(1, 3, 0, 2)]);
    await allOf(first.listener, { 'unit 1 holding 0': '1953 19c8' });
    const guest = join('ear', [block(1, 4, 2), block(7, 3, 0, 2)]);
    await allOf(guest.listener, { 'unit 1 input 2': '000d', 'unit 7 holding 0': 'ffff 7fff' });
    expect(guest.listener.statuses[0]?.sentence).toBe(`Asking on ${pair.port} at 9600 baud.`);
    await guest.listener.told((s) => s.state === 'connected');
    await guest.input.stop();
    const [heardOfGuest, heardOfFirst] = [guest.listener.messages.length, first.listener.messages.length];
    await first.listener.message(() => true, heardOfFirst + 2);
    expect(guest.listener.messages).toHaveLength(heardOfGuest);
    expect(first.listener.statuses.map((s) => s.state)).toEqual(['connecting', 'connected']);
    for (const { channel, text } of first.listener.messages) {
      expect([channel, text]).toEqual(['unit 1 holding 0', '1953 19c8']);
    }
    await first.input.stop();
    expect(shared.isIdle).toBe(true);
  });

  it('goes on being read while the instrument that was added does not answer', async () => {
    const pair = await plugIn();
    const slave = await serveWithPymodbus({ path: `${pair.port}-far-end` }, units);
    toStop.push(slave.stop);
    const shared = sharedLine(rtu(pair.port, { timeoutS: 0.3 }), systemClock(), () => 0);
    const inputs = [block(1, 3, 0, 2), block(9, 3, 0)].map((one) => shared.input({ name: one.channel, blocks: [one] }));
    const listeners = inputs.map(() => attentiveListener());
    for (const input of inputs) toStop.push(() => input.stop());
    const [one, other] = listeners;
    if (one === undefined || other === undefined) throw new Error('two were made');
    inputs[0]?.start(one);
    await one.told((s) => s.state === 'connected');
    inputs[1]?.start(other);
    const { sentence } = await other.told((s) => s.state === 'lost');
    expect(sentence).toContain('9');
    await one.message(() => true, one.messages.length + 3);
    expect(one.statuses.map((s) => s.state)).toEqual(['connecting', 'connected']);
  });
});

describe.runIf(hasPeers)('two instruments on a line, served by pymodbus', () => {
  it('are read over a terminal, each register by its own function', async () => {
    const pair = await plugIn();
    const slave = await serveWithPymodbus({ path: `${pair.port}-far-end` }, units);
    toStop.push(slave.stop);
    const { listener } = read(rtu(pair.port), asked);
    await allOf(listener, told);
    const { sentence } = await listener.told((s) => s.state === 'connected');
    expect(sentence).toBe(`Reading units 1 and 7 on ${pair.port} at 9600 baud.`);
  });

  it('are read over the network', async () => {
    const port = await freePort();
    const slave = await serveWithPymodbus({ port }, units);
    toStop.push(slave.stop);
    const { listener } = read(tcp(port), asked);
    await allOf(listener, told);
  });

  it('are told apart where one of them is not there: the other is read on', async () => {
    const pair = await plugIn();
    const slave = await serveWithPymodbus({ path: `${pair.port}-far-end` }, units);
    toStop.push(slave.stop);
    const { listener } = read(rtu(pair.port, { timeoutS: 0.3 }), [block(1, 3, 0), block(9, 3, 0)]);
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toBe(
      `Unit 9 on ${pair.port} at 9600 baud does not answer. Check its power, the wires A and B, its unit number, speed and parity; it is asked again by itself.`,
    );
    const from = listener.messages.length;
    await listener.message((m) => m.text === '1953', from);
  });

  it('say in plain words that a register is not there', async () => {
    const port = await freePort();
    const slave = await serveWithPymodbus({ port }, units);
    toStop.push(slave.stop);
    const { listener } = read(tcp(port), [block(1, 3, 40)]);
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toContain('it has no such register: correct its number (or base, where the manual counts from 1)');
    expect(listener.messages[0]).toEqual({ channel: 'unit 1 holding 40', text: 'exception 2' });
  });
});

describe.runIf(needs('socat'))('a line whose plug is pulled', () => {
  it('is told of, opened again, and asked by one chain of questions only', async () => {
    const pair = await plugIn();
    const first = await serveWithPymodbus({ path: `${pair.port}-far-end` }, units);
    const { listener } = read(rtu(pair.port), [block(1, 3, 0)]);
    await listener.message((m) => m.text === '1953');
    await first.stop();
    await pair.unplug();
    const lost = await listener.told((s) => s.state === 'lost');
    expect(lost.sentence).toMatch(/was unplugged|does not answer/);
    const again = await plugIn();
    const second = await serveWithPymodbus({ path: `${again.port}-far-end` }, units);
    toStop.push(second.stop);
    const from = listener.messages.length;
    await listener.message((m) => m.text === '1953', from + 3);
    expect(listener.statuses.at(-1)?.state).toBe('connected');
  });
});

const sensors = FINISHED_SENSORS;

async function fired(behind: Behind): Promise<void> {
  toStop.push((await finishedFiring([behind])).stop);
}

/** Two questions that look alike, so that one's answer could be taken for the other's. */
const pairOf = (unit: number): Block[] => [block(unit, 3, 0), block(unit, 3, 20)];
const right: Readonly<Record<string, string>> = { 0: '1953', 20: 'ff85' };

function wrongOnes(listener: AttentiveListener): unknown[] {
  return listener.messages.filter(
    ({ channel, text }) => !text.startsWith('exception') && right[channel?.split(' ').at(-1) ?? ''] !== text,
  );
}

describe.runIf(needs('socat'))('a simulated instrument on a terminal', () => {
  async function readUnit(unit: number, blocks = pairOf(unit), more = {}): Promise<AttentiveListener> {
    const pair = await plugIn();
    await fired({ kind: 'modbus-rtu', path: `${pair.port}-far-end`, sensors });
    return read(rtu(pair.port, more), blocks).listener;
  }

  it.each([
    [1, 'is healthy'],
    [7, 'is busy every other time'],
    [10, 'has noise before its answers'],
    [11, 'sends its answers in two pieces'],
    [12, 'is heard through an adapter that hears itself'],
    [13, 'answers with what stood there before'],
  ])('of unit %i that %s is read', async (unit) => {
    const listener = await readUnit(unit);
    await listener.message((m) => m.text === right[0]);
    await listener.message((m) => m.text === right[20]);
    expect(wrongOnes(listener)).toEqual([]);
  });

  it('of unit 14 that loses each tenth question is read between them', async () => {
    const listener = await readUnit(14, pairOf(14), { timeoutS: 0.2 });
    await listener.message((m) => m.text === right[20], 6);
    expect(wrongOnes(listener)).toEqual([]);
  });

  it.each([
    [2, 'is silent', /does not answer/],
    [4, 'spoils the check', /no whole answer arrives/],
    [6, 'knows no register', /it has no such register/],
    [8, 'answers in another name', /another unit answers in its place/],
    [9, 'sends half an answer', /no whole answer arrives/],
  ])('of unit %i that %s gives no value and says why', async (unit, _, why) => {
    const listener = await readUnit(unit, pairOf(unit), { timeoutS: 0.2 });
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toMatch(why);
    expect(listener.messages.filter((m) => !m.text.startsWith('exception'))).toEqual([]);
  });

  it('of unit 5 that sends another length than was asked for gives no value', async () => {
    const listener = await readUnit(5, pairOf(5), { timeoutS: 0.2 });
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toMatch(/an answer of another length came|no whole answer arrives/);
    expect(listener.messages).toEqual([]);
  });

  it('of unit 3 that answers a second and a half late gives no value to the wrong register', async () => {
    const listener = await readUnit(3, pairOf(3), { timeoutS: 0.4 });
    await listener.told((s) => s.state === 'lost');
    expect(wrongOnes(listener)).toEqual([]);
  });
});

describe('a simulated instrument behind an address', () => {
  async function readUnit(unit: number, blocks = pairOf(unit), more = {}): Promise<AttentiveListener> {
    const port = await freePort();
    await fired({ kind: 'modbus-tcp', host: '127.0.0.1', port, sensors });
    return read(tcp(port, more), blocks).listener;
  }

  it.each([1, 7, 11, 13])('of unit %i is read', async (unit) => {
    const listener = await readUnit(unit);
    await listener.message((m) => m.text === right[0]);
    await listener.message((m) => m.text === right[20]);
    expect(wrongOnes(listener)).toEqual([]);
  });

  it('that is not there while the gateway is says so, and the connection stands', async () => {
    const port = await freePort();
    await fired({ kind: 'modbus-tcp', host: '127.0.0.1', port, sensors });
    const { listener } = read(tcp(port), [block(1, 3, 0), block(30, 3, 0)]);
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toContain('the gateway is there, the instrument is not');
    await listener.message((m) => m.text === right[0], listener.messages.length);
    expect(listener.statuses.some((s) => s.sentence.includes('closed'))).toBe(false);
  });

  it('of unit 4 whose answers carry another number is refused with the way out', async () => {
    const listener = await readUnit(4, pairOf(4), { timeoutS: 0.2 });
    const { sentence } = await listener.told((s) => s.state === 'lost');
    expect(sentence).toContain('if this goes on write repeatsNumber: false');
    expect(listener.messages).toEqual([]);
  });

  it('of unit 4 is read where that is written down', async () => {
    const listener = await readUnit(4, pairOf(4), { repeatsNumber: false });
    await listener.message((m) => m.text === right[20]);
    expect(wrongOnes(listener)).toEqual([]);
  });

  it('of unit 14 that hangs up each tenth time is called again', async () => {
    const listener = await readUnit(14);
    await listener.told((s) => s.state === 'lost' && s.sentence.includes('closed the connection'));
    await listener.message((m) => m.text === right[20], listener.messages.length);
    expect(wrongOnes(listener)).toEqual([]);
  });
});

describe('what is no Modbus', () => {
  it('is named, and called again later', async () => {
    const server = createServer((socket) => {
      socket.on('error', () => undefined);
      socket.once('data', () => socket.write('HTTP/1.1 400 Bad Request\r\n\r\n'));
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    toStop.push(() => new Promise((resolve) => server.close(resolve)));
    const address = server.address();
    const port = typeof address === 'object' && address !== null ? address.port : 0;
    const { listener } = read(tcp(port), [block(1, 3, 0)]);
    expect((await listener.told((s) => s.state === 'lost')).sentence).toBe(
      `What answers at 127.0.0.1:${port} is no Modbus. Check the port, or write kind: modbus-rtu where the box hands serial frames through.`,
    );
  });

  it('nothing at all, is told of too', async () => {
    const port = await freePort();
    const { listener } = read(tcp(port), [block(1, 3, 0)]);
    expect((await listener.told((s) => s.state === 'lost')).sentence).toBe(
      `127.0.0.1:${port} refuses the connection. Check the port, and whether the box is set to listen there; it is tried again by itself.`,
    );
  });
});

describe('kilns on one line', () => {
  it('share it: each hears its own registers, and what both read is asked for once', async () => {
    const port = await freePort();
    await fired({ kind: 'modbus-tcp', host: '127.0.0.1', port, sensors });
    const listeners = [attentiveListener(), attentiveListener()];
    const inputs = modbusLine(
      tcp(port),
      [
        { name: 'modbus-tcp-1', blocks: [block(1, 3, 0)] },
        { name: 'modbus-tcp-1', blocks: [block(1, 3, 0), block(13, 3, 20)] },
      ],
      systemClock(),
      () => 0,
    );
    for (const [i, input] of inputs.entries()) {
      toStop.push(() => input.stop());
      const listener = listeners[i];
      if (listener !== undefined) input.start(listener);
    }
    await listeners[1]?.message((m) => m.text === right[20]);
    await listeners[0]?.message((m) => m.text === right[0]);
    expect(listeners[0]?.messages.some((m) => m.channel?.startsWith('unit 13'))).toBe(false);
    await inputs[0]?.stop();
    const from = listeners[1]?.messages.length;
    await listeners[1]?.message((m) => m.text === right[0], from);
  });
});
