/** What the recorder asks of a disk. It is passed in, so that tests can make each single step fail. */
import { mkdir, open, readdir, readFile, rename, rm } from 'node:fs/promises';

/** Every method rejects with the system's own error (`code` ENOSPC, EIO …). */
export interface DiskFile {
  /** Writes at a position in bytes; resolves with how many bytes were taken, which may be fewer than given. */
  write(bytes: Uint8Array, position: number): Promise<number>;
  /** Resolves once the bytes and the file's length are on the medium. */
  fdatasync(): Promise<void>;
  truncate(length: number): Promise<void>;
  close(): Promise<void>;
}

export interface Disk {
  /** A new file that only its owner may read or change (mode 0600); EEXIST where there is one. */
  create(path: string): Promise<DiskFile>;
  /** An existing file, to be changed in place. */
  open(path: string): Promise<DiskFile>;
  read(path: string): Promise<Buffer>;
  /** The last bytes of a file, at most `length`. */
  readTail(path: string, length: number): Promise<Buffer>;
  /** Names of what stands in a folder; none where there is no folder. */
  list(folder: string): Promise<readonly string[]>;
  /** Makes a folder and those above it; no fault if it is there. */
  mkdir(folder: string): Promise<void>;
  rename(from: string, to: string): Promise<void>;
  /** Removes a file, or a folder with what is in it; no fault if there is none. */
  remove(path: string): Promise<void>;
  /** Resolves once the folder's entries (new names, renames) are on the medium. */
  syncFolder(folder: string): Promise<void>;
}

/** The machine's own disk. */
export const realDisk: Disk = {
  create: (path) => openFile(path, 'wx'),
  open: (path) => openFile(path, 'r+'),
  read: (path) => readFile(path),
  readTail,
  async list(folder) {
    try {
      return await readdir(folder);
    } catch (error) {
      if (errorCode(error) === 'ENOENT') return [];
      throw error;
    }
  },
  async mkdir(folder) {
    await mkdir(folder, { recursive: true });
  },
  rename,
  remove: (path) => rm(path, { recursive: true, force: true }),
  async syncFolder(folder) {
    const handle = await open(folder, 'r');
    try {
      await handle.sync();
    } finally {
      await handle.close();
    }
  },
};

/** The system's short name of an error ("ENOSPC"), or nothing. */
export function errorCode(error: unknown): string | undefined {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  return typeof code === 'string' ? code : undefined;
}

async function openFile(path: string, flags: 'wx' | 'r+'): Promise<DiskFile> {
  const handle = await open(path, flags, 0o600);
  return {
    write: async (bytes, position) => (await handle.write(bytes, 0, bytes.length, position)).bytesWritten,
    fdatasync: () => handle.datasync(),
    truncate: (length) => handle.truncate(length),
    close: () => handle.close(),
  };
}

async function readTail(path: string, length: number): Promise<Buffer> {
  const handle = await open(path, 'r');
  try {
    const { size } = await handle.stat();
    const tail = Buffer.alloc(Math.min(size, length));
    const { bytesRead } = await handle.read(tail, 0, tail.length, size - tail.length);
    return tail.subarray(0, bytesRead);
  } finally {
    await handle.close();
  }
}

/** What a file holds; null where there is none. @throws whatever else the disk says */
export async function readIfThere(disk: Disk, path: string): Promise<Buffer | null> {
  try {
    return await disk.read(path);
  } catch (error) {
    if (errorCode(error) === 'ENOENT') return null;
    throw error;
  }
}
