/** The shape of an input that prints lines of text, over a serial port or a box in the network, and what becomes of it. */
import { z } from 'zod';
import type { LineDecoding, LineHabits } from '../core/plan/kiln.ts';
import { hasFieldsSideBySide, patternParts } from '../core/reading/line-pattern.ts';
import type { Fault } from '../errors.ts';
import { faultAt, strict } from './faults.ts';
import { type HostPort, hostPortOf } from './host-port.ts';
import {
  BAUD,
  DECIMAL,
  HOST_PORT,
  NO_VALUES,
  PARITY,
  PORT,
  PORT_HABITS,
  SIMULATED,
  SKIP,
  STOP_BITS,
} from './input-parts.ts';
import type { Path, Source } from './yaml-file.ts';

export interface SerialParts {
  readonly kind: 'serial';
  readonly port: string;
  readonly baud: number;
  readonly parity?: 'none' | 'even' | 'odd' | undefined;
  readonly stopBits?: 1 | 2 | undefined;
}
export type TcpParts = HostPort & { readonly kind: 'tcp' };

const COLUMNS = 'write the list of columns in a line: sensor names, lid, or "-" for one to skip';
const NAMES = 'write for each sensor the name that its figure stands behind, {shelf: t1} for "t1=648.5"';
const PATTERN = 'write the line with sensor names in braces where their figures stand: "T1: {shelf} C"';
const ONE_WAY = 'write one of columns, names and pattern';

const nameInLine = z.string({ error: NAMES }).min(1, { error: NAMES }).max(200, { error: NAMES });

const lines = {
  columns: z
    .array(z.string({ error: COLUMNS }).min(1, { error: COLUMNS }), { error: COLUMNS })
    .min(1, { error: COLUMNS })
    .max(64, { error: 'write at most 64 columns' })
    .optional(),
  separator: z
    .enum(['semicolon', 'tab', 'comma', 'blank'], { error: 'write semicolon, tab, comma or blank' })
    .optional(),
  names: z.record(z.string(), nameInLine, { error: NAMES }).optional(),
  pattern: z.string({ error: PATTERN }).max(500, { error: 'write at most 500 characters' }).optional(),
  decimal: DECIMAL.optional(),
  noValue: NO_VALUES.optional(),
  simulated: SIMULATED,
};

const HABITS = {
  ...PORT_HABITS,
  delimiter: 'write separator',
  regex: 'write pattern',
  format: 'write pattern',
  json: 'write names',
  keys: 'write names',
  fields: 'write columns or names',
  sensors: 'write columns or names',
  sentinel: 'write noValue: with a list of numbers and words',
};

export const serialSchema = strict(
  {
    kind: z.literal('serial'),
    port: PORT,
    baud: BAUD,
    parity: PARITY.optional(),
    stopBits: STOP_BITS.optional(),
    ...lines,
  },
  'write {kind: serial, port}',
  { ...HABITS, address: 'write kind: tcp for a box in the network' },
);

export const tcpSchema = strict(
  { kind: z.literal('tcp'), address: HOST_PORT, ...lines },
  'write {kind: tcp, address}',
  { ...HABITS, port: 'write address: HOST:PORT', host: 'write address: HOST:PORT', ip: 'write address: HOST:PORT' },
);

export type LineShape = z.infer<typeof serialSchema> | z.infer<typeof tcpSchema>;

/** What a schema cannot say of the ways to read a line. */
export function lineFaults(source: Source, shape: LineShape, at: Path): Fault[] {
  const { columns, names, pattern, separator, decimal } = shape;
  const ways = Object.entries({ columns, names, pattern }).filter(([, way]) => way !== undefined);
  const second = ways[1];
  if (second !== undefined) {
    return [faultAt(source, [...at, second[0]], ONE_WAY, `found ${ways.map(([key]) => key).join(' and ')}`)];
  }
  const faults: Fault[] = [];
  if (separator !== undefined && (names !== undefined || pattern !== undefined)) {
    faults.push(faultAt(source, [...at, 'separator'], 'leave it out: only columns have a separator'));
  }
  if (separator === 'comma' && decimal === 'comma') {
    faults.push(faultAt(source, [...at, 'separator'], 'write another one, or decimal: point: a comma cannot be both'));
  }
  const places = Object.entries(names ?? {});
  for (const [i, [name, place]] of places.entries()) {
    if (places.findIndex(([, other]) => other === place) === i) continue;
    faults.push(faultAt(source, [...at, 'names', name], 'give each a name of its own', `"${place}" is read twice`));
  }
  return pattern === undefined ? faults : [...faults, ...patternFaults(source, pattern, [...at, 'pattern'])];
}

function patternFaults(source: Source, pattern: string, at: Path): Fault[] {
  const parts = patternParts(pattern);
  if (!parts.some((part) => part.kind === 'field' && part.name !== SKIP)) return [faultAt(source, at, PATTERN)];
  if (!hasFieldsSideBySide(parts)) return [];
  return [faultAt(source, at, 'write what stands between two figures, if only a blank', 'two braces touch')];
}

/** Under these names a sensor or the lid is fed, each with its place in the configuration. */
export function lineFeeds(shape: LineShape, sensors: readonly string[], at: Path): { target: string; path: Path }[] {
  const { columns, names, pattern } = shape;
  if (names !== undefined) return Object.keys(names).map((target) => ({ target, path: [...at, 'names', target] }));
  if (pattern !== undefined) {
    return patternParts(pattern).flatMap((part) =>
      part.kind === 'field' && part.name !== SKIP ? [{ target: part.name, path: [...at, 'pattern'] }] : [],
    );
  }
  if (columns === undefined) return sensors.map((target) => ({ target, path: at }));
  return columns.flatMap((target, i) => (target === SKIP ? [] : [{ target, path: [...at, 'columns', i] }]));
}

/** @returns where the lines come from, and how they become figures */
export function wireLines(
  shape: LineShape,
  sensors: readonly string[],
): { parts: SerialParts | TcpParts; decoding: LineDecoding } {
  const decoding = lineDecoding(shape, sensors);
  if (shape.kind === 'tcp') return { parts: { kind: 'tcp', ...hostPortOf(shape.address) }, decoding };
  const { kind, port, baud, parity, stopBits } = shape;
  return { parts: { kind, port, baud, parity, stopBits }, decoding };
}

function lineDecoding(shape: LineShape, sensors: readonly string[]): LineDecoding {
  const { columns = sensors, names, pattern, separator, decimal, noValue } = shape;
  const habits: LineHabits = {
    ...(decimal !== undefined && { decimal }),
    ...(noValue !== undefined && { noValue }),
  };
  if (names !== undefined) return { kind: 'names', names, ...habits };
  if (pattern !== undefined) return { kind: 'pattern', pattern, ...habits };
  return { kind: 'columns', columns, ...(separator !== undefined && { separator }), ...habits };
}
