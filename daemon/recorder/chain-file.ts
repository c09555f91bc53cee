/** One chained file that only grows: a record or the ledger. What `append` has acknowledged is on the disk. */
import { createHash, type Hash } from 'node:crypto';
import { dirname } from 'node:path';
import { RecordError } from '../errors.ts';
import type { Stand } from './checkpoint.ts';
import { type Disk, type DiskFile, errorCode } from './disk.ts';
import { linkLines, sha256, type Walk, walkChain } from './hash-chain.ts';
import type { Entry } from './recorder.ts';

/** Where the acknowledged part of the file ends. */
interface Standing {
  readonly lines: number;
  readonly head: string;
  readonly bytes: number;
}

export class ChainFile {
  readonly #disk: Disk;
  readonly #subject: string;
  #path: string;
  #standing: Standing;
  /** SHA-256 of the acknowledged part, carried on with each line. */
  readonly #running: Hash;
  /** null while the file on the disk cannot be trusted; the next append then begins with a fresh copy. */
  #file: DiskFile | null;
  /** When a torn last line was found, until its bytes have been set aside. */
  #tornFoundAtMs: number | null = null;
  #isShut = false;
  #queue: Promise<unknown> = Promise.resolve();

  private constructor(disk: Disk, path: string, subject: string, found: Buffer, walk: Walk, file: DiskFile | null) {
    this.#disk = disk;
    this.#path = path;
    this.#subject = subject;
    this.#standing = { lines: walk.lines, head: walk.head, bytes: walk.wholeBytes };
    this.#running = createHash('sha256').update(found.subarray(0, walk.wholeBytes));
    this.#file = file;
  }

  /** Makes an empty file. Its name is on the disk only after the caller has synced the folder. */
  static async create(disk: Disk, path: string, subject: string): Promise<ChainFile> {
    const nothing = Buffer.alloc(0);
    return new ChainFile(disk, path, subject, nothing, walkChain(nothing), await disk.create(path));
  }

  /**
   * Goes on with a file whose chain is whole as far as `walk` says. Nothing is touched before `renew` or the first
   * append, which copy it: the system may still believe bytes safe that a failed sync of an earlier run has lost.
   */
  static continueFrom(disk: Disk, path: string, subject: string, found: Buffer, walk: Walk, nowMs: number): ChainFile {
    const chain = new ChainFile(disk, path, subject, found, walk, null);
    if (walk.tornBytes > 0) chain.#tornFoundAtMs = nowMs;
    return chain;
  }

  get lines(): number {
    return this.#standing.lines;
  }

  get head(): string {
    return this.#standing.head;
  }

