/**
 * Keeps two daemons from writing the same records: a file in the data folder says which process writes. Processes
 * that cannot see each other (other machines, other containers on one shared folder) are not kept apart.
 */
import { readFileSync } from 'node:fs';
import { readdir, readlink, realpath } from 'node:fs/promises';
import { RecordError } from '../errors.ts';
import { createFile } from './chain-file.ts';
import { type Disk, errorCode } from './disk.ts';

/** A process, told apart from a later one with the same number by its start and by the machine's. */
interface Holder {
  readonly pid: number;
  /** Start of the process in ticks since the machine's start, and the machine's start; empty where unknown. */
  readonly startTicks: string;
  readonly bootId: string;
  /** Which of the process's stores. */
  readonly store: string;
}

/**
 * Takes the folder for this process. A lock whose process is gone is taken over.
 *
 * @param store a name that no other store has; its own lock, left by a try that failed, does not hinder it
 * @returns gives the folder free again
 * @throws RecordError `data-in-use` where another process, or another store of this one, writes there
 */
export async function lockData(disk: Disk, dataDir: string, store: string): Promise<() => Promise<void>> {
  const path = `${dataDir}/lock`;
  const own = describeHolder(process.pid, store);
  const unlock = (): Promise<void> => disk.remove(path);
  // Twice: the second time for the lock of a dead process that the first one has cleared away.
  for (let attempt = 1; ; attempt += 1) {
    try {
      const file = await createFile(disk, path, Buffer.from(own));
      await file.close();
      return unlock;
    } catch (error) {
      if (errorCode(error) !== 'EEXIST') {
        await disk.remove(path).catch(() => undefined);
        throw error;
      }
    }
    const found = (await disk.read(path)).toString('utf8');
    if (found === own) return unlock;
    const holder = parseHolder(found);
    if (attempt > 2 || (holder && isAlive(holder))) {
      throw new RecordError(
        'data-in-use',
        `Another watch (process ${holder?.pid ?? 'unknown'}) writes the records in ${dataDir}; stop it first, or give this one a folder of its own with --data.`,
      );
    }
    await clearAway(disk, path, found);
  }
}

/**
 * Whether the process that has the folder holds this very record open, so that it is still being written. Where the
 * system does not tell (no /proc, a process of somebody else), false.
 */
export async function isBeingWritten(dataDir: string, recordPath: string): Promise<boolean> {
  const holder = parseHolder(readText(`${dataDir}/lock`) ?? '');
  if (holder === null || !isAlive(holder)) return false;
  try {
    const wanted = await realpath(recordPath);
    for (const descriptor of await readdir(`/proc/${holder.pid}/fd`)) {
      // A file that is closed meanwhile is not this one.
      const open = await readlink(`/proc/${holder.pid}/fd/${descriptor}`).catch(() => '');
      if (open === wanted) return true;
    }
    return false;
  } catch {
    return false;
  }
}

/** The text that a lock file holds for a process. */
export function describeHolder(pid: number, store: string): string {
  const holder: Holder = {
    pid,
    startTicks: processStat(pid)?.startTicks ?? '',
    bootId: readText(bootIdFile)?.trim() ?? '',
    store,
  };
  return `${JSON.stringify(holder)}\n`;
}

/** Removes a dead process's lock. If another daemon was quicker and the file is already its own, puts it back. */
async function clearAway(disk: Disk, path: string, expected: string): Promise<void> {
  const aside = `${path}.${process.pid}`;
  await disk.rename(path, aside);
  if ((await disk.read(aside)).toString('utf8') === expected) await disk.remove(aside);
  else await disk.rename(aside, path);
}

const bootIdFile = '/proc/sys/kernel/random/boot_id';

/** null for a file that was not written to its end, by a process that then died. */
function parseHolder(text: string): Holder | null {
  try {
    const { pid, startTicks = '', bootId = '', store = '' } = JSON.parse(text) as Partial<Holder>;
    return typeof pid === 'number' ? { pid, startTicks, bootId, store } : null;
  } catch {
    // Only a daemon that died while it locked leaves such a text.
    return null;
  }
}

function isAlive(holder: Holder): boolean {
  const bootId = readText(bootIdFile)?.trim();
  if (bootId && holder.bootId && bootId !== holder.bootId) return false;
  const stat = processStat(holder.pid);
  if (stat && holder.startTicks) return stat.startTicks === holder.startTicks && stat.state !== 'Z';
  try {
    process.kill(holder.pid, 0);
    return true;
  } catch (error) {
    // EPERM: there is such a process, of another user.
    return errorCode(error) === 'EPERM';
  }
}

/** From /proc/PID/stat (proc_pid_stat(5)): field 3 is the state, field 22 the start; null where there is none. */
function processStat(pid: number): { state: string; startTicks: string } | null {
  const text = readText(`/proc/${pid}/stat`);
  if (!text) return null;
  // Field 2 is the name in brackets and may itself hold spaces and brackets.
  const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
  return { state: fields[0] ?? '', startTicks: fields[19] ?? '' };
}

function readText(path: string): string | null {
  try {
    return readFileSync(path, 'utf8');
  } catch {
    // No such process, or a system without /proc: the caller goes by what is left.
    return null;
  }
}
