/** The built daemon as a process of its own, as a person starts it. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const main = fileURLToPath(new URL('../../dist/daemon/main.js', import.meta.url));
const source = fileURLToPath(new URL('../../daemon', import.meta.url));

export interface Ended {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

export interface BuiltWatch {
  readonly url: string;
  readonly child: ChildProcess;
  /** All that it has written to stderr so far. */
  log(): string;
  /** Resolves with the log's first line that fits, from line `from` on; rejects where the process ends without it. */
  logged(wanted: RegExp, from?: number): Promise<string>;
  /** How many lines it has logged. */
  logCount(): number;
  /** As Ctrl-C does. */
  stop(): Promise<Ended>;
  /** As a power cut does: nothing of the process runs any more. */
  kill(): Promise<void>;
}

/** @throws Error where there is no build, or the source is newer than it */
export function builtMain(): string {
  if (!existsSync(main)) throw new Error('dist/daemon/main.js is missing: run "npm run build" before these tests.');
  const builtAtMs = statSync(main).mtimeMs;
  const newer = readdirSync(source, { recursive: true, encoding: 'utf8' }).find(
    (name) => name.endsWith('.ts') && statSync(join(source, name)).mtimeMs > builtAtMs,
  );
  if (newer !== undefined)
    throw new Error(`dist is older than daemon/${newer}: run "npm run build" before these tests.`);
  return main;
}

/** Runs a command to its end. */
export async function runBuilt(args: readonly string[], env: Record<string, string> = {}): Promise<Ended> {
  const child = spawn(process.execPath, [builtMain(), ...args], { env: { ...process.env, ...env } });
  const heard = listenTo(child);
  await once(child, 'close');
  return { code: child.exitCode, stdout: heard.stdout(), stderr: heard.stderr() };
}

/** Starts a watch on a port of the machine's choice; resolves once it listens. */
export async function startBuiltWatch(args: readonly string[], env: Record<string, string> = {}): Promise<BuiltWatch> {
  const words = [builtMain(), 'watch', '--listen', '127.0.0.1:0', ...args];
  const child = spawn(process.execPath, words, { env: { ...process.env, ...env } });
  const heard = listenTo(child);
  const url = await heard.found(() => /^listening (http:\S+)$/m.exec(heard.stdout())?.[1]);
  return {
    url,
    child,
    log: heard.stderr,
    logged: (wanted, from = 0) =>
      heard.found(() =>
        wholeLines(heard.stderr())
          .slice(from)
          .find((line) => wanted.test(line)),
      ),
    logCount: () => wholeLines(heard.stderr()).length,
    async stop() {
      await end(child, 'SIGTERM');
      return { code: child.exitCode, stdout: heard.stdout(), stderr: heard.stderr() };
    },
    kill: () => end(child, 'SIGKILL'),
  };
}

async function end(child: ChildProcess, signal: NodeJS.Signals): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const closed = once(child, 'close');
  child.kill(signal);
  await closed;
}

function wholeLines(text: string): string[] {
  return text.split('\n').slice(0, -1);
}

function listenTo(child: ChildProcess) {
  const said = { stdout: '', stderr: '' };
  const looks = new Set<() => void>();
  const look = (): void => {
    for (const one of [...looks]) one();
  };
  for (const stream of ['stdout', 'stderr'] as const) {
    child[stream]?.setEncoding('utf8').on('data', (text: string) => {
      said[stream] += text;
      look();
    });
  }
  return {
    stdout: () => said.stdout,
    stderr: () => said.stderr,
    found<T>(find: () => T | undefined): Promise<T> {
      return new Promise((resolve, reject) => {
        const one = (): void => {
          const found = find();
          if (found === undefined) return;
          looks.delete(one);
          resolve(found);
        };
        looks.add(one);
        child.once('close', () => {
          one();
          reject(new Error(`The daemon ended with ${child.exitCode ?? child.signalCode}: ${said.stderr}`));
        });
        one();
      });
    },
  };
}
