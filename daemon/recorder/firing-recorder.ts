/** The record of one firing as it grows: its chained lines, and the seals over them. */
import { RecordError } from '../errors.ts';
import type { ChainFile } from './chain-file.ts';
import type { CheckpointFile } from './checkpoint-file.ts';
import type { Ledger } from './ledger.ts';
import type { Entry, Recorder } from './recorder.ts';
import type { Sealer } from './sealer.ts';

/** A record is signed at least this often while lines come (R5). */
const SEAL_EVERY_MS = 600_000;

/** How far a record is signed for. */
export interface Sealed {
  readonly sealedLines: number;
  readonly sealedAtMs: number;
  /** Checkpoints so far. */
  readonly seals: number;
}

/** The seals of one record that grows. */
export class RecordSeals {
  readonly #id: string;
  readonly #chain: ChainFile;
  readonly #file: CheckpointFile;
  readonly #sealer: Sealer;
  #sealed: Sealed;

  constructor(id: string, chain: ChainFile, file: CheckpointFile, sealer: Sealer, sealed: Sealed) {
    this.#id = id;
    this.#chain = chain;
    this.#file = file;
    this.#sealer = sealer;
    this.#sealed = sealed;
  }

  isDue(atMs: number): boolean {
    return atMs - this.#sealed.sealedAtMs >= SEAL_EVERY_MS;
  }

  /** Signs for all lines that are on the disk. @throws RecordError where it cannot */
  async add(atMs: number): Promise<void> {
    const { stand } = this.#chain;
    if (stand.lines <= this.#sealed.sealedLines) return;
    const number = this.#sealed.seals + 1;
    await this.#sealer.seal(this.#file, { origin: this.#id, stand, atMs, number });
    this.#sealed = { sealedLines: stand.lines, sealedAtMs: atMs, seals: number };
  }

  shut(): Promise<void> {
    return this.#file.shut();
  }
}

export class FiringRecorder implements Recorder {
  readonly firingId: string;
  readonly #chain: ChainFile;
  readonly #ledger: Ledger;
  readonly #seals: RecordSeals;
  #lastMs = 0;
  #sealing: Promise<void> = Promise.resolve();
  #closedAt: { readonly head: string; readonly t: number } | null = null;

  constructor(firingId: string, chain: ChainFile, ledger: Ledger, seals: RecordSeals) {
    this.firingId = firingId;
    this.#chain = chain;
    this.#ledger = ledger;
    this.#seals = seals;
  }

  get lines(): number {
    return this.#chain.lines;
  }

  get head(): string {
    return this.#chain.head;
  }

  async append(entries: readonly Entry[]): Promise<number> {
    if (this.#closedAt || entries.some((entry) => entry.type === 'close')) {
      const sentence = `${recordOf(this.firingId)} ends with its closing line, which close() writes.`;
      throw new RecordError('record-shut', sentence);
    }
    const first = await this.#chain.append(entries);
    this.#lastMs = Math.max(this.#lastMs, entries[entries.length - 1]?.t ?? 0);
    // A seal that is refused takes nothing from what is written; the next lines bring it.
    if (this.#seals.isDue(this.#lastMs)) await this.#seal(this.#lastMs).catch(() => undefined);
    return first;
  }

  async close(entry: Entry): Promise<void> {
    if (entry.type !== 'close') {
      throw new RecordError('not-recordable', `$.type: a closing line has the type "close", not "${entry.type}".`);
    }
    if (!this.#closedAt) {
      await this.#chain.append([entry]);
      this.#closedAt = { head: this.#chain.head, t: entry.t };
    }
    // Called again after a refusal, only what was refused is left to do.
    await this.#seal(entry.t);
    await this.#ledger.note({ type: 'closed', t: this.#closedAt.t, firing: this.firingId, head: this.#closedAt.head });
    await this.#shut();
  }

  async leave(): Promise<void> {
    // Where the disk refuses, the next start seals what is there.
    if (!this.#closedAt && this.#lastMs > 0) await this.#seal(this.#lastMs).catch(() => undefined);
    await this.#shut();
  }

  /** One seal after the other. */
  #seal(atMs: number): Promise<void> {
    const turn = this.#sealing.then(() => this.#seals.add(atMs));
    this.#sealing = turn.catch(() => undefined);
    return turn;
  }

  async #shut(): Promise<void> {
    await this.#chain.shut();
    await this.#seals.shut();
  }
}

/** How sentences name the record of a firing. */
export function recordOf(id: string): string {
  return `The record of firing ${id}`;
}
