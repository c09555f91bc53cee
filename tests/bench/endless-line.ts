/** 3 MB without a line's end: whether anything else had to wait meanwhile, and whether the memory comes back. */

import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { monitorEventLoopDelay, performance } from 'node:perf_hooks';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import type { Input } from '../../daemon/inputs/input.ts';
import { networkLines, serialLines } from '../../daemon/inputs/text-lines.ts';
import { systemClock } from '../../daemon/runtime/clock.ts';
import { attentiveListener } from '../support/attentive-listener.ts';
import { terminalPair } from '../support/terminal-pair.ts';
import { figure, table } from './figures.ts';

const BYTES = 3_000_000;
const PIECE = Buffer.alloc(64 * 1024, 'x');
/** Requirements, part 0, M5. */
const GOALS = 'goals: never over 200 ms, within 5 MB';

interface Wire {
  readonly name: string;
  readonly input: Input;
  write(bytes: string | Uint8Array): Promise<void>;
  end(): Promise<void>;
}

export async function benchEndlessLine(): Promise<string> {
  setFlagsFromString('--expose_gc');
  const rows: string[][] = [];
  for (const open of [overTerminal, overNetwork]) rows.push(await measure(await open()));
  return table(
    `endless-line: ${BYTES} bytes without a line's end, as fast as they go; ${GOALS}`,
    [
      '',
      's in all',
      'longest wait of anything else, ms',
      'memory before, MB',
      'just after, MB',
      'tidied up, MB',
      'lines',
    ],
    rows,
  );
}

async function measure(wire: Wire): Promise<string[]> {
  const listener = attentiveListener();
  wire.input.start(listener);
  try {
    await listener.told((s) => s.state === 'connected');
    await wire.write('\nbefore\n');
    await listener.message((m) => m.text === 'before');
    const beforeMB = tidyMB();
    const delay = monitorEventLoopDelay({ resolution: 1 });
    delay.enable();
    const beganMs = performance.now();
    for (let sent = 0; sent < BYTES; sent += PIECE.length) await wire.write(PIECE);
    await wire.write('\nafter\n');
    await listener.message((m) => m.text === 'after');
    const tookS = (performance.now() - beganMs) / 1000;
    delay.disable();
    const justAfterMB = usedMB();
    return [wire.name, tookS, delay.max / 1e6, beforeMB, justAfterMB, tidyMB(), listener.messages.length].map((one) =>
      typeof one === 'number' ? figure(one) : one,
    );
  } finally {
    await wire.input.stop();
    await wire.end();
  }
}

async function overTerminal(): Promise<Wire> {
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-endless-'));
  const pair = await terminalPair(dir);
  return {
    name: 'a terminal',
    input: serialLines({ name: 'one', port: pair.port, baud: 115_200 }, systemClock()),
    write: pair.write,
    async end() {
      await pair.unplug();
      rmSync(dir, { recursive: true, force: true });
    },
  };
}

async function overNetwork(): Promise<Wire> {
  let send: ((bytes: string | Uint8Array) => Promise<void>) | undefined;
  const server = createServer((socket) => {
    socket.on('error', () => undefined);
    send = (bytes) => new Promise((resolve) => socket.write(bytes, () => resolve()));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  return {
    name: 'the network',
    input: networkLines({ name: 'one', host: '127.0.0.1', port }, systemClock()),
    write: async (bytes) => send?.(bytes),
    end: () => new Promise((resolve) => server.close(() => resolve())),
  };
}

function usedMB(): number {
  const { heapUsed, external } = process.memoryUsage();
  return (heapUsed + external) / 1e6;
}

function tidyMB(): number {
  runInNewContext('gc')();
  return usedMB();
}
