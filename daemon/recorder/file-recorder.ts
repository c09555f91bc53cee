/**
 * The records of all firings as files under one data folder; there is no other truth. A firing's folder holds
 * `record.jsonl`, and copies of its kiln and schedule for the eye; `ledger.jsonl` names every firing.
 */
import { randomBytes, randomUUID } from 'node:crypto';
import { dirname } from 'node:path';
import { RecordError } from '../errors.ts';
import { ChainFile, createFile, diskRefusal } from './chain-file.ts';
import {
  type Checkpoint,
  type CheckpointsFound,
  LEDGER_ORIGIN,
  NO_CHECKPOINTS,
  readCheckpoints,
} from './checkpoint.ts';
import { CheckpointFile } from './checkpoint-file.ts';
import { lockData } from './data-lock.ts';
import { fromRecordable, toRecordable } from './decimals.ts';
import { type Disk, errorCode, realDisk } from './disk.ts';
import { isFiringId, requireFiringId } from './firing-id.ts';
import { FiringRecorder, RecordSeals, recordOf, type Sealed } from './firing-recorder.ts';
import { judgeRecord, sha256, type Walk, walkChain } from './hash-chain.ts';
import { judgeSeals } from './judge-seals.ts';
import { Ledger, type LedgerEntry } from './ledger.ts';
import { isBehind, OutsideMark } from './outside-mark.ts';
import type { Entry, Line, NewFiring, Recordable, Recorder, RecordStore, Unfinished } from './recorder.ts';
import { Sealer, type SealHearer } from './sealer.ts';
import { keepStamp } from './stamp-files.ts';
import { readStamp, stampQuestion } from './stamp-token.ts';

/** A firing, or the ledger, whose files are not what the recorder wrote. They are left as they are. */
export interface BrokenRecord {
  /** The firing's id, or `ledger`. */
  readonly id: string;
  readonly sentence: string;
}

export interface FileRecordStore extends RecordStore {
  /** What `unfinished` found broken at the start. */
  broken(): readonly BrokenRecord[];
  /** Firings that are over and whose last seal no time authority has stamped yet, oldest first. @throws RecordError */
  unstamped(): Promise<readonly string[]>;
  /**
   * Asks a time authority to stamp a firing's last seal, and keeps its answer beside the record.
   *
   * @param ask carries a question to the authority; its error is passed on
   * @returns false where the firing has no seal
   * @throws RecordError for an answer that is no stamp of this seal (`no-stamp`), an altered record, a refusing disk
   */
  stamp(id: string, ask: (question: Uint8Array) => Promise<Buffer>): Promise<boolean>;
  /**
   * Notes in the ledger that the records were put back from an older copy on purpose: then the store is no longer told
   * of as rolled back. A firing whose end the copy lacks stays as it is, and does not go on.
   *
   * @returns the number of the ledger's line
   * @throws RecordError where another process writes the records, or the disk refuses
   */
  putBack(by: string, why: string): Promise<number>;
  /** Leaves the firings that are still open, and gives the data folder free for another process. */
  release(): Promise<void>;
}

export interface StoreParts {
  readonly disk?: Disk;
  /** UTC ms, for the lines that the recorder writes of its own accord. */
  readonly nowMs?: () => number;
  /** A folder elsewhere, where the last seals are kept too. */
  readonly sealsFolder?: string | undefined;
  readonly sealed?: SealHearer;
}

/**
 * The store in a data folder, which is made at the first writing. Reading needs no lock; the first call that writes
 * takes the folder for this process and throws RecordError `data-in-use` where another one has it.
 */
export function fileRecordStore(dataDir: string, parts: StoreParts = {}): FileRecordStore {
  const disk = parts.disk ?? realDisk;
  const mark = parts.sealsFolder === undefined ? null : new OutsideMark(disk, parts.sealsFolder, dataDir);
  return new FolderStore(dataDir, disk, parts.nowMs ?? Date.now, mark, parts.sealed);
}

