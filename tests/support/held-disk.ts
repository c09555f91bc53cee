/** The machine's own disk, but a test can hold its syncs back, or let it refuse to take anything for a while. */
import { type Disk, type DiskFile, realDisk } from '../../daemon/recorder/disk.ts';

export interface HeldDisk extends Disk {
  /** From now on a sync does not return before `release`. Resolves when one is waiting. */
  hold(): Promise<void>;
  release(): void;
  /** From now on nothing can be written, as on a full disk. */
  refuse(): void;
  heal(): void;
}

export function heldDisk(): HeldDisk {
  let isFull = false;
  let held: { readonly until: Promise<void>; readonly open: () => void; readonly waiting: () => void } | null = null;
  const guard = (): void => {
    if (isFull) throw Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });
  };
  const wrap = (file: DiskFile): DiskFile => ({
    async write(bytes, position) {
      guard();
      return file.write(bytes, position);
    },
    async fdatasync() {
      guard();
      held?.waiting();
      await held?.until;
      await file.fdatasync();
    },
    truncate: (length) => file.truncate(length),
    close: () => file.close(),
  });
  return {
    ...realDisk,
    async create(path) {
      guard();
      return wrap(await realDisk.create(path));
    },
    open: async (path) => wrap(await realDisk.open(path)),
    async mkdir(folder) {
      guard();
      await realDisk.mkdir(folder);
    },
    hold() {
      return new Promise((resolve) => {
        let open = (): void => {};
        const until = new Promise<void>((done) => {
          open = done;
        });
        held = { until, open, waiting: resolve };
      });
    },
    release() {
      held?.open();
      held = null;
    },
    refuse: () => {
      isFull = true;
    },
    heal: () => {
      isFull = false;
    },
  };
}