  /** All that is acknowledged, as a checkpoint states it. */
  get stand(): Stand {
    const { lines, head } = this.#standing;
    return { lines, head, prefix: this.#running.copy().digest('hex') };
  }

  /** The folder that holds the file has got another name. */
  movedTo(path: string): void {
    this.#path = path;
  }

  /**
   * Adds the entries in one write and one sync, after those of earlier calls. Resolves with the first one's number.
   *
   * @throws RecordError `disk-full`, `disk-refuses`, `record-damaged`, `record-shut` or `not-recordable`; nothing of
   *   the group then counts as written, and a later call goes on with the chain once the disk takes lines again
   */
  append(entries: readonly Entry[]): Promise<number> {
    return this.#inTurn(() => this.#append(entries));
  }

  /** Puts the file on sound ground if it is not: a torn last line set aside, the rest copied. @throws as `append` */
  renew(): Promise<void> {
    return this.#inTurn(async () => {
      await this.#soundFile();
    });
  }

  /** Closes the file once what was asked for before is done. Later appends throw `record-shut`. */
  shut(): Promise<void> {
    return this.#inTurn(async () => {
      this.#isShut = true;
      await this.#letGo();
    });
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const turn = this.#queue.then(work);
    // Whoever asked gets the failure from `turn`; the next in the queue starts all the same.
    this.#queue = turn.catch(() => undefined);
    return turn;
  }

  async #append(entries: readonly Entry[]): Promise<number> {
    if (this.#isShut) throw new RecordError('record-shut', `${this.#subject} is closed: nothing can be added to it.`);
    // Refuse what cannot be written before the disk is touched.
    linkLines(entries, this.#standing);
    const file = await this.#soundFile();
    const link = linkLines(entries, this.#standing);
    const first = this.#standing.lines + 1;
    await this.#write(file, link.bytes);
    this.#standing = { lines: link.lines, head: link.head, bytes: this.#standing.bytes + link.bytes.length };
    this.#running.update(link.bytes);
    return first;
  }

  async #write(file: DiskFile, bytes: Buffer): Promise<void> {
    try {
      await writeWhole(file, bytes, this.#standing.bytes);
    } catch (error) {
      await this.#cutBack(file);
      throw this.#refusal(error);
    }
    try {
      await file.fdatasync();
    } catch (error) {
      // Final for this file (R10): the system may now call pages clean that never reached the disk.
      await this.#letGo();
      throw this.#refusal(error);
    }
  }

  /** Takes the part of a line that a full disk still took away again. */
  async #cutBack(file: DiskFile): Promise<void> {
    try {
      await file.truncate(this.#standing.bytes);
    } catch {
      // What stands behind the last whole line is unknown now: a copy has to be made.
      await this.#letGo();
    }
  }

  async #letGo(): Promise<void> {
    const file = this.#file;
    this.#file = null;
    try {
      await file?.close();
    } catch {
      // All that was acknowledged has been synced; a failing close can take nothing from it.
    }
  }

  /** The open file; where it cannot be trusted, a fresh copy of the acknowledged lines in its place. */
  async #soundFile(): Promise<DiskFile> {
    if (this.#file) return this.#file;
    try {
      this.#file = await this.#copy();
      return this.#file;
    } catch (error) {
      throw this.#refusal(error);
    }
  }

  async #copy(): Promise<DiskFile> {
    const found = await this.#disk.read(this.#path);
    const whole = found.subarray(0, this.#standing.bytes);
    const walk = walkChain(whole);
    if (walk.head !== this.#standing.head || walk.tornBytes > 0) {
      throw new RecordError(
        'record-damaged',
        `${this.#subject} no longer holds what was written to it; it is left as it is, and nothing is added to it.`,
      );
    }
    if (this.#tornFoundAtMs === null) return replaceFile(this.#disk, this.#path, whole);

    const torn = found.subarray(this.#standing.bytes);
    await keepAside(this.#disk, this.#path, torn);
    const note = { type: 'recovered', t: this.#tornFoundAtMs, bytes: torn.length, sha256: sha256(torn) };
    const link = linkLines([note], this.#standing);
    const mended = Buffer.concat([whole, link.bytes]);
    const file = await replaceFile(this.#disk, this.#path, mended);
    this.#standing = { lines: link.lines, head: link.head, bytes: mended.length };
    this.#running.update(link.bytes);
    this.#tornFoundAtMs = null;
    return file;
  }

  #refusal(error: unknown): RecordError {
    return diskRefusal(error, this.#subject);
  }
}

/** The fault of a disk as one sentence about what could not be written; a RecordError is passed on as it is. */
export function diskRefusal(error: unknown, subject: string): RecordError {
  if (error instanceof RecordError) return error;
  const code = errorCode(error);
  if (code === 'ENOSPC' || code === 'EDQUOT') {
    return new RecordError('disk-full', `${subject} cannot be written: the disk is full; free some space on it.`, {
      cause: error,
    });
  }
  const sign = code ? ` (${code})` : '';
  const sentence = `${subject} cannot be written: the disk refuses${sign}; it must be whole, connected and not read-only.`;
  return new RecordError('disk-refuses', sentence, { cause: error });
}

/** Writes all bytes in one call. A full disk may take a part without a word, which is told from the count (M6). */
export async function writeWhole(file: DiskFile, bytes: Buffer, position: number): Promise<void> {
  const written = await file.write(bytes, position);
  if (written < bytes.length) {
    throw Object.assign(new Error(`the disk took ${written} of ${bytes.length} bytes`), { code: 'ENOSPC' });
  }
}

/** Makes a new file with the given bytes, synced. The folder's entry is not. */
export async function createFile(disk: Disk, path: string, bytes: Buffer): Promise<DiskFile> {
  const file = await disk.create(path);
  try {
    await writeWhole(file, bytes, 0);
    await file.fdatasync();
    return file;
  } catch (error) {
    // The writing error is the one to tell; a half-made file is removed by whoever asked for it.
    await file.close().catch(() => undefined);
    throw error;
  }
}

/** Puts a file with these bytes in the place of an older one, or leaves the older one untouched. */
export async function replaceFile(disk: Disk, path: string, bytes: Buffer): Promise<DiskFile> {
  const copyPath = `${path}.copy`;
  await disk.remove(copyPath);
  let file: DiskFile | null = null;
  try {
    file = await createFile(disk, copyPath, bytes);
    await disk.rename(copyPath, path);
    await disk.syncFolder(dirname(path));
    return file;
  } catch (error) {
    // Give the space back; if even that fails, the next copy begins with removing this one.
    await file?.close().catch(() => undefined);
    await disk.remove(copyPath).catch(() => undefined);
    throw error;
  }
}

/** Keeps the bytes of a torn line in a file of their own: `record.torn-1` beside `record.jsonl`. */
async function keepAside(disk: Disk, path: string, torn: Buffer): Promise<void> {
  const folder = dirname(path);
  const stem = path.slice(folder.length + 1).replace(/\.jsonl$/, '');
  const names = new Set(await disk.list(folder));
  let number = 1;
  while (names.has(`${stem}.torn-${number}`)) number += 1;
  const file = await createFile(disk, `${folder}/${stem}.torn-${number}`, torn);
  await file.close();
  await disk.syncFolder(folder);
}
