/** The real daemon as a process of its own, with a configuration and a data folder for the occasion. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { WebSocket } from 'ws';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { spyholeJs } from './built.ts';

export const KILN_ID = 'bench-kiln';
export const SENSOR = 'shelf';
export const TOPIC = 'bench/kiln/shelf';

export interface WatchConfig {
  readonly brokerUrl: string;
  readonly smallBroker?: string;
  /** Simulated time, so many times faster. */
  readonly speed?: number;
}

/** One electric kiln with one sensor on one topic: an entry of `kilns:`. */
export function kilnEntry(config: WatchConfig): object {
  return {
    id: KILN_ID,
    name: 'Bench kiln',
    heat: 'electric',
    closure: 'lid',
    toleranceC: 6,
    sensors: [{ name: SENSOR, letter: 'K' }],
    input: {
      kind: 'mqtt',
      url: config.brokerUrl,
      topics: { [SENSOR]: TOPIC },
      ...(config.speed !== undefined && { simulated: true }),
    },
  };
}

export interface SpawnedWatch {
  readonly url: string;
  /** From the process's start to its line `listening`, and the start by this process's clock. */
  readonly listeningMs: number;
  readonly startedMs: number;
  /** Resident memory as the kernel counts it. */
  residentMB(): number;
  /** Seconds of processor time that it has used. */
  cpuS(): number;
  post(path: string, body: object): Promise<void>;
  get(path: string): Promise<unknown>;
  live(hear: (message: LiveMessage) => void): Promise<WebSocket>;
  stop(): Promise<void>;
}

export async function spawnWatch(config: WatchConfig, dataDir: string): Promise<SpawnedWatch> {
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-bench-config-'));
  const file = join(dir, 'spyhole.yaml');
  const { speed, smallBroker } = config;
  // JSON is YAML.
  writeFileSync(
    file,
    JSON.stringify({
      listen: '127.0.0.1:0',
      kilns: [kilnEntry(config)],
      ...(smallBroker !== undefined && { smallBroker }),
      ...(speed !== undefined && { clock: { speed } }),
    }),
  );
  const startedMs = performance.now();
  const daemon = spawn(process.execPath, [spyholeJs, 'watch', '--config', file, '--data', dataDir], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let complaints = '';
  daemon.stderr.on('data', (bytes: Buffer) => {
    complaints = (complaints + bytes.toString()).slice(-4000);
  });
  const url = await new Promise<string>((resolve, reject) => {
    let said = '';
    daemon.stdout.on('data', (bytes: Buffer) => {
      said += bytes.toString();
      const listening = /^listening (\S+)$/m.exec(said)?.[1];
      if (listening !== undefined) resolve(listening);
    });
    daemon.once('exit', (code) => reject(new Error(`The watch ended with ${code}: ${complaints}`)));
    daemon.once('error', reject);
  });
  const listeningMs = performance.now() - startedMs;
  return {
    url,
    listeningMs,
    startedMs,
    residentMB() {
      const status = readFileSync(`/proc/${daemon.pid}/status`, 'utf8');
      return Number(/^VmRSS:\s+(\d+) kB$/m.exec(status)?.[1] ?? Number.NaN) / 1024;
    },
    cpuS() {
      const stat = readFileSync(`/proc/${daemon.pid}/stat`, 'utf8');
      const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
      // Fields 14 and 15 of proc_pid_stat(5), in ticks of which Linux shows 100 a second.
      return (Number(fields[11]) + Number(fields[12])) / 100;
    },
    async post(path, body) {
      const answer = await fetch(`${url}${path}`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', origin: url },
        body: JSON.stringify(body),
      });
      if (!answer.ok) throw new Error(`${path} answered ${answer.status}: ${await answer.text()}`);
    },
    async get(path) {
      return (await fetch(`${url}${path}`)).json();
    },
    async live(hear) {
      const socket = new WebSocket(`${url.replace('http', 'ws')}/live`, { headers: { origin: url } });
      socket.on('message', (bytes: Buffer) => hear(JSON.parse(bytes.toString()) as LiveMessage));
      await once(socket, 'open');
      return socket;
    },
    async stop() {
      if (daemon.exitCode === null && daemon.signalCode === null) {
        daemon.kill('SIGTERM');
        await once(daemon, 'exit');
      }
      rmSync(dir, { recursive: true, force: true });
    },
  };
}

/** A folder for the time of `use`. */
export async function withFolder<T>(use: (dir: string) => Promise<T>): Promise<T> {
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-bench-'));
  try {
    return await use(dir);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}
