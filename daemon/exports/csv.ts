/** Tables for spreadsheets after RFC 4180: numbers stay numbers, and no text is taken for a formula. */

export type Cell = string | number | null;

/** One row with its line end. */
export function csvRow(cells: readonly Cell[]): string {
  return `${cells.map(csvCell).join(',')}\r\n`;
}

/**
 * A text that a spreadsheet would run as a formula gets a quote mark before it (OWASP's advice on CSV injection); one that
 * is a plain number, such as −12.3, does not, since it would be no number any more. Semicolons and tabs stand between
 * quotes as commas do: some spreadsheets end a cell at them too, and a formula might begin behind one.
 */
function csvCell(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return String(cell);
  const isFormula = /^[=+\-@\t\r\n\0]/.test(cell) && !/^[+-]?\d+(\.\d+)?$/.test(cell);
  const safe = isFormula ? `'${cell}` : cell;
  return /[",;\t\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** A reading, or a word of the lid's switch, as it stands in the record. */
export interface CsvReading {
  readonly atMs: number;
  readonly sensor: string;
  readonly celsius: number | null;
  readonly uncertaintyC: number | null;
  readonly quality: string;
  readonly reason: string;
  readonly lid: string;
  /** What the instrument said, before anything was made of it. */
  readonly raw: string;
  /** Its line in the record. */
  readonly line: number;
}

const HEADER = [
  'time (UTC)',
  's since the start',
  'sensor',
  '°C',
  'uncertainty °C',
  'quality',
  'why',
  'lid',
  'as received',
  'line of the record',
];
/** Rows in one piece: the watch goes on between two of them. */
const PIECE = 500;

/**
 * The table of all readings, in pieces. A spreadsheet knows by the mark at its head that it is UTF-8. Times of ISO 8601
 * are text to most of them, so that the seconds since the start stand beside: a chart can be drawn over these.
 */
export function* readingsCsv(readings: Iterable<CsvReading>, startedAtMs: number): Generator<string> {
  let piece = `\uFEFF${csvRow(HEADER)}`;
  let rows = 0;
  for (const r of readings) {
    const time = new Date(r.atMs).toISOString();
    const sinceS = (r.atMs - startedAtMs) / 1000;
    piece += csvRow([time, sinceS, r.sensor, r.celsius, r.uncertaintyC, r.quality, r.reason, r.lid, r.raw, r.line]);
    rows += 1;
    if (rows % PIECE !== 0) continue;
    yield piece;
    piece = '';
  }
  yield piece;
}
