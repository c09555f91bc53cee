/**
 * The ledger: one chained line when a firing opens and one when it closes, so that a firing which was removed with
 * its whole folder is missed (R7). It stands beside the firings as `ledger.jsonl`.
 */
import { ChainFile } from './chain-file.ts';
import { type Checkpoint, LEDGER_ORIGIN, readCheckpoints } from './checkpoint.ts';
import { CheckpointFile } from './checkpoint-file.ts';
import { type Disk, readIfThere } from './disk.ts';
import { sha256, type Walk, walkChain } from './hash-chain.ts';
import { judgeLedgerSeals } from './judge-seals.ts';
import { isBehind } from './outside-mark.ts';
import type { Line, Recordable } from './recorder.ts';
import type { Sealer } from './sealer.ts';

/**
 * What the ledger says of one firing: `head` is that of its first line when opened, of its last when closed, and again
 * of its last when words were added after the close.
 */
export interface LedgerEntry {
  readonly type: 'opened' | 'closed' | 'amended';
  readonly t: number;
  readonly firing: string;
  readonly head: string;
  readonly [key: string]: Recordable;
}

export interface LedgerParts {
  readonly disk: Disk;
  readonly dataDir: string;
  readonly sealer: Sealer;
  readonly nowMs: () => number;
  /** Its last seal, as it was kept elsewhere. */
  readonly kept?: Checkpoint | undefined;
}

/** How far the ledger is signed for, and how long the file of its checkpoints was when it was opened. */
interface LedgerSealed {
  readonly sealedLines: number;
  readonly seals: number;
  readonly wholeBytes: number;
}

const UNSEALED: LedgerSealed = { sealedLines: 0, seals: 0, wholeBytes: 0 };

/** Where the ledger's checkpoints stand. */
export function sealsPath(dataDir: string): string {
  return `${dataDir}/ledger.checkpoints.jsonl`;
}

export class Ledger {
  readonly #chain: ChainFile;
  readonly #seals: CheckpointFile;
  readonly #sealer: Sealer;
  readonly #nowMs: () => number;
  #sealed: LedgerSealed;
  readonly #standing: Map<string, LedgerEntry>;
  #lastClosed: LedgerEntry | null;
  /** Lines that the disk has refused so far; they go first in the next write. */
  #pending: LedgerEntry[] = [];
  #turn: Promise<void> = Promise.resolve();
  /** The head up to which each firing was stamped by a time authority. */
  readonly #stamped: Map<string, string>;
  /** The lines of wanted restores. */
  #putBacks: readonly PutBack[];
  /** What was wrong with the ledger as it was found, if anything. */
  #trouble: string | null;

  private constructor(
    parts: LedgerParts,
    chain: ChainFile,
    sealed: LedgerSealed,
    content: readonly Line[],
    trouble: string | null,
  ) {
    const entries = ledgerEntries(content);
    this.#putBacks = putBacks(content);
    this.#stamped = new Map(stampsNoted(content).map(({ firing, head }) => [firing, head]));
    this.#chain = chain;
    this.#seals = new CheckpointFile(parts.disk, sealsPath(parts.dataDir), 'The ledger', sealed.wholeBytes);
    this.#sealer = parts.sealer;
    this.#nowMs = parts.nowMs;
    this.#sealed = sealed;
    this.#standing = new Map(entries.map((entry) => [entry.firing, entry]));
    this.#lastClosed = lastClosedOf(entries);
    this.#trouble = trouble;
  }

