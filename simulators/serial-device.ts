/** An instrument with a serial line: writes one text line for each moment of reading into a (pseudo-)terminal. */
import { closeSync, constants, openSync, writeSync } from 'node:fs';
import { seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { codeOf, DeviceError, type KilnDevice } from './device.ts';
import { distortLine, type LineTrouble } from './line-faults.ts';
import { type Round, rounds } from './line-rounds.ts';
import { type LineShape, lineShapes, printLine, printStart } from './line-shapes.ts';
import type { CsvRow } from './play-csv.ts';

export interface SerialDevice {
  /** Writes what was read at one moment; false where the line was full and the reading is lost, as on a real wire. */
  write(rows: readonly CsvRow[]): boolean;
  /** Writes bytes as they are: a garbled line, half a line. */
  writeRaw(bytes: string | Uint8Array): boolean;
  close(): void;
}

/**
 * @param path the terminal's far end, as socat makes it
 * @param columns sensors in their order on the line, and `lid`
 * @throws the operating system's error where the path cannot be opened, or where it has gone away when written to
 */
export function serialDevice(path: string, columns: readonly string[]): SerialDevice {
  // Never waits: a wire has no patience either.
  const fd = openSync(path, constants.O_WRONLY | constants.O_NOCTTY | constants.O_NONBLOCK);
  /** What was begun is sent to its end before anything else: a full line loses whole lines and tears none. */
  let begun: Uint8Array = new Uint8Array(0);

  /** How many of the bytes the terminal took. */
  function put(bytes: Uint8Array): number {
    try {
      return bytes.length === 0 ? 0 : writeSync(fd, bytes);
    } catch (error) {
      // Nobody takes the bytes away and the terminal is full: they are lost, the instrument goes on.
      if (error instanceof Error && 'code' in error && error.code === 'EAGAIN') return 0;
      throw error;
    }
  }
  function writeRaw(text: string | Uint8Array): boolean {
    begun = begun.subarray(put(begun));
    if (begun.length > 0) return false;
    const bytes = Buffer.from(text);
    const written = put(bytes);
    if (written === 0) return bytes.length === 0;
    begun = bytes.subarray(written);
    return true;
  }
  return {
    write: (rows) => writeRaw(`${lineOf(columns, rows)}\r\n`),
    writeRaw,
    close: () => closeSync(fd),
  };
}

export interface LineDeviceSpec {
  readonly path: string;
  readonly sensors: readonly string[];
  /** A last column, `lid`. */
  readonly lidSwitch?: boolean;
  readonly shape?: LineShape;
  readonly trouble?: LineTrouble;
  /** Of the trouble's chances. */
  readonly seed?: number;
}

/**
 * The kiln as a board that prints one line for each round of its couples.
 * @param trouble told when the terminal goes away
 * @throws DeviceError where the path cannot be opened
 */
export function lineDevice(spec: LineDeviceSpec, trouble: (error: DeviceError) => void): KilnDevice {
  const { path, shape = lineShapes.semicolons } = spec;
  const columns = spec.lidSwitch === true ? [...spec.sensors, 'lid'] : spec.sensors;
  const device = opened(path, columns);
  const random = seededRandom(spec.seed ?? 1);
  const inRounds = rounds(spec.sensors);
  let started = false;
  let gone = false;
  let readings = 0;
  let lost = 0;

  function write(bytes: string | Uint8Array): boolean {
    if (gone) return false;
    try {
      return device.writeRaw(bytes);
    } catch (error) {
      gone = true;
      trouble(new DeviceError(`${path} has gone away (${codeOf(error)}). Plug it in and begin again.`));
      return false;
    }
  }

  function print(round: Round): void {
    if (!started) {
      started = true;
      write(printStart(shape, columns, round));
    }
    const line = Buffer.from(printLine(shape, columns, round));
    for (let copy = 0; copy < round.copies; copy++) {
      const sent = spec.trouble === undefined ? line : distortLine(line, shape.end.length, spec.trouble, random);
      if (!write(sent) && copy === 0) lost += round.count;
    }
  }

  return {
    say(news, nowMs) {
      readings += news.readings.length;
      for (const round of inRounds.take(news, nowMs)) print(round);
    },
    async flushed() {
      for (const round of inRounds.rest()) print(round);
      // What the terminal has taken is out of the instrument's hands.
      write('');
    },
    counts: () => ({ readings, lost, requests: 0 }),
    stop: async () => device.close(),
  };
}

function opened(path: string, columns: readonly string[]): SerialDevice {
  try {
    return serialDevice(path, columns);
  } catch (error) {
    throw new DeviceError(
      `${path} cannot be opened (${codeOf(error)}). Give one end of a terminal pair that is there, or a port.`,
    );
  }
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
