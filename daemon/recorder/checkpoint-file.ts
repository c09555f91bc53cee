/** A file of checkpoints beside a record or the ledger. Each of its lines stands for itself, so it needs no chain. */
import { dirname } from 'node:path';
import { createFile, diskRefusal, replaceFile, writeWhole } from './chain-file.ts';
import { type Disk, type DiskFile, readIfThere } from './disk.ts';

export class CheckpointFile {
  readonly #disk: Disk;
  readonly #subject: string;
  readonly #path: string;
  /** null while the file on the disk cannot be trusted; the next line then goes into a fresh copy. */
  #file: DiskFile | null = null;
  /** Length of what counts; whatever stands behind it was refused once. */
  #bytes: number;

  /** @param bytes how much of the file that is there counts; 0 for a file to be made */
  constructor(disk: Disk, path: string, subject: string, bytes: number) {
    this.#disk = disk;
    this.#path = path;
    this.#subject = subject;
    this.#bytes = bytes;
  }

  /** Adds a line and resolves once it is on the disk. One call at a time. @throws RecordError where the disk refuses */
  async add(line: Buffer): Promise<void> {
    try {
      if (this.#file === null) await this.#renew(line);
      else await this.#write(this.#file, line);
    } catch (error) {
      await this.shut();
      throw diskRefusal(error, this.#subject);
    }
  }

  async shut(): Promise<void> {
    const file = this.#file;
    this.#file = null;
    // Everything that counts has been synced: a failing close takes nothing from it.
    await file?.close().catch(() => undefined);
  }

  async #write(file: DiskFile, line: Buffer): Promise<void> {
    await writeWhole(file, line, this.#bytes);
    await file.fdatasync();
    this.#bytes += line.length;
  }

  /** A copy of the lines that count, and the new one. */
  async #renew(line: Buffer): Promise<void> {
    const found = await readIfThere(this.#disk, this.#path);
    const bytes = Buffer.concat([found?.subarray(0, this.#bytes) ?? Buffer.alloc(0), line]);
    if (found !== null) {
      this.#file = await replaceFile(this.#disk, this.#path, bytes);
    } else {
      this.#file = await createFile(this.#disk, this.#path, bytes);
      await this.#disk.syncFolder(dirname(this.#path));
    }
    this.#bytes = bytes.length;
  }
}
