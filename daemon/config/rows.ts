/** Reads a recorded curve, row by row: `time,sensor,celsius[,lid]`. */
import { createReadStream } from 'node:fs';
import { createInterface } from 'node:readline';
import { ConfigError, type Fault } from '../errors.ts';

export interface Row {
  readonly kind: 'row';
  readonly atMs: number;
  /** Empty where the row only tells of the lid. */
  readonly sensor: string;
  /** As it stood in the file, also where it is no number: core decides what it is worth. Empty = no valid value. */
  readonly celsius: string;
  readonly lid?: string | undefined;
  /** From 1, the header included. */
  readonly line: number;
}

/** A row that cannot be placed in time or has not the header's columns. It is counted; the rows after it are read. */
export interface RejectedRow {
  readonly kind: 'rejected';
  readonly fault: Fault;
  readonly text: string;
  readonly line: number;
}

/** Ours: no firing pauses for a week, so a row that far ahead has a garbled time. */
const FARTHEST_AHEAD_MS = 7 * 24 * 3600 * 1000;
const HEADER = 'write time,sensor,celsius or time,sensor,celsius,lid';
const TIME = 'write the time as ISO 8601 with Z or an offset, for example 2026-03-14T13:52:00Z';

/**
 * Streams the file. Nothing later in it changes what was given before.
 * @throws ConfigError for what leaves nothing to replay: no such file, a wrong header, no row, an unreadable first time
 */
export async function* readRows(file: string): AsyncGenerator<Row | RejectedRow> {
  let lidColumn: boolean | undefined;
  let lastMs: number | undefined;
  let line = 0;
  for await (const text of linesOf(file)) {
    line += 1;
    const at = { file, line, text };
    if (lidColumn === undefined) {
      lidColumn = hasLidColumn(text, file);
    } else if (text.trim() !== '') {
      const row = parseRow(at, lidColumn, lastMs);
      if (lastMs === undefined && row.kind === 'rejected')
        throw new ConfigError(file, [{ ...row.fault, where: `line ${line}` }]);
      if (row.kind === 'row') lastMs = row.atMs;
      yield row;
    }
  }
  if (lidColumn === undefined) throw new ConfigError(file, [{ what: 'is empty', where: 'the file', right: HEADER }]);
  if (lastMs === undefined) {
    throw new ConfigError(file, [
      { what: 'holds no row', where: 'the file', right: 'write one row for each reading below the header' },
    ]);
  }
}

async function* linesOf(file: string): AsyncGenerator<string> {
  const stream = createReadStream(file, { encoding: 'utf8' });
  try {
    yield* createInterface({ input: stream, crlfDelay: Number.POSITIVE_INFINITY });
    // readline ends quietly where the stream failed
    if (stream.errored !== null) throw stream.errored;
  } catch (error) {
    if (error instanceof ConfigError) throw error;
    throw new ConfigError(file, [
      { what: whyUnread(error), where: 'the file', right: 'name a CSV file that can be read' },
    ]);
  } finally {
    stream.destroy();
  }
}

function whyUnread(error: unknown): string {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'ENOENT' || code === 'ENOTDIR') return 'is not there';
  if (code === 'EISDIR') return 'is a folder';
  if (code === 'EACCES') return 'may not be read by this user';
  return `cannot be read (${String(code ?? error)})`;
}

function hasLidColumn(text: string, file: string): boolean {
  const columns = fieldsOf(text.replace(/^\uFEFF/, ''))
    .map((name) => name.toLowerCase())
    .join(',');
  if (columns === 'time,sensor,celsius') return false;
  if (columns === 'time,sensor,celsius,lid') return true;
  throw new ConfigError(file, [{ what: `the header is "${text.slice(0, 80)}"`, where: 'line 1', right: HEADER }]);
}

interface At {
  readonly file: string;
  readonly line: number;
  readonly text: string;
}

function parseRow(at: At, lidColumn: boolean, lastMs: number | undefined): Row | RejectedRow {
  const fields = fieldsOf(at.text);
  const [time = '', sensor = '', celsius = '', lid = ''] = fields;
  const most = lidColumn ? 4 : 3;
  if (fields.length < 3 || fields.length > most) {
    return rejected(
      at,
      `found ${fields.length === 1 ? '1 column' : `${fields.length} columns`}`,
      `write ${lidColumn ? '3 or 4' : '3'} columns`,
    );
  }
  const atMs = parseTime(time);
  if (atMs === undefined) return rejected(at, `found the time "${time.slice(0, 40)}"`, TIME);
  if (lastMs !== undefined && atMs - lastMs > FARTHEST_AHEAD_MS) {
    return rejected(
      at,
      `found the time "${time}", more than a week after the row before`,
      'write the time at which it was read',
    );
  }
  if (sensor === '' && lid === '') return rejected(at, 'names no sensor', 'write the sensor in the second column');
  return { kind: 'row', atMs, sensor, celsius, line: at.line, ...(lid === '' ? {} : { lid }) };
}

function rejected(at: At, what: string, right: string): RejectedRow {
  return {
    kind: 'rejected',
    fault: { what, where: `${at.file} line ${at.line}`, right },
    text: at.text,
    line: at.line,
  };
}

/** The fields of one line, quotes taken off (RFC 4180, without line breaks inside quotes). */
function fieldsOf(text: string): string[] {
  if (!text.includes('"')) return text.split(',').map((field) => field.trim());
  const fields = text.match(/(?:"(?:[^"]|"")*"|[^,"])*(?:,|$)/g) ?? [];
  const whole = text.endsWith(',') ? fields : fields.slice(0, -1);
  return whole.map((field) =>
    field
      .replace(/,$/, '')
      .trim()
      .replace(/^"(.*)"$/, '$1')
      .replaceAll('""', '"'),
  );
}

const ISO = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)(?::(\d\d)(\.\d+)?)?(Z|[+-]\d\d:?\d\d)$/i;

/** UTC ms, rounded; undefined where the text is no instant, for example without an offset. */
export function parseTime(text: string): number | undefined {
  const parts = ISO.exec(text);
  if (parts === null) return undefined;
  const part = (place: number): number => Number(parts[place] ?? 0);
  const year = part(1);
  const month = part(2);
  const day = part(3);
  const hour = part(4);
  const minute = part(5);
  const second = part(6);
  const wallMs = Date.UTC(year, month - 1, day, hour, minute, second);
  const wall = new Date(wallMs);
  // Date.UTC carries 30 February and 25 o'clock over into the next month or day.
  if (wall.getUTCMonth() !== month - 1 || wall.getUTCDate() !== day || wall.getUTCHours() !== hour) return undefined;
  if (minute > 59 || second > 59 || year < 1900) return undefined;
  return Math.round(wallMs + part(7) * 1000) - offsetMs(parts[8] ?? 'Z');
}

function offsetMs(zone: string): number {
  if (zone.toUpperCase() === 'Z') return 0;
  const minutes = Number(zone.slice(1, 3)) * 60 + Number(zone.slice(-2));
  return (zone.startsWith('-') ? -1 : 1) * minutes * 60_000;
}
