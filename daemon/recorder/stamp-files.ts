/** The answers of time authorities, in the folder `stamps` beside a record: `7.tsr` is over seal 7, as it came. */
import { replaceFile } from './chain-file.ts';
import type { CheckpointsFound } from './checkpoint.ts';
import { type Disk, readIfThere } from './disk.ts';
import { sha256 } from './hash-chain.ts';
import { readStamp, type Stamp } from './stamp-token.ts';

/** A stamp as it was found. */
export interface StampFound {
  readonly path: string;
  /** Number of the seal that its name gives. */
  readonly seal: number;
  /** SHA-256 of the file, which the ledger names. */
  readonly sha256: string;
  readonly bytes: Buffer;
  /** null where it is none, or not over this seal. */
  readonly says: Stamp | null;
  /** There are fewer seals than that: the end of record and seals is gone. */
  readonly isOfMissingSeal: boolean;
}

const nameShape = /^([1-9]\d{0,14})\.tsr$/;

/** `stamps/7.tsr`, below the firing's folder. */
export function stampPath(seal: number): string {
  return `stamps/${seal}.tsr`;
}

/** Resolves once the answer is on the disk, whole and under its name. Rejects with the system's own error. */
export async function keepStamp(disk: Disk, folder: string, seal: number, answer: Buffer): Promise<void> {
  await disk.mkdir(`${folder}/stamps`);
  const file = await replaceFile(disk, `${folder}/${stampPath(seal)}`, answer);
  await file.close();
  await disk.syncFolder(folder);
}

/** All stamps of a firing by their seals. Rejects with the system's own error. */
export async function findStamps(disk: Disk, folder: string, seals: CheckpointsFound): Promise<readonly StampFound[]> {
  const found: StampFound[] = [];
  for (const name of await disk.list(`${folder}/stamps`)) {
    const seal = Number(nameShape.exec(name)?.[1] ?? 0);
    if (seal === 0) continue;
    const bytes = await readIfThere(disk, `${folder}/${stampPath(seal)}`);
    if (bytes === null) continue;
    const text = seals.checkpoints[seal - 1]?.text;
    const says = text === undefined ? null : await readStamp(bytes, text);
    found.push({
      path: stampPath(seal),
      seal,
      sha256: sha256(bytes),
      bytes,
      says: typeof says === 'string' ? null : says,
      isOfMissingSeal: text === undefined,
    });
  }
  return found.sort((a, b) => a.seal - b.seal);
}
