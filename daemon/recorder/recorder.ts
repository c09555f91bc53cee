/** The record of one firing, as the rest of the daemon sees it. */

/** What a line may hold: whole numbers, strings, and lists or objects of these (requirement R3). */
export type Recordable =
  | string
  | number
  | boolean
  | null
  | readonly Recordable[]
  | { readonly [key: string]: Recordable };

/** A line without its number and link, which the recorder adds. `type` says what kind of line it is; `t` is UTC ms. */
export interface Entry {
  readonly type: string;
  readonly t: number;
  readonly [key: string]: Recordable;
}

/** A line as it stands in the file. */
export interface Line extends Entry {
  readonly n: number;
  readonly prev: string;
}

export interface Recorder {
  readonly firingId: string;
  /** The number of the last line, and the hash of its bytes. */
  readonly lines: number;
  readonly head: string;
  /**
   * Appends the entries as lines in one write and resolves with the number of the first of them, once they are on the disk.
   * @throws RecordError when the disk refuses; nothing of the group then counts as written.
   */
  append(entries: readonly Entry[]): Promise<number>;
  /** Writes the closing line, the ledger's line, and closes the file. */
  close(entry: Entry): Promise<void>;
  /** Closes the file without ending the firing: the daemon stops, the firing goes on at the next start. */
  leave(): Promise<void>;
}

export interface NewFiring {
  readonly id: string;
  /** Plain data; decimals are written in a form that the record allows. */
  readonly kiln: object;
  readonly schedule: object | null;
  /** The first line's own content: time, software version, what else is worth stating. */
  readonly open: Entry;
}

/** A firing found on the disk that has no closing line. */
export interface Unfinished {
  readonly recorder: Recorder;
  readonly lines: readonly Line[];
  /** Bytes of a torn last line that were set aside, if any. */
  readonly tornBytes: number;
}

export interface RecordStore {
  begin(firing: NewFiring): Promise<Recorder>;
  /** Opens the unfinished firings at the start of the daemon, torn tails mended (R9). */
  unfinished(): Promise<readonly Unfinished[]>;
  /** Ids of all firings on the disk, newest last. */
  ids(): Promise<readonly string[]>;
  /**
   * Adds words behind the close of a firing that is over, sealed and noted in the ledger. What they are may follow from
   * the record as it stands. Resolves with the number of their line.
   * @throws RecordError where the firing is not over, its record was altered, or the disk refuses
   */
  amend(id: string, words: (lines: readonly Line[], head: string) => Entry): Promise<number>;
  /** The whole lines of a firing; a torn last line is left out. @throws RecordError for an unknown id */
  read(id: string): Promise<readonly Line[]>;
}
