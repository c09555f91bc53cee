/** Signs where a chained file stands, with the data folder's key. What the disk refuses is signed at the next occasion. */

import { diskRefusal } from './chain-file.ts';
import { type CheckpointParts, checkpointLine } from './checkpoint.ts';
import type { CheckpointFile } from './checkpoint-file.ts';
import type { Disk } from './disk.ts';
import { type KeyRing, openKeys } from './key-ring.ts';
import type { OutsideMark } from './outside-mark.ts';
import type { Signer } from './signing.ts';

/** Hears of each seal as it stands in the data folder: its file, `ledger` or a firing's id, and its line without the newline. */
export type SealHearer = (origin: string, line: string) => void;

export class Sealer {
  readonly #disk: Disk;
  readonly #dataDir: string;
  readonly #nowMs: () => number;
  readonly #mark: OutsideMark | null;
  readonly #sealed: SealHearer;
  #opening: Promise<KeyRing> | null = null;
  #trouble: string | null = null;

  constructor(
    disk: Disk,
    dataDir: string,
    nowMs: () => number,
    mark: OutsideMark | null = null,
    sealed: SealHearer = () => undefined,
  ) {
    this.#mark = mark;
    this.#sealed = sealed;
    this.#disk = disk;
    this.#dataDir = dataDir;
    this.#nowMs = nowMs;
  }

  /** What was wrong with the keys, if anything. */
  get trouble(): string | null {
    return this.#trouble;
  }

  /** @throws RecordError where the keys cannot be read; the next call tries again */
  async signer(): Promise<Signer> {
    this.#opening ??= openKeys(this.#disk, this.#dataDir, this.#nowMs());
    try {
      const { signer, trouble } = await this.#opening;
      this.#trouble = trouble;
      return signer;
    } catch (error) {
      this.#opening = null;
      const refusal = diskRefusal(error, 'The keys');
      this.#trouble = `${refusal.message} Until then the records carry no seals.`;
      throw refusal;
    }
  }

  /** @throws RecordError where the keys cannot be read or the disk refuses */
  async seal(file: CheckpointFile, parts: CheckpointParts): Promise<void> {
    const line = checkpointLine(parts, await this.signer());
    await file.add(line);
    this.#sealed(parts.origin, line.toString('utf8').trimEnd());
    await this.#mark?.note(parts, line);
  }
}
