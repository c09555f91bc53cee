import { chmodSync, copyFileSync, mkdtempSync, readdirSync, readlinkSync, realpathSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Input, InputStatus } from '../../daemon/inputs/input.ts';
import { networkLines, serialLines } from '../../daemon/inputs/text-lines.ts';
import { attentiveListener } from '../support/attentive-listener.ts';
import { needs } from '../support/debian.ts';
import { hurriedClock } from '../support/hurried-clock.ts';
import { manualWaits } from '../support/manual-waits.ts';
import { type TerminalPair, terminalPair } from '../support/terminal-pair.ts';

const hasSocat = needs('socat');
let dir: string;
let pairs: TerminalPair[];
let inputs: Input[];

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-serial-'));
  pairs = [];
  inputs = [];
});
afterEach(async () => {
  for (const input of inputs) await input.stop();
  for (const pair of pairs) await pair.unplug();
  rmSync(dir, { recursive: true, force: true });
});

async function plugIn(): Promise<TerminalPair> {
  const pair = await terminalPair(dir);
  pairs = [pair];
  return pair;
}

function watch(port = join(dir, 'kiln-port')) {
  const clock = manualWaits();
  const listener = attentiveListener();
  const input = serialLines({ name: 'serial-1', port, baud: 9600 }, clock, () => 0);
  inputs.push(input);
  input.start(listener);
  return { clock, listener, input };
}