  /**
   * Opens or begins the ledger of a data folder. A torn end is mended; a ledger that was altered, cut or put back from
   * an older copy is kept aside, not used (R8).
   */
  static async open(parts: LedgerParts): Promise<Ledger> {
    const { disk, dataDir, nowMs } = parts;
    const path = `${dataDir}/ledger.jsonl`;
    const found = await readIfThere(disk, path);
    const seals = readCheckpoints((await readIfThere(disk, sealsPath(dataDir))) ?? Buffer.alloc(0));
    const bytes = found ?? Buffer.alloc(0);
    const walk = walkChain(bytes);
    const judged = walk.broken === null ? judgeLedgerSeals(bytes, walk, seals) : null;
    const wrong = walk.broken?.sentence ?? judged?.fault?.sentence;
    if (wrong !== undefined) return Ledger.#restart(parts, found, wrong);
    const ledger = found
      ? await Ledger.#goOn(parts, path, found, walk, {
          sealedLines: judged?.sealedLines ?? 0,
          seals: judged?.seals ?? 0,
          wholeBytes: seals.wholeBytes,
        })
      : new Ledger(parts, await createLedger(disk, dataDir), UNSEALED, [], null);
    if (parts.kept !== undefined && isBehind(walk, parts.kept)) {
      // Told in any case, also where the disk refuses the line.
      await ledger.#tellRollback(parts.kept).catch(() => undefined);
    }
    // Lines that a power cut left without a seal get theirs now; where the disk refuses, with the next line.
    await ledger.#seal(nowMs()).catch(() => undefined);
    return ledger;
  }

  get trouble(): string | null {
    return this.#trouble;
  }

  /** The owner may have put an older copy back on purpose: it goes on, and says for ever what it lacks. */
  async #tellRollback({ lines, head, atMs }: Checkpoint): Promise<void> {
    const when = `${new Date(atMs).toISOString().slice(0, 16).replace('T', ' ')} UTC`;
    this.#trouble = `The records were put back from an older copy, or other ones laid in their place: a seal of ${when}, kept elsewhere, counts ${lines} lines of the ledger that are not all here. What was recorded between is missing.`;
    await this.#chain.append([{ type: 'rolled-back', t: this.#nowMs(), lines, head, sealed: atMs }]);
  }

  /** Firings that a wanted restore took the end from. Their records are left as they are. */
  get leftOpen(): ReadonlySet<string> {
    return new Set(this.#putBacks.flatMap(({ leftOpen }) => leftOpen));
  }

  /**
   * Writes that the records were put back from an older copy on purpose (R8), sealed as all lines are.
   *
   * @returns the number of the line
   * @throws RecordError where the disk refuses
   */
  putBack(by: string, why: string, leftOpen: readonly string[]): Promise<number> {
    const turn = this.#turn.then(async () => {
      await this.#flush();
      const entry = { type: 'put-back', t: this.#nowMs(), by, why, leftOpen } as const;
      const n = await this.#chain.append([entry]);
      this.#putBacks = [...this.#putBacks, { ...entry, n }];
      this.#trouble = null;
      await this.#seal(this.#nowMs());
      return n;
    });
    this.#turn = turn.then(
      () => undefined,
      () => undefined,
    );
    return turn;
  }

  /** Whether a time authority has stamped the seal of a firing as it stands. */
  isStamped(firing: string): boolean {
    return this.#stamped.get(firing) === this.#standing.get(firing)?.head;
  }

  /** Names a stamp that is on the disk, so that it is missed where it is taken away. @throws RecordError as `note` */
  stamped(firing: string, head: string, seal: number, stampHash: string): Promise<void> {
    const turn = this.#turn.then(async () => {
      await this.#flush();
      await this.#chain.append([{ type: 'stamped', t: this.#nowMs(), firing, head, seal, sha256: stampHash }]);
      this.#stamped.set(firing, head);
      await this.#seal(this.#nowMs());
    });
    this.#turn = turn.catch(() => undefined);
    return turn;
  }

  static async #goOn(
    parts: LedgerParts,
    path: string,
    found: Buffer,
    walk: Walk,
    sealed: LedgerSealed,
  ): Promise<Ledger> {
    const chain = ChainFile.continueFrom(parts.disk, path, 'The ledger', found, walk, parts.nowMs());
    await chain.renew();
    return new Ledger(parts, chain, sealed, walk.content, null);
  }

  static async #restart(parts: LedgerParts, found: Buffer | null, why: string): Promise<Ledger> {
    const { disk, dataDir, nowMs } = parts;
    const names = new Set(await disk.list(dataDir));
    let number = 1;
    while (names.has(`ledger.broken-${number}`)) number += 1;
    const aside = `ledger.broken-${number}`;
    if (names.has('ledger.checkpoints.jsonl')) await disk.rename(sealsPath(dataDir), `${dataDir}/${aside}-checkpoints`);
    if (found) await disk.rename(`${dataDir}/ledger.jsonl`, `${dataDir}/${aside}`);
    const chain = await createLedger(disk, dataDir);
    const bytes = found ?? Buffer.alloc(0);
    await chain.append([{ type: 'restarted', t: nowMs(), aside, bytes: bytes.length, sha256: sha256(bytes) }]);
    const trouble = `The ledger was altered, or put back from an older copy, and a new one begun; the old one is kept as ${aside}. ${why}`;
    const ledger = new Ledger(parts, chain, UNSEALED, [], trouble);
    await ledger.#seal(nowMs()).catch(() => undefined);
    return ledger;
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
    const known = this.#standing.get(entry.firing);
    if (known?.type !== entry.type || known.head !== entry.head) {
      this.#standing.set(entry.firing, entry);
      if (entry.type === 'closed' || entry.firing === this.#lastClosed?.firing) this.#lastClosed = entry;
      this.#pending.push(entry);
    }
    const turn = this.#turn.then(() => this.#flush());
    // Whoever asked gets the failure from `turn`; the next in the queue starts all the same.
    this.#turn = turn.catch(() => undefined);
    return turn;
  }

  async #flush(): Promise<void> {
    const waiting = [...this.#pending];
    if (waiting.length > 0) await this.#chain.append(waiting);
    this.#pending = this.#pending.slice(waiting.length);
    await this.#seal(this.#nowMs());
  }

  async #seal(atMs: number): Promise<void> {
    const { stand } = this.#chain;
    if (stand.lines <= this.#sealed.sealedLines) return;
    const number = this.#sealed.seals + 1;
    await this.#sealer.seal(this.#seals, { origin: LEDGER_ORIGIN, stand, atMs, number });
    this.#sealed = { ...this.#sealed, sealedLines: stand.lines, seals: number };
  }

  async shut(): Promise<void> {
    await this.#chain.shut();
    await this.#seals.shut();
  }
}

