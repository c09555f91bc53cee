/** How boards and instruments with a text line print what they measure. Invented ones, of kinds that are common practice. */
import type { DeviceReading } from './device.ts';

export interface LineShape {
  /** What is special about it. */
  readonly sentence: string;
  readonly style: 'columns' | 'pairs' | 'json';
  /** Between columns or pairs. */
  readonly separator: ';' | ',' | '\t' | ' ';
  readonly decimal: '.' | ',';
  readonly unit: 'C' | 'F';
  /** Written behind each number. */
  readonly unitSign: '' | ' °C' | 'C' | 'F';
  /** What stands where the couple gives no temperature; JSON has null of its own. */
  readonly noValue: string;
  readonly end: '\r\n' | '\n' | '\r';
  /** The columns' names as the first line. */
  readonly header: boolean;
  /** The port was opened in the middle of a line: only the end of the first one is heard. */
  readonly startsMidLine: boolean;
}

const plain: LineShape = {
  sentence: 'Values parted by semicolons, an empty field where there is none: 648.25;652;closed.',
  style: 'columns',
  separator: ';',
  decimal: '.',
  unit: 'C',
  unitSign: '',
  noValue: '',
  end: '\r\n',
  header: false,
  startsMidLine: false,
};

/** By the name that the command line knows. */
export const lineShapes = {
  semicolons: plain,
  commas: { ...plain, sentence: 'Values parted by commas, lines ended by LF alone.', separator: ',', end: '\n' },
  tabs: { ...plain, sentence: 'Values parted by tabs.', separator: '\t' },
  blanks: {
    ...plain,
    sentence: 'Values parted by blanks, --- where there is none.',
    separator: ' ',
    noValue: '---',
  },
  'decimal-comma': { ...plain, sentence: 'Decimal comma: 648,25;652.', decimal: ',' },
  pairs: {
    ...plain,
    sentence: 'Names and values: shelf=648.25 top=652 lid=closed.',
    style: 'pairs',
    separator: ' ',
    noValue: 'nan',
  },
  json: { ...plain, sentence: 'One JSON object a line, null where there is no value.', style: 'json', end: '\n' },
  'degree-sign': { ...plain, sentence: 'The degree sign behind each number, as UTF-8.', unitSign: ' °C' },
  fahrenheit: { ...plain, sentence: 'Degrees Fahrenheit, and it says so: 1198.8F.', unit: 'F', unitSign: 'F' },
  'fahrenheit-unsaid': {
    ...plain,
    sentence: 'Degrees Fahrenheit, and it does not say so: whoever reads it believes in a kiln far too hot.',
    unit: 'F',
  },
  header: { ...plain, sentence: "The columns' names as the first line after power-on.", header: true },
  'cr-only': { ...plain, sentence: 'Lines ended by CR alone.', end: '\r' },
  'mid-line': { ...plain, sentence: 'Heard from the middle of its first line on.', startsMidLine: true },
} as const satisfies Record<string, LineShape>;

export type LineShapeName = keyof typeof lineShapes;

/** What was measured in one round. */
export interface LineValues {
  readonly readings: readonly Pick<DeviceReading, 'sensor' | 'celsius'>[];
  readonly lid?: 'open' | 'closed';
}

/**
 * One line with its end.
 * @param columns sensors in their order on the line, and `lid`
 */
export function printLine(shape: LineShape, columns: readonly string[], measured: LineValues): string {
  const values = columns.map((column) => ({ column, value: shownAt(shape, column, measured) }));
  return `${joined(shape, values)}${shape.end}`;
}

/** What stands before the first whole line: the columns' names, the end of a line, or nothing. */
export function printStart(shape: LineShape, columns: readonly string[], measured: LineValues): string {
  if (shape.header) return `${columns.join(shape.separator)}${shape.end}`;
  if (!shape.startsMidLine) return '';
  const line = printLine(shape, columns, measured);
  // From the second character on: "48.25" for 648.25 is the cut that misleads most.
  return line.slice(1);
}

type Value = { readonly column: string; readonly value: number | 'open' | 'closed' | null };

function shownAt(shape: LineShape, column: string, measured: LineValues): Value['value'] {
  if (column === 'lid') return measured.lid ?? 'closed';
  const celsius = measured.readings.find((r) => r.sensor === column)?.celsius ?? null;
  if (celsius === null) return null;
  return shape.unit === 'C' ? celsius : fahrenheitOf(celsius);
}

/** As a board's display rounds it: to a tenth. */
function fahrenheitOf(celsius: number): number {
  return Math.round((celsius * 1.8 + 32) * 10) / 10;
}

function joined(shape: LineShape, values: readonly Value[]): string {
  switch (shape.style) {
    case 'columns':
      return values.map(({ value }) => textOf(shape, value)).join(shape.separator);
    case 'pairs':
      return values.map(({ column, value }) => `${column}=${textOf(shape, value)}`).join(shape.separator);
    case 'json':
      return JSON.stringify(Object.fromEntries(values.map(({ column, value }) => [column, value])));
  }
}

function textOf(shape: LineShape, value: Value['value']): string {
  if (value === null) return shape.noValue;
  if (typeof value === 'string') return value;
  return `${`${value}`.replace('.', shape.decimal)}${shape.unitSign}`;
}
