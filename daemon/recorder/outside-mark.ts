/**
 * The last seals of a data folder, kept once more in a folder elsewhere (R8): on another disk, or a share of another
 * machine. A data folder that was put back from an older copy fits itself; only what stands outside it tells.
 */
import { resolve } from 'node:path';
import { replaceFile } from './chain-file.ts';
import { type Checkpoint, type CheckpointParts, readCheckpoints } from './checkpoint.ts';
import { type Disk, errorCode } from './disk.ts';
import { sha256, type Walk } from './hash-chain.ts';

/** Of the ledger and the firings sealed last: more are never on at once. */
const MOST_KEPT = 40;

export class OutsideMark {
  readonly #disk: Disk;
  readonly #folder: string;
  readonly #path: string;
  readonly #lines = new Map<string, Buffer>();
  /** What keeps the seals from being kept there, or null. */
  trouble: string | null = null;

  /** One file for each data folder, so that several may share the place. */
  constructor(disk: Disk, folder: string, dataDir: string) {
    this.#disk = disk;
    this.#folder = folder;
    this.#path = `${folder}/spyhole-seals-${sha256(Buffer.from(resolve(dataDir))).slice(0, 12)}.jsonl`;
  }

  /** The seals that stand there, by what they seal. Where the place cannot be reached there are none, and it is told. */
  async read(): Promise<ReadonlyMap<string, Checkpoint>> {
    try {
      const bytes = await this.#disk.read(this.#path);
      const { checkpoints } = readCheckpoints(bytes);
      const lines = bytes.toString('utf8').split('\n');
      for (const [i, { origin }] of checkpoints.entries()) this.#lines.set(origin, Buffer.from(`${lines[i]}\n`));
      return new Map(checkpoints.map((checkpoint) => [checkpoint.origin, checkpoint]));
    } catch (error) {
      if (errorCode(error) !== 'ENOENT') this.#tell(error);
      return new Map();
    }
  }

  /** Keeps a seal that stands in the data folder already. A place that refuses keeps no line from being sealed. */
  async note({ origin }: CheckpointParts, line: Buffer): Promise<void> {
    this.#lines.delete(origin);
    this.#lines.set(origin, line);
    const firings = [...this.#lines.keys()].filter((name) => name !== 'ledger');
    for (const oldest of firings.slice(0, -MOST_KEPT)) this.#lines.delete(oldest);
    try {
      await this.#disk.mkdir(this.#folder);
      const file = await replaceFile(this.#disk, this.#path, Buffer.concat([...this.#lines.values()]));
      await file.close();
      this.trouble = null;
    } catch (error) {
      this.#tell(error);
    }
  }

  #tell(error: unknown): void {
    const code = errorCode(error) ?? String(error);
    this.trouble = `The last seals cannot be kept in ${this.#folder} (${code}): a data folder put back from an older copy would not be noticed.`;
  }
}

/** Whether a file is older than, or other than, what was sealed last. */
export function isBehind(walk: Walk, kept: Checkpoint | undefined): boolean {
  if (kept === undefined) return false;
  if (kept.lines > walk.lines) return true;
  const head = kept.lines === walk.lines ? walk.head : walk.content[kept.lines]?.prev;
  return kept.lines > 0 && head !== kept.head;
}
