/** An instrument with a serial line: writes one text line for each moment of reading into a (pseudo-)terminal. */
import { closeSync, constants, openSync, writeSync } from 'node:fs';
import type { CsvRow } from './play-csv.ts';

export interface SerialDevice {
  /** Writes what was read at one moment; false where the line was full and the reading is lost, as on a real wire. */
  write(rows: readonly CsvRow[]): boolean;
  /** Writes bytes as they are: a garbled line, half a line. */
  writeRaw(text: string): boolean;
  close(): void;
}

/**
 * @param path the terminal's far end, as socat makes it
 * @param columns sensors in their order on the line, and `lid`
 * @throws the operating system's error where the path cannot be opened
 */
export function serialDevice(path: string, columns: readonly string[]): SerialDevice {
  // Never waits: a wire has no patience either.
  const fd = openSync(path, constants.O_WRONLY | constants.O_NOCTTY | constants.O_NONBLOCK);
  function writeRaw(text: string): boolean {
    const bytes = Buffer.from(text);
    try {
      return writeSync(fd, bytes) === bytes.length;
    } catch (error) {
      // Nobody takes the bytes away and the terminal is full: they are lost, the instrument goes on.
      if (error instanceof Error && 'code' in error && error.code === 'EAGAIN') return false;
      throw error;
    }
  }
  return {
    write: (rows) => writeRaw(`${lineOf(columns, rows)}\r\n`),
    writeRaw,
    close: () => closeSync(fd),
  };
}

/** Values in the columns' order, parted by semicolons: `648.25;652;closed`. A sensor without value leaves its field empty. */
export function lineOf(columns: readonly string[], rows: readonly CsvRow[]): string {
  return columns
    .map((column) => {
      if (column === 'lid') return rows.findLast((r) => r.lid !== undefined)?.lid ?? 'closed';
      const celsius = rows.find((r) => r.sensor === column)?.celsius ?? null;
      return celsius === null ? '' : `${celsius}`;
    })
    .join(';');
}

/** Puts the rows of one moment together, in their order. */
export function* momentsOf(rows: Iterable<CsvRow>): Generator<{ readonly atMs: number; readonly rows: CsvRow[] }> {
  let moment: { atMs: number; rows: CsvRow[] } | null = null;
  for (const row of rows) {
    if (moment !== null && moment.atMs === row.atMs) moment.rows.push(row);
    else {
      if (moment !== null) yield moment;
      moment = { atMs: row.atMs, rows: [row] };
    }
  }
  if (moment !== null) yield moment;
}