describe('a serial port that cannot be opened', () => {
  it('is said not to be there, and how to find the right one', async () => {
    const { listener } = watch();
    const lost = await listener.told((s) => s.state === 'lost');
    expect(lost.sentence).toBe(
      `${join(dir, 'kiln-port')} is not there. Plug the instrument in, or correct its port: "ls /dev/serial/by-id" lists what is plugged in.`,
    );
  });

  it('is said to be no serial port where it is a plain file', async () => {
    copyFileSync(import.meta.filename, join(dir, 'kiln-port'));
    const { listener } = watch();
    expect((await listener.told((s) => s.state === 'lost')).sentence).toContain('is no serial port');
  });

  it.runIf(hasSocat)('is said to be in use while another program listens to it', async () => {
    const { port } = await plugIn();
    const other = new SerialPort({ path: port, baudRate: 9600, autoOpen: false });
    await new Promise<void>((resolve, reject) => other.open((error) => (error ? reject(error) : resolve())));
    const { listener, clock } = watch();
    expect((await listener.told((s) => s.state === 'lost')).sentence).toBe(
      `${port} is in use by another program. Close that program; only one can listen to a port.`,
    );
    await new Promise<void>((resolve) => other.close(() => resolve()));
    await clock.passNextWait();
    await listener.told((s) => s.state === 'connected');
  });

  it('names the group that owns it where this user may not read it', async () => {
    const file = join(dir, 'kiln-port');
    copyFileSync(import.meta.filename, file);
    chmodSync(file, 0);
    chmodSync(dir, 0o755);
    await asAnyUser(async () => {
      const { listener } = watch();
      const { sentence } = await listener.told((s) => s.state === 'lost');
      expect(sentence).toMatch(/may not be read by this user: it belongs to the group \S+\. Run "sudo usermod -aG/);
    });
  });
});

/** Root may open everything, so for this look root's rights are laid down. */
async function asAnyUser(look: () => Promise<void>): Promise<void> {
  const nobody = 65534;
  const isRoot = process.geteuid?.() === 0;
  if (isRoot) process.seteuid?.(nobody);
  try {
    await look();
  } finally {
    if (isRoot) process.seteuid?.(0);
  }
}

describe.runIf(hasSocat)('a serial port', () => {
  it('hands on each line as the instrument wrote it', async () => {
    const pair = await plugIn();
    const { listener } = watch();
    await listener.told((s) => s.state === 'connected');
    await pair.write('8.1\r\n648.5, 22.1\r\nE1 open\r\n');
    await listener.message((m) => m.text === 'E1 open');
    expect(listener.messages).toEqual([{ text: '648.5, 22.1' }, { text: 'E1 open' }]);
  });

  it('is said to be unplugged, and is heard again once it is back', async () => {
    const pair = await plugIn();
    const { listener, clock } = watch();
    await listener.told((s) => s.state === 'connected');
    await pair.write('\n648.5\n');
    await listener.message((m) => m.text === '648.5');
    await pair.unplug();
    const lost = await lookUntilLost(clock, listener, 0);
    expect(lost.sentence).toBe(`${pair.port} was unplugged. Push its plug in again; it is tried again by itself.`);
    const back = await plugIn();
    await clock.passNextWait();
    await listener.told((s) => s.state === 'connected', 2);
    await back.write('650\n651.0\n');
    await listener.message((m) => m.text === '651.0');
    expect(listener.messages.map((m) => m.text)).toEqual(['648.5', '651.0']);
  });

  it('leaves nothing behind when the plug is pulled again and again', async () => {
    const { listener, clock } = watch();
    await clock.passNextWait();
    let handles = 0;
    for (let round = 1; round <= 40; round++) {
      const from = listener.statuses.length;
      const pair = await plugIn();
      await clock.passNextWait();
      await listener.told((s) => s.state === 'connected', from);
      await pair.write(`\nround ${round}\n`);
      await listener.message((m) => m.text === `round ${round}`);
      await pair.unplug();
      await lookUntilLost(clock, listener, from);
      if (round === 5) handles = openFiles();
    }
    expect(openFiles()).toBeLessThanOrEqual(handles);
    expect(listener.messages).toHaveLength(40);
  });

  it('lets the port go when it is stopped', async () => {
    const { port } = await plugIn();
    const { listener, input } = watch();
    await listener.told((s) => s.state === 'connected');
    await input.stop();
    const second = watch(port);
    await second.listener.told((s) => s.state === 'connected');
  });

  it('lets the port go when it is stopped in the moment in which it closes a silent wire', async () => {
    const { port } = await plugIn();
    const { listener, clock, input } = watch();
    await listener.told((s) => s.state === 'connected');
    clock.pass(700_000);
    clock.repeat();
    await input.stop();
    expect((await listener.told((s) => s.state === 'lost')).sentence).toContain('has fallen silent');
    expect(openTo(port)).toBe(0);
  });
});

describe('a box in the network', () => {
  it('that says nothing more, though its connection stands, is called anew', async () => {
    let calls = 0;
    const server = createServer((socket) => {
      socket.on('error', () => undefined);
      calls += 1;
      for (const line of ['half\r\n', `first of ${calls}\r\n`, `second of ${calls}\r\n`]) socket.write(line);
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const address = server.address();
    const port = typeof address === 'object' && address !== null ? address.port : 0;
    const listener = attentiveListener();
    const input = networkLines({ name: 'tcp-1', host: '127.0.0.1', port }, hurriedClock(200), () => 0);
    inputs.push(input);
    input.start(listener);
    try {
      expect((await listener.told((s) => s.state === 'lost')).sentence).toBe(
        `127.0.0.1:${port} has fallen silent. Check the instrument and its cable; it is opened anew by itself.`,
      );
      await listener.message((m) => m.text === 'second of 2');
    } finally {
      await input.stop();
      await new Promise((resolve) => server.close(resolve));
    }
  });
});

/**
 * Where the library itself misses the unplugging, the device's absence is looked for again and again, as each second does.
 */
async function lookUntilLost(
  clock: ReturnType<typeof manualWaits>,
  listener: ReturnType<typeof attentiveListener>,
  from: number,
): Promise<InputStatus> {
  const lost = listener.told((s) => s.state === 'lost', from);
  let isTold = false;
  void lost.then(() => {
    isTold = true;
  });
  while (!isTold) {
    clock.repeat();
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
  return lost;
}

function openFiles(): number {
  return readdirSync('/proc/self/fd').length;
}

/** How many of this process's open files are this port. */
function openTo(port: string): number {
  const device = realpathSync(port);
  return readdirSync('/proc/self/fd').filter((fd) => isOpenTo(`/proc/self/fd/${fd}`, device)).length;
}

/** The file that lists the others is gone when it is asked for. */
function isOpenTo(fd: string, device: string): boolean {
  try {
    return readlinkSync(fd) === device;
  } catch {
    return false;
  }
}