/** Where the records of firings stand. */
export function firingsFolder(dataDir: string): string {
  return `${dataDir}/firings`;
}

/** Enough for the closing line; a longer last line is found by reading the whole file. */
const tailBytes = 65_536;

/** Folders of firings that are being made. A dot is no part of an id. */
const unbegun = '.new-';

interface OpenData {
  readonly ledger: Ledger;
  readonly unlock: () => Promise<void>;
}

class FolderStore implements FileRecordStore {
  readonly #dataDir: string;
  readonly #disk: Disk;
  readonly #nowMs: () => number;
  readonly #sealer: Sealer;
  readonly #mark: OutsideMark | null;
  #kept: ReadonlyMap<string, Checkpoint> = new Map();
  /** Tells this store's lock from that of another store in this process. */
  readonly #name = randomUUID();
  #opening: Promise<OpenData> | null = null;
  #broken: readonly BrokenRecord[] = [];
  #leftovers: readonly string[] = [];
  #recorders: readonly Recorder[] = [];
  #beginning: Promise<unknown> = Promise.resolve();

  constructor(dataDir: string, disk: Disk, nowMs: () => number, mark: OutsideMark | null, sealed?: SealHearer) {
    this.#mark = mark;
    this.#dataDir = dataDir;
    this.#disk = disk;
    this.#nowMs = nowMs;
    this.#sealer = new Sealer(disk, dataDir, nowMs, mark, sealed);
  }

  /** One firing begins after the other, so that clearing up after one cannot meet the making of another. */
  begin(firing: NewFiring): Promise<Recorder> {
    const turn = this.#beginning.then(() => this.#begin(firing));
    // Whoever asked gets the failure from `turn`; the next in the queue starts all the same.
    this.#beginning = turn.catch(() => undefined);
    return turn;
  }

