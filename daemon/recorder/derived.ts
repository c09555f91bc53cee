/**
 * A small file beside each record with what a list of firings needs, so that a long list is read quickly. It is no part
 * of the record: it can be deleted and comes back by itself, and it counts only for the record that it was made from.
 */
import { readFile, rename, stat, writeFile } from 'node:fs/promises';
import { firingsFolder } from './file-recorder.ts';
import { requireFiringId } from './firing-id.ts';

/** Raised when what is kept changes its shape: older files are then made anew. */
export const DERIVED_VERSION = 3;

export interface Derived {
  /** What was kept for this firing, or undefined where there is nothing that fits the record as it stands. */
  read(id: string): Promise<unknown>;
  /** Keeps it as well as it can: on a disk that refuses there is no such file, and nothing is lost. */
  keep(id: string, value: unknown): Promise<void>;
}

interface Kept {
  readonly version: number;
  readonly recordBytes: number;
  readonly value: unknown;
}

export function derivedFiles(dataDir: string): Derived {
  const folder = (id: string): string => `${firingsFolder(dataDir)}/${requireFiringId(id)}`;
  const recordBytes = async (id: string): Promise<number> => (await stat(`${folder(id)}/record.jsonl`)).size;
  return {
    async read(id) {
      try {
        const kept = JSON.parse(await readFile(`${folder(id)}/summary.json`, 'utf8')) as Kept;
        const fits = kept.version === DERIVED_VERSION && kept.recordBytes === (await recordBytes(id));
        return fits ? kept.value : undefined;
      } catch {
        // Not there, torn or not readable: it is made anew from the record.
        return undefined;
      }
    },
    async keep(id, value) {
      try {
        const kept: Kept = { version: DERIVED_VERSION, recordBytes: await recordBytes(id), value };
        const path = `${folder(id)}/summary.json`;
        await writeFile(`${path}.new`, JSON.stringify(kept), { mode: 0o600 });
        await rename(`${path}.new`, path);
      } catch {
        // The record alone is the truth; without this file the next list only takes longer.
      }
    },
  };
}
