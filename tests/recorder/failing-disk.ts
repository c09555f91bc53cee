/** A disk that stands before another one and lets chosen operations fail, counted from the first. */
import type { Disk, DiskFile } from '../../daemon/recorder/disk.ts';

export type Failure = 'EIO' | 'ENOSPC';

export interface FailingDisk extends Disk {
  /** Operations asked for so far. */
  count(): number;
  /** How many of them failed. */
  failures(): number;
  /** From now on all goes well. */
  heal(): void;
}

/**
 * @param failsAt whether the operation with this number (from 1) fails. A write that fails for lack of room takes
 *   half of its bytes and says so only by its count, as a full disk does.
 */
export function failingDisk(disk: Disk, failure: Failure, failsAt: (operation: number) => boolean): FailingDisk {
  let operations = 0;
  let failed = 0;
  let isHealed = false;

  const isRefused = (): boolean => {
    operations += 1;
    if (isHealed || !failsAt(operations)) return false;
    failed += 1;
    return true;
  };
  const refuse = (): never => {
    throw Object.assign(new Error(`${failure}: refused on purpose`), { code: failure });
  };
  const guarded =
    <A extends unknown[], R>(work: (...args: A) => Promise<R>) =>
    async (...args: A): Promise<R> =>
      isRefused() ? refuse() : work(...args);

  const guardFile = (file: DiskFile): DiskFile => ({
    async write(bytes, position) {
      if (!isRefused()) return file.write(bytes, position);
      return failure === 'ENOSPC' ? file.write(bytes.subarray(0, bytes.length >> 1), position) : refuse();
    },
    async fdatasync() {
      if (!isRefused()) return file.fdatasync();
      // As after a failed sync on a real system: the bytes count as clean and will not be tried again.
      await (file as Partial<ForgetfulFile>).forgetUnsynced?.();
      return refuse();
    },
    truncate: guarded((length: number) => file.truncate(length)),
    async close() {
      const refused = isRefused();
      await file.close();
      if (refused) refuse();
    },
  });

  return {
    create: guarded(async (path: string) => guardFile(await disk.create(path))),
    open: guarded(async (path: string) => guardFile(await disk.open(path))),
    read: guarded(disk.read),
    readTail: guarded(disk.readTail),
    list: guarded(disk.list),
    mkdir: guarded(disk.mkdir),
    rename: guarded(disk.rename),
    remove: guarded(disk.remove),
    syncFolder: guarded(disk.syncFolder),
    count: () => operations,
    failures: () => failed,
    heal() {
      isHealed = true;
    },
  };
}

/** A file whose unsynced bytes can be declared clean without having reached the medium. */
export interface ForgetfulFile extends DiskFile {
  forgetUnsynced(): Promise<void>;
}