  async #begin(firing: NewFiring): Promise<Recorder> {
    const { ledger } = await this.#open();
    const subject = recordOf(requireFiringId(firing.id));
    const folder = this.#folder(firing.id);
    const firings = firingsFolder(this.#dataDir);
    const kiln = toRecordable(firing.kiln);
    const schedule = toRecordable(firing.schedule);
    const last = ledger.lastClosed;
    const follows = last && { firing: last.firing, head: last.head };
    const opening: Entry = { ...firing.open, firing: firing.id, kiln, schedule, follows };

    try {
      await this.#removeLeftovers();
      if ((await this.#names()).includes(firing.id)) {
        throw new RecordError(
          'firing-exists',
          `There is a firing ${firing.id} already; a new one needs an id of its own.`,
        );
      }
      const made = `${firings}/${unbegun}${firing.id}`;
      const chain = await this.#fillFolder(made, subject, opening, { kiln, schedule });
      try {
        await this.#disk.rename(made, folder);
        chain.movedTo(`${folder}/record.jsonl`);
        await this.#disk.syncFolder(firings);
      } catch (error) {
        await chain.shut();
        this.#leftovers = [...this.#leftovers, made, folder];
        throw error;
      }
      // The firing stands on the disk by now: where the ledger is refused, its line goes with the ledger's next one.
      await ledger.note({ type: 'opened', t: opening.t, firing: firing.id, head: chain.head }).catch(() => undefined);
      return this.#recorder(firing.id, chain, ledger, { sealedLines: 0, sealedAtMs: opening.t, seals: 0 }, 0);
    } catch (error) {
      // Give the space back at once if the disk lets us; the next firing tries again.
      await this.#removeLeftovers().catch(() => undefined);
      throw diskRefusal(error, subject);
    }
  }

  async #fillFolder(
    folder: string,
    subject: string,
    opening: Entry,
    copies: { readonly kiln: Recordable; readonly schedule: Recordable },
  ): Promise<ChainFile> {
    let chain: ChainFile | null = null;
    try {
      await this.#disk.mkdir(folder);
      await this.#writeCopy(`${folder}/kiln.json`, copies.kiln);
      if (copies.schedule !== null) await this.#writeCopy(`${folder}/schedule.json`, copies.schedule);
      chain = await ChainFile.create(this.#disk, `${folder}/record.jsonl`, subject);
      await chain.append([opening]);
      await this.#disk.syncFolder(folder);
      return chain;
    } catch (error) {
      await chain?.shut();
      this.#leftovers = [...this.#leftovers, folder];
      throw error;
    }
  }

  /** Folders of firings that could not begin. They go before the next one begins, when the disk is whole again. */
  async #removeLeftovers(): Promise<void> {
    for (const path of this.#leftovers) await this.#disk.remove(path);
    this.#leftovers = [];
  }

  /** A file for the eye and for other commands; the record's first line holds the same. */
  async #writeCopy(path: string, value: Recordable): Promise<void> {
    const bytes = Buffer.from(`${JSON.stringify(fromRecordable(value), null, 2)}\n`);
    const file = await createFile(this.#disk, path, bytes);
    await file.close();
  }

  async unfinished(): Promise<readonly Unfinished[]> {
    const { ledger } = await this.#open();
    const broken: BrokenRecord[] = ledger.trouble ? [{ id: 'ledger', sentence: ledger.trouble }] : [];
    if (this.#sealer.trouble) broken.push({ id: 'keys', sentence: this.#sealer.trouble });
    if (this.#mark?.trouble) broken.push({ id: 'seals', sentence: this.#mark.trouble });
    const found: Unfinished[] = [];
    await this.#removeUnbegun();
    const ids = await this.ids();
    for (const id of ids) {
      if (isOver(ledger.standing(id)) || ledger.leftOpen.has(id)) continue;
      const result = await this.#resume(id, ledger);
      if (result === null) continue;
      if ('sentence' in result) broken.push(result);
      else found.push(result);
    }
    const there = new Set(ids);
    for (const id of ledger.firings.filter((firing) => !there.has(firing))) {
      broken.push({ id, sentence: `Firing ${id} is named by the ledger, but its folder is missing.` });
    }
    this.#broken = broken;
    return found;
  }

  async unstamped(): Promise<readonly string[]> {
    const { ledger } = await this.#open();
    return ledger.firings.filter((id) => isOver(ledger.standing(id)) && !ledger.isStamped(id));
  }

  async stamp(id: string, ask: (question: Uint8Array) => Promise<Buffer>): Promise<boolean> {
    const walk = walkChain(await this.#bytesOf(id));
    const seal = (await this.#sealsOf(id)).checkpoints.at(-1);
    if (seal === undefined) return false;
    if (walk.broken || seal.lines !== walk.lines || seal.head !== walk.head) {
      throw new RecordError('record-broken', `${recordOf(id)} is not what was sealed, so no time authority is asked.`);
    }
    const nonce = randomBytes(8);
    const answer = await ask(await stampQuestion(seal.text, nonce));
    const said = await readStamp(answer, seal.text, nonce);
    if (typeof said === 'string') throw new RecordError('no-stamp', `The time authority gave no stamp: ${said}.`);
    const { ledger } = await this.#open();
    try {
      await keepStamp(this.#disk, this.#folder(id), seal.number, answer);
    } catch (error) {
      throw diskRefusal(error, `The stamp of firing ${id}`);
    }
    await ledger.stamped(id, seal.head, seal.number, sha256(answer));
    return true;
  }

  async putBack(by: string, why: string): Promise<number> {
    const { ledger } = await this.#open();
    const leftOpen: string[] = [];
    for (const id of await this.ids()) {
      const kept = this.#kept.get(id);
      if (kept === undefined || isOver(ledger.standing(id))) continue;
      if (isBehind(walkChain(await this.#bytesOf(id)), kept)) leftOpen.push(id);
    }
    return ledger.putBack(by, why, leftOpen);
  }

  broken(): readonly BrokenRecord[] {
    return this.#broken;
  }

  /** One after the other, and not while a firing begins. */
  amend(id: string, words: (lines: readonly Line[], head: string) => Entry): Promise<number> {
    const turn = this.#beginning.then(() => this.#amend(id, words));
    this.#beginning = turn.catch(() => undefined);
    return turn;
  }

  async #amend(id: string, words: (lines: readonly Line[], head: string) => Entry): Promise<number> {
    const { ledger } = await this.#open();
    const bytes = await this.#bytesOf(id);
    const walk = walkChain(bytes);
    const noted = ledger.standing(id);
    if (!isOver(noted)) {
      throw new RecordError('record-open', `${recordOf(id)} is not closed: words behind its end have to wait for it.`);
    }
    const found = await this.#sealsOf(id);
    const { verdict, sentence } = judgeRecord(walk);
    const { fault, sealedLines, seals } = judgeSeals(bytes, walk, found, null);
    // Nobody's seal is set over what was altered.
    if (verdict === 'BAD' || fault !== null || !headsOf(walk).includes(noted?.head ?? '')) {
      const why = fault?.sentence ?? (verdict === 'BAD' ? sentence : 'The ledger names another end of it.');
      throw new RecordError('record-broken', `${recordOf(id)} was altered, so nothing is added to it. ${why}`);
    }
    const chain = ChainFile.continueFrom(this.#disk, this.#recordPath(id), recordOf(id), bytes, walk, this.#nowMs());
    const file = new CheckpointFile(this.#disk, this.#sealsPath(id), recordOf(id), found.wholeBytes);
    const sealing = new RecordSeals(id, chain, file, this.#sealer, { sealedLines, seals, sealedAtMs: 0 });
    try {
      await chain.renew();
      const entry = words(walk.content, walk.head);
      const line = await chain.append([entry]);
      await sealing.add(entry.t);
      await ledger.note({ type: 'amended', t: entry.t, firing: id, head: chain.head });
      return line;
    } finally {
      await chain.shut();
      await sealing.shut();
    }
  }

  async ids(): Promise<readonly string[]> {
    return (await this.#names()).filter(isFiringId).sort();
  }

  async read(id: string): Promise<readonly Line[]> {
    const walk = walkChain(await this.#bytesOf(id));
    if (walk.broken) throw new RecordError('record-broken', `${recordOf(id)} was altered. ${walk.broken.sentence}`);
    return walk.content;
  }

  async release(): Promise<void> {
    const opening = this.#opening;
    this.#opening = null;
    if (!opening) return;
    const { ledger, unlock } = await opening;
    for (const recorder of this.#recorders) await recorder.leave();
    await ledger.shut();
    // A lock that stays is one of a dead process by the next start.
    await unlock().catch(() => undefined);
  }

  /** A firing without a closing line, ready to go on; null where it is closed; or why it cannot go on. */
  async #resume(id: string, ledger: Ledger): Promise<Unfinished | BrokenRecord | null> {
    try {
      if (await this.#isNotedAsClosed(id, ledger)) return null;
      const bytes = await this.#bytesOf(id);
      const walk = walkChain(bytes);
      const { verdict, sentence } = judgeRecord(walk);
      if (verdict === 'BAD') return { id, sentence };
      const found = await this.#sealsOf(id);
      const seals = judgeSeals(bytes, walk, found, null);
      if (seals.fault !== null) return { id, sentence: `${recordOf(id)} was altered. ${seals.fault.sentence}` };
      if (isBehind(walk, this.#kept.get(id))) {
        return { id, sentence: `${recordOf(id)} was put back from an older copy; the firing does not go on in it.` };
      }
      return await this.#goOn(id, bytes, walk, ledger, { ...seals, wholeBytes: found.wholeBytes });
    } catch (error) {
      // One firing that cannot be read must not keep the others from going on.
      return { id, sentence: diskRefusal(error, recordOf(id)).message };
    }
  }

  async #goOn(
    id: string,
    bytes: Buffer,
    walk: Walk,
    ledger: Ledger,
    sealed: {
      readonly sealedLines: number;
      readonly sealedAtMs: number | null;
      readonly seals: number;
      readonly wholeBytes: number;
    },
  ): Promise<Unfinished | BrokenRecord> {
    const [first, second] = walk.content;
    if (!first) return { id, sentence: `${recordOf(id)} holds no whole line.` };
    const chain = ChainFile.continueFrom(this.#disk, this.#recordPath(id), recordOf(id), bytes, walk, this.#nowMs());
    // A disk that refuses now is asked again by the first append, which tells whoever appends.
    await chain.renew().catch(() => undefined);
    if (!ledger.standing(id)) {
      // Power was lost between the firing's first line and the ledger's. Refused again, it goes with the next line.
      const entry = { type: 'opened', t: first.t, firing: id, head: second?.prev ?? walk.head } as const;
      await ledger.note(entry).catch(() => undefined);
    }
    const lines = chain.lines > walk.lines ? await this.read(id) : walk.content;
    const { sealedLines, seals, sealedAtMs, wholeBytes } = sealed;
    const recorder = this.#recorder(
      id,
      chain,
      ledger,
      { sealedLines, seals, sealedAtMs: sealedAtMs ?? first.t },
      wholeBytes,
    );
    return { recorder, lines, tornBytes: walk.tornBytes };
  }

  #recorder(id: string, chain: ChainFile, ledger: Ledger, sealed: Sealed, sealBytes: number): Recorder {
    const seals = new CheckpointFile(this.#disk, this.#sealsPath(id), recordOf(id), sealBytes);
    const recorder = new FiringRecorder(id, chain, ledger, new RecordSeals(id, chain, seals, this.#sealer, sealed));
    this.#recorders = [...this.#recorders, recorder];
    return recorder;
  }

  /** Whether the record ends with its closing line. Where the ledger lacks it (power lost between the two), adds it. */
  async #isNotedAsClosed(id: string, ledger: Ledger): Promise<boolean> {
    const tail = await this.#disk.readTail(this.#recordPath(id), tailBytes);
    const closing = closingLine(tail);
    if (!closing) return false;
    if (ledger.standing(id)?.type === 'opened') {
      await this.#sealClosed(id, closing.t).catch(() => undefined);
      const entry = { type: 'closed', t: closing.t, firing: id, head: closing.head } as const;
      // Where the disk refuses, the next start adds it.
      await ledger.note(entry).catch(() => undefined);
    }
    return true;
  }

  /** The last seal of a record whose closing line was the last thing that the power let through. */
  async #sealClosed(id: string, atMs: number): Promise<void> {
    const bytes = await this.#bytesOf(id);
    const walk = walkChain(bytes);
    const found = await this.#sealsOf(id);
    const { fault, sealedLines, seals } = judgeSeals(bytes, walk, found, null);
    if (walk.broken || fault || sealedLines >= walk.lines) return;
    const stand = { lines: walk.lines, head: walk.head, prefix: sha256(bytes) };
    const file = new CheckpointFile(this.#disk, this.#sealsPath(id), recordOf(id), found.wholeBytes);
    await this.#sealer.seal(file, { origin: id, stand, atMs, number: seals + 1 });
    await file.shut();
  }

  async #removeUnbegun(): Promise<void> {
    const firings = firingsFolder(this.#dataDir);
    for (const name of await this.#names()) {
      // Nothing in it was ever acknowledged. If it cannot be removed it does no harm: it has no id.
      if (name.startsWith(unbegun)) await this.#disk.remove(`${firings}/${name}`).catch(() => undefined);
    }
  }

  /** All that stands in the folder of firings. */
  async #names(): Promise<readonly string[]> {
    try {
      return await this.#disk.list(firingsFolder(this.#dataDir));
    } catch (error) {
      throw diskRefusal(error, `The folder of firings in ${this.#dataDir}`);
    }
  }

  async #bytesOf(id: string): Promise<Buffer> {
    requireFiringId(id);
    try {
      return await this.#disk.read(this.#recordPath(id));
    } catch (error) {
      const code = errorCode(error);
      if (code !== 'ENOENT' && code !== 'ENOTDIR') throw diskRefusal(error, recordOf(id));
      throw new RecordError('unknown-firing', `There is no record of a firing ${id} in ${this.#dataDir}.`);
    }
  }

  /** Takes the data folder for this process, once; a failure is tried again by the next call. */
  async #open(): Promise<OpenData> {
    this.#opening ??= this.#openNow();
    try {
      return await this.#opening;
    } catch (error) {
      this.#opening = null;
      throw diskRefusal(error, `The data folder ${this.#dataDir}`);
    }
  }

  async #openNow(): Promise<OpenData> {
    await this.#disk.mkdir(firingsFolder(this.#dataDir));
    const unlock = await lockData(this.#disk, this.#dataDir, this.#name);
    try {
      // Opening the ledger syncs the data folder itself, and with it the name of the folder of firings.
      await this.#syncFolderAbove();
      // Keys that cannot be read keep no reading from being written: they are asked for again at each seal.
      await this.#sealer.signer().catch(() => undefined);
      this.#kept = (await this.#mark?.read()) ?? new Map();
      const kept = this.#kept.get(LEDGER_ORIGIN);
      const parts = { disk: this.#disk, dataDir: this.#dataDir, nowMs: this.#nowMs, sealer: this.#sealer, kept };
      return { ledger: await Ledger.open(parts), unlock };
    } catch (error) {
      // The reason why it cannot be used is the one to tell; a lock of this process is no obstacle to its next try.
      await unlock().catch(() => undefined);
      throw error;
    }
  }

  /** The data folder may just have been made. One above it that may not be opened was not made by this process. */
  async #syncFolderAbove(): Promise<void> {
    try {
      await this.#disk.syncFolder(dirname(this.#dataDir));
    } catch (error) {
      if (errorCode(error) !== 'EACCES') throw error;
    }
  }

  #folder(id: string): string {
    return `${firingsFolder(this.#dataDir)}/${id}`;
  }

  #recordPath(id: string): string {
    return `${this.#folder(id)}/record.jsonl`;
  }

  #sealsPath(id: string): string {
    return `${this.#folder(id)}/checkpoints.jsonl`;
  }

  async #sealsOf(id: string): Promise<CheckpointsFound> {
    try {
      return readCheckpoints(await this.#disk.read(this.#sealsPath(id)));
    } catch (error) {
      if (errorCode(error) === 'ENOENT') return NO_CHECKPOINTS;
      throw error;
    }
  }
}

/** The hash of each line of a record. */
function headsOf(walk: Walk): string[] {
  return [...walk.content.slice(1).map((line) => line.prev), walk.head];
}

/** Whether a firing's last line in the ledger says that it is closed. */
function isOver(entry: LedgerEntry | undefined): boolean {
  return entry?.type === 'closed' || entry?.type === 'amended';
}

/** The last line of a file, if it is whole and closes the firing. */
function closingLine(tail: Buffer): { readonly t: number; readonly head: string } | null {
  const end = tail.lastIndexOf(0x0a);
  if (end !== tail.length - 1 || end <= 0) return null;
  const raw = tail.subarray(tail.lastIndexOf(0x0a, end - 1) + 1, end);
  try {
    const line = JSON.parse(raw.toString('utf8')) as Partial<Line> | null;
    return line?.type === 'close' && typeof line.t === 'number' ? { t: line.t, head: sha256(raw) } : null;
  } catch {
    // Not a whole line: the record is read from its beginning, and judged there.
    return null;
  }
}
