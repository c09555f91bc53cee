/** What the server may ask of the records. The runtime implements it. */
import type { Readable } from 'node:stream';
import type { FiringRow, Proof, WorkshopProof } from '../wire/live-messages.ts';

/** What a search asks for; all of it must fit. */
export interface RowQuery {
  /** Words, each of which must stand somewhere. */
  readonly text?: string | undefined;
  /** The kiln's id. */
  readonly kiln?: string | undefined;
  readonly schedule?: string | undefined;
  readonly alert?: string | undefined;
  /** Begun at or after, and before, these instants. */
  readonly fromMs?: number | undefined;
  readonly toMs?: number | undefined;
  /** At most so many, the newest first. */
  readonly limit?: number | undefined;
}

/** Refusals throw `RequestError`, as those of the desk do. */
export interface RecordDesk {
  search(query: RowQuery): Promise<readonly FiringRow[]>;
  proof(firingId: string): Promise<Proof>;
  workshopProof(): Promise<WorkshopProof>;
  /** A line that was written by hand says something else now. Resolves once it is on the disk. */
  correct(firingId: string, by: string, line: number, is: string, why: string): Promise<void>;
  /** A photograph with who took it and a word on it. Resolves with its name once file and line are on the disk. */
  addPhoto(firingId: string, by: string, text: string, bytes: Buffer): Promise<{ readonly photo: string }>;
  photo(firingId: string, name: string): Promise<{ readonly media: string; readonly bytes: Buffer }>;
  signOff(firingId: string, by: string, meaning: string): Promise<void>;
  exportZip(firingId: string): Promise<Readable>;
  reportPdf(firingId: string): Promise<Readable>;
  readingsCsv(firingId: string): Promise<Readable>;
}
