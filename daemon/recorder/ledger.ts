/**
 * The ledger: one chained line when a firing opens and one when it closes, so that a firing which was removed with
 * its whole folder is missed (R7). It stands beside the firings as `ledger.jsonl`.
 */
import { ChainFile } from './chain-file.ts';
import { type Disk, errorCode } from './disk.ts';
import { sha256, walkChain } from './hash-chain.ts';
import type { Line, Recordable } from './recorder.ts';

/** What the ledger says of one firing: `head` is that of its first line when opened, of its last when closed. */
export interface LedgerEntry {
  readonly type: 'opened' | 'closed';
  readonly t: number;
  readonly firing: string;
  readonly head: string;
  readonly [key: string]: Recordable;
}

export class Ledger {
  readonly #chain: ChainFile;
  readonly #standing: Map<string, LedgerEntry>;
  #lastClosed: LedgerEntry | null;
  /** Lines that the disk has refused so far; they go first in the next write. */
  #pending: LedgerEntry[] = [];
  #turn: Promise<void> = Promise.resolve();
  /** What was wrong with the ledger as it was found, if anything. */
  readonly trouble: string | null;

  private constructor(chain: ChainFile, entries: readonly LedgerEntry[], trouble: string | null) {
    this.#chain = chain;
    this.#standing = new Map(entries.map((entry) => [entry.firing, entry]));
    this.#lastClosed = entries.findLast((entry) => entry.type === 'closed') ?? null;
    this.trouble = trouble;
  }

  /** Opens or begins the ledger of a data folder. A torn end is mended; an altered ledger is kept aside, not used. */
  static async open(disk: Disk, dataDir: string, nowMs: number): Promise<Ledger> {
    const path = `${dataDir}/ledger.jsonl`;
    const found = await readIfThere(disk, path);
    const walk = walkChain(found ?? Buffer.alloc(0));
    if (found && !walk.broken) {
      const chain = ChainFile.continueFrom(disk, path, 'The ledger', walk, nowMs);
      await chain.renew();
      return new Ledger(chain, ledgerEntries(walk.content), null);
    }
    if (found && walk.broken) return Ledger.#restart(disk, dataDir, found, walk.broken.sentence, nowMs);
    const chain = await createLedger(disk, dataDir);
    return new Ledger(chain, [], null);
  }

  static async #restart(disk: Disk, dataDir: string, found: Buffer, why: string, nowMs: number): Promise<Ledger> {
    const names = new Set(await disk.list(dataDir));
    let number = 1;
    while (names.has(`ledger.broken-${number}`)) number += 1;
    const aside = `ledger.broken-${number}`;
    await disk.rename(`${dataDir}/ledger.jsonl`, `${dataDir}/${aside}`);
    const chain = await createLedger(disk, dataDir);
    await chain.append([{ type: 'restarted', t: nowMs, aside, bytes: found.length, sha256: sha256(found) }]);
    return new Ledger(chain, [], `The ledger was altered and a new one begun; the old one is kept as ${aside}. ${why}`);
  }

  /** The last line about a firing, also one that still waits for the disk. */
  standing(firing: string): LedgerEntry | undefined {
    return this.#standing.get(firing);
  }

  get firings(): readonly string[] {
    return [...this.#standing.keys()];
  }

  /** The firing closed last, which the next one's first line names. */
  get lastClosed(): LedgerEntry | null {
    return this.#lastClosed;
  }

  /**
   * Writes a line, and before it those that the disk refused earlier. A line that stands already is not repeated.
   *
   * @throws RecordError where the disk refuses; the line is then written with the next one
   */
  note(entry: LedgerEntry): Promise<void> {
    if (this.#standing.get(entry.firing)?.type !== entry.type) {
      this.#standing.set(entry.firing, entry);
      if (entry.type === 'closed') this.#lastClosed = entry;
      this.#pending.push(entry);
    }
    const turn = this.#turn.then(() => this.#flush());
    // Whoever asked gets the failure from `turn`; the next in the queue starts all the same.
    this.#turn = turn.catch(() => undefined);
    return turn;
  }

  async #flush(): Promise<void> {
    const waiting = [...this.#pending];
    if (waiting.length === 0) return;
    await this.#chain.append(waiting);
    this.#pending = this.#pending.slice(waiting.length);
  }

  shut(): Promise<void> {
    return this.#chain.shut();
  }
}

/** The lines that speak of firings, in order. */
export function ledgerEntries(lines: readonly Line[]): readonly LedgerEntry[] {
  return lines.filter(isLedgerEntry);
}

function isLedgerEntry(line: Line): line is Line & LedgerEntry {
  const isOfFiring = line.type === 'opened' || line.type === 'closed';
  return isOfFiring && typeof line.firing === 'string' && typeof line.head === 'string';
}

async function createLedger(disk: Disk, dataDir: string): Promise<ChainFile> {
  const chain = await ChainFile.create(disk, `${dataDir}/ledger.jsonl`, 'The ledger');
  try {
    await disk.syncFolder(dataDir);
    return chain;
  } catch (error) {
    await chain.shut();
    throw error;
  }
}

async function readIfThere(disk: Disk, path: string): Promise<Buffer | null> {
  try {
    return await disk.read(path);
  } catch (error) {
    if (errorCode(error) === 'ENOENT') return null;
    throw error;
  }
}
