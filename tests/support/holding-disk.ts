/** A data folder of which a power cut leaves only what was synced (see holding-disk.c, compiled here with gcc). */
import { execFile } from 'node:child_process';
import { lstat, mkdir, readdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { pathOf } from './debian.ts';

const source = fileURLToPath(new URL('./holding-disk.c', import.meta.url));

export interface HoldingDisk {
  readonly folder: string;
  /** For the program that shall die with its `killAt`th sync: before it where `how` is odd, else right after it. */
  env(killAt: number, how: number): Record<string, string>;
  /** Once the program is dead: what was not synced is gone from the folder. */
  dropTheRest(): Promise<void>;
}

/** @param dir a folder of the test's own, in which the data folder and the medium are made */
export async function holdingDisk(dir: string): Promise<HoldingDisk> {
  const shim = join(dir, 'holding-disk.so');
  await promisify(execFile)(pathOf('gcc'), ['-O2', '-shared', '-fPIC', '-o', shim, source, '-ldl', '-lpthread']);
  const folder = join(dir, 'data');
  const medium = join(dir, 'medium');
  await mkdir(folder);
  await keepAll(folder, medium);
  return {
    folder,
    env: (killAt, how) => ({
      LD_PRELOAD: shim,
      HOLD_FOLDER: folder,
      HOLD_MEDIUM: medium,
      HOLD_KILL_AT: String(killAt),
      HOLD_KILL_HOW: String(how),
      // Syncs made through io_uring would pass by the preloaded functions.
      UV_USE_IO_URING: '0',
    }),
    async dropTheRest() {
      const left = join(dir, 'left');
      await restore(medium, await keyOf(folder), left);
      await rm(folder, { recursive: true });
      await rename(left, folder);
      await rm(medium, { recursive: true });
      await keepAll(folder, medium);
    },
  };
}

/** Everything that is in the folder counts as synced. */
async function keepAll(folder: string, medium: string): Promise<void> {
  await mkdir(join(medium, 'files'), { recursive: true });
  await mkdir(join(medium, 'folders'), { recursive: true });
  const lines: string[] = [];
  for (const entry of await readdir(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    const key = await keyOf(path);
    lines.push(`${entry.isDirectory() ? 'folder' : 'file'} ${key} ${entry.name}\n`);
    if (entry.isDirectory()) await keepAll(path, medium);
    else await writeFile(join(medium, 'files', key), await readFile(path));
  }
  await writeFile(join(medium, 'folders', await keyOf(folder)), lines.join(''));
}

async function restore(medium: string, key: string, to: string): Promise<void> {
  await mkdir(to);
  for (const line of (await textOf(join(medium, 'folders', key))).split('\n').slice(0, -1)) {
    const [, kind, other, name] = /^(\w+) (\S+) (.*)$/.exec(line) ?? [];
    if (other === undefined || name === undefined) throw new Error(`the medium holds a strange line: ${line}`);
    if (kind === 'folder') await restore(medium, other, join(to, name));
    // A name whose bytes were never synced is an empty file.
    else await writeFile(join(to, name), await bytesOf(join(medium, 'files', other)), { mode: 0o600 });
  }
}

/** As the preloaded part writes it. */
async function keyOf(path: string): Promise<string> {
  const { ino, birthtimeNs } = await lstat(path, { bigint: true });
  return `${ino}-${birthtimeNs / 1_000_000_000n}-${birthtimeNs % 1_000_000_000n}`;
}

async function bytesOf(path: string): Promise<Buffer> {
  try {
    return await readFile(path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return Buffer.alloc(0);
    throw error;
  }
}

async function textOf(path: string): Promise<string> {
  return (await bytesOf(path)).toString('utf8');
}
