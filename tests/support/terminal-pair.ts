/** A real pseudo-terminal made by socat: what is written to the far end comes out of the port. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { join } from 'node:path';
import { pathOf } from './debian.ts';

export interface TerminalPair {
  readonly port: string;
  write(bytes: string | Uint8Array): Promise<void>;
  /** As if the plug were pulled. */
  unplug(): Promise<void>;
}

/** @param name the port's name in `dir`; a later pair may take the same place */
export async function terminalPair(dir: string, name = 'kiln-port'): Promise<TerminalPair> {
  const port = join(dir, name);
  const farEnd = join(dir, `${name}-far-end`);
  const socat = spawn(pathOf('socat'), ['-d', '-d', `pty,rawer,link=${port}`, `pty,rawer,link=${farEnd}`], {
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  await until(socat, /starting data transfer loop/);
  const device: FileHandle = await open(farEnd, 'r+');
  return {
    port,
    async write(bytes) {
      await device.write(typeof bytes === 'string' ? Buffer.from(bytes) : bytes);
    },
    async unplug() {
      await device.close();
      if (socat.exitCode === null && socat.signalCode === null) {
        socat.kill('SIGTERM');
        await once(socat, 'exit');
      }
      if (existsSync(port)) throw new Error(`${port} is still there after socat ended`);
    },
  };
}

/** Waits until the program says on stderr that it is ready. */
export async function until(program: ChildProcess, ready: RegExp): Promise<void> {
  let said = '';
  await new Promise<void>((resolve, reject) => {
    program.stderr?.on('data', (bytes: Buffer) => {
      said += bytes.toString();
      if (ready.test(said)) resolve();
    });
    program.once('exit', (code) => reject(new Error(`${program.spawnfile} ended with ${code}: ${said}`)));
    program.once('error', reject);
  });
}
