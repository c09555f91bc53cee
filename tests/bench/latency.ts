/**
 * From a reading's publication to its message on `/live`, its line synced to the disk on the way; beside it the same
 * broker's bare echo, publication to subscription, every other tick of the same run.
 */
import { fdatasyncSync, openSync, writeSync } from 'node:fs';
import { statfs } from 'node:fs/promises';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { connectAsync } from 'mqtt';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { freePort, mosquitto } from '../support/mosquitto.ts';
import { figure, quantile, table } from './figures.ts';
import { KILN_ID, spawnWatch, TOPIC, withFolder } from './spawned-watch.ts';

const READINGS = 2000;
const PER_S = 100;
/** Left out of the figures: the engines have to warm up. */
const WARM_UP = 300;
const ECHO_TOPIC = 'bench/echo';
/** A slow climb, so that each reading has a value of its own: 30 °C and a hundredth more each time. */
const FROM_C = 30;
const SYNCS = 300;
const LINE_BYTES = 400;
/** Linux, `man 2 statfs`. */
const TMPFS = 0x01021994;

interface Measured {
  readonly liveMs: readonly number[];
  readonly echoMs: readonly number[];
  readonly syncMs: readonly number[];
}

export async function benchLatency(): Promise<string> {
  const real = await mosquitto();
  const beside = await measure({ brokerUrl: real.url }).finally(() => real.stop());
  const port = await freePort();
  const within = await measure({ brokerUrl: `mqtt://127.0.0.1:${port}`, smallBroker: `127.0.0.1:${port}` });
  const rows = [...rowsOf('Mosquitto', beside), ...rowsOf('the small broker, in the watch', within)];
  const isMemory = await withFolder(async (dir) => (await statfs(dir)).type === TMPFS);
  return table(
    `latency: one kiln, one sensor, ${READINGS} readings at ${PER_S} a second, one page listening; milliseconds${isMemory ? ' (the folder lies in memory: syncing costs nothing here)' : ''}`,
    ['', 'reading to /live', "broker's echo", 'ratio', 'one line synced alone'],
    rows,
  );
}

function rowsOf(name: string, { liveMs, echoMs, syncMs }: Measured): string[][] {
  return (
    [
      ['median', 0.5],
      ['p99', 0.99],
    ] as const
  ).map(([word, share]) => {
    const live = quantile(liveMs, share);
    const echo = quantile(echoMs, share);
    return [`${name}, ${word}`, figure(live), figure(echo), figure(live / echo), figure(quantile(syncMs, share))];
  });
}

async function measure(config: { brokerUrl: string; smallBroker?: string }): Promise<Measured> {
  return withFolder(async (dir) => {
    const watch = await spawnWatch(config, dir);
    const publisher = await connectAsync(config.brokerUrl);
    const listener = await connectAsync(config.brokerUrl);
    const sentMs: number[] = [];
    const echoSentMs: number[] = [];
    const liveMs: number[] = [];
    const echoMs: number[] = [];
    const waiting = new Map<number, () => void>();
    const arrived = (index: number): void => waiting.get(index)?.();
    const hear = (message: LiveMessage): void => {
      if (message.type !== 'reading' || message.celsius === null || message.line === null) return;
      const index = Math.round((message.celsius - FROM_C) * 100);
      const sent = sentMs[index];
      if (sent !== undefined && liveMs[index] === undefined) liveMs[index] = performance.now() - sent;
      arrived(index);
    };
    const page = await watch.live(hear);
    await listener.subscribeAsync(ECHO_TOPIC);
    listener.on('message', (_topic, payload) => {
      const index = Number(payload.toString());
      echoMs[index] = performance.now() - (echoSentMs[index] ?? Number.NaN);
    });
    const send = (index: number): void => {
      sentMs[index] = performance.now();
      publisher.publish(TOPIC, (FROM_C + index / 100).toFixed(2));
    };
    const echo = (index: number): void => {
      echoSentMs[index] = performance.now();
      publisher.publish(ECHO_TOPIC, String(index));
    };
    try {
      await watch.post('/api/firings', { kiln: KILN_ID, schedule: null, by: 'bench' });
      // The watch may still be calling the broker: the first reading is said until it is heard.
      await repeatUntil(() => send(0), new Promise((resolve) => waiting.set(0, () => resolve(undefined))));
      await atPace(WARM_UP + READINGS, send, echo);
      await last(liveMs, WARM_UP + READINGS - 1, waiting);
      return {
        liveMs: complete(liveMs, 'readings'),
        echoMs: complete(echoMs, 'echoes'),
        syncMs: syncAlone(dir),
      };
    } finally {
      page.terminate();
      await publisher.endAsync(true);
      await listener.endAsync(true);
      await watch.stop();
    }
  });
}

async function repeatUntil(say: () => void, heard: Promise<unknown>): Promise<void> {
  say();
  const timer = setInterval(say, 100);
  await heard.finally(() => clearInterval(timer));
}

/** A reading at each tick and an echo half a tick later; a late one does not delay those after it. */
async function atPace(count: number, send: (index: number) => void, echo: (index: number) => void): Promise<void> {
  const everyMs = 1000 / PER_S;
  const fromMs = performance.now() + everyMs;
  for (let index = 1; index < count; index++) {
    await until(fromMs + index * everyMs);
    send(index);
    await until(fromMs + (index + 0.5) * everyMs);
    echo(index);
  }
  await until(performance.now() + 10 * everyMs);
}

function until(dueMs: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, Math.max(dueMs - performance.now(), 0)));
}

function last(seen: readonly number[], index: number, waiting: Map<number, () => void>): Promise<void> {
  return new Promise((resolve) => {
    waiting.set(index, resolve);
    if (seen[index] !== undefined) resolve();
  });
}

function complete(ms: readonly number[], what: string): number[] {
  const counted = Array.from({ length: READINGS }, (_, i) => ms[WARM_UP + i]).filter((one) => one !== undefined);
  if (counted.length !== READINGS) throw new Error(`${READINGS - counted.length} of ${READINGS} ${what} never came.`);
  return counted;
}

/** What the disk itself takes for a line: no more can be saved than what lies above it. */
function syncAlone(dir: string): number[] {
  const file = openSync(join(dir, 'sync'), 'w');
  const line = Buffer.alloc(LINE_BYTES, 'x');
  return Array.from({ length: SYNCS }, () => {
    const fromMs = performance.now();
    writeSync(file, line);
    fdatasyncSync(file);
    return performance.now() - fromMs;
  });
}