/** A stamp of a time authority as the ledger names it. */
export interface StampNoted {
  readonly n: number;
  readonly firing: string;
  /** The firing's last line at that time. */
  readonly head: string;
  readonly seal: number;
  readonly sha256: string;
}

export function stampsNoted(lines: readonly Line[]): readonly StampNoted[] {
  return lines.flatMap(({ type, n, firing, head, seal, sha256: hash }) =>
    type === 'stamped'
      ? [{ n, firing: String(firing), head: String(head), seal: Number(seal), sha256: String(hash) }]
      : [],
  );
}

/** What the ledger says of a wanted restore: that somebody put the records back from an older copy, and why. */
export interface PutBack {
  readonly n: number;
  readonly t: number;
  readonly by: string;
  readonly why: string;
  /** Firings whose records ended later than they do in the copy. */
  readonly leftOpen: readonly string[];
}

/** The wanted restores that a ledger tells of, in order. */
export function putBacks(lines: readonly Line[]): readonly PutBack[] {
  return lines.flatMap(({ type, n, t, by, why, leftOpen }) => {
    if (type !== 'put-back' || !Array.isArray(leftOpen)) return [];
    return [{ n, t, by: String(by), why: String(why), leftOpen: leftOpen.map(String) }];
  });
}

/** The lines that speak of firings, in order. */
export function ledgerEntries(lines: readonly Line[]): readonly LedgerEntry[] {
  return lines.filter(isLedgerEntry);
}

/** The firing closed last, with its head as it stands since. */
function lastClosedOf(entries: readonly LedgerEntry[]): LedgerEntry | null {
  const closed = entries.findLast((entry) => entry.type === 'closed');
  return entries.findLast((entry) => entry.firing === closed?.firing) ?? null;
}

function isLedgerEntry(line: Line): line is Line & LedgerEntry {
  const isOfFiring = line.type === 'opened' || line.type === 'closed' || line.type === 'amended';
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
