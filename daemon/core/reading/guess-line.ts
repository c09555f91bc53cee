/**
 * A line that nobody has described yet -> every figure in it and where it stands, for a person to say which one is the
 * kiln's; and what that person picked -> how such lines are read from now on.
 */

import type { FigureUnit } from '../plan/instrument.ts';
import type { LineDecoding, LineSeparator } from '../plan/kiln.ts';
import { partedFromUnit } from './decode.ts';
import { parsedJson, textOfJson } from './json-place.ts';
import { hasFieldsSideBySide, matchPattern, patternParts } from './line-pattern.ts';
import { splitFields, withoutOuterBlanks } from './text-line.ts';

export type FieldPlace =
  | {
      readonly kind: 'column';
      /** From 0, of so many. */
      readonly index: number;
      readonly count: number;
      readonly separator?: LineSeparator;
    }
  /** Behind `t1=`, or at a place in JSON. */
  | { readonly kind: 'name'; readonly name: string }
  /** The so-manieth number, from 0, of a line of text. */
  | { readonly kind: 'number'; readonly index: number };

export interface FieldFound {
  readonly place: FieldPlace;
  /** As it stands in the line. */
  readonly text: string;
  /** What it says itself that it counts. */
  readonly unit: FigureUnit | null;
  /** The number that it may be; two where a comma may mean either. */
  readonly figures: readonly { readonly decimal: 'point' | 'comma'; readonly figure: number }[];
}

/** With commas between thousands, or with one point or comma. */
const FIGURE = /[+-]?(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\d,])|\d+(?:[.,]\d+)?)/g;
/** A person looks through no more. Ours. */
const MOST_FIELDS = 64;

/** Only fields with a figure in them; in the order of the line. */
export function fieldsFound(line: string): readonly FieldFound[] {
  const trimmed = line.trim();
  const json = /^[[{]/.test(trimmed) ? parsedJson(trimmed) : undefined;
  if (json !== undefined) return leavesOf(json, '').slice(0, MOST_FIELDS);
  const named = namedFields(trimmed);
  if (named.length > 0) return named.slice(0, MOST_FIELDS);
  const columns = columnFields(withoutOuterBlanks(line));
  return (columns.length > 0 ? columns : numberFields(trimmed)).slice(0, MOST_FIELDS);
}

function leavesOf(value: unknown, at: string): FieldFound[] {
  if (typeof value === 'object' && value !== null) {
    return Object.entries(value).flatMap(([key, part]) => leavesOf(part, at === '' ? key : `${at}.${key}`));
  }
  const text = textOfJson(value);
  return text === undefined || at === '' ? [] : found({ kind: 'name', name: at }, text);
}

function namedFields(line: string): FieldFound[] {
  const tight = line.replace(/[ \t]+/g, ' ').replace(/ ?= ?/g, '=');
  return tight.split(/[; ]|,(?= ?[\p{L}_])/u).flatMap((pair) => {
    const at = pair.indexOf('=');
    return at > 0 ? found({ kind: 'name', name: pair.slice(0, at) }, pair.slice(at + 1).replace(/,$/, '')) : [];
  });
}

const SEPARATORS = ['semicolon', 'tab', 'comma', 'blank'] as const satisfies readonly LineSeparator[];
const SIGNS: Readonly<Record<LineSeparator, string>> = { semicolon: ';', tab: '\t', comma: ',', blank: ' ' };
/** A figure, perhaps with its unit behind it, and nothing else. */
const FIGURE_ALONE = /^[+-]?(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:[.,]\d+)?)\s*(?:°?\s*[CFK])?$/i;
/** One figure with a decimal comma, or two whole ones side by side. */
const ONE_OR_TWO = /^([+-]?\d{2,4}),([+-]?\d{2,4})$/;

/** The first separator that leaves nothing but figures, words without one, and empty places. */
function columnFields(line: string): FieldFound[] {
  if (FIGURE_ALONE.test(line.trim())) {
    const parts = ONE_OR_TWO.exec(line.trim())?.slice(1) ?? [];
    const two = parts.flatMap((text, index) => found({ kind: 'column', index, count: 2, separator: 'comma' }, text));
    return [...found({ kind: 'column', index: 0, count: 1 }, line), ...two];
  }
  for (const separator of SEPARATORS) {
    if (!line.includes(SIGNS[separator])) continue;
    const fields = line.split(separator === 'blank' ? / +/ : SIGNS[separator]).map((field) => field.trim());
    if (fields.at(-1) === '') fields.pop();
    const count = fields.length;
    const isTable = count > 1 && fields.every((field) => FIGURE_ALONE.test(field) || !/\d/.test(field));
    if (!isTable) continue;
    // Left unsaid where it would be found anyway: then a line with a decimal comma is read as well.
    const isUsual = splitFields(line, count).every((field, i) => field === fields[i]);
    const as = isUsual ? {} : { separator };
    return fields.flatMap((text, index) => found({ kind: 'column', index, count, ...as }, text));
  }
  return [];
}

/** Only those that the line's own pattern gives back: where a comma ends one figure and begins another, it may not. */
function numberFields(line: string): FieldFound[] {
  const figures = [...line.matchAll(FIGURE)].map(([text]) => text);
  const parts = patternParts(patternOf(line, String));
  const read = new Map(hasFieldsSideBySide(parts) ? [] : matchPattern(line, parts));
  return figures.flatMap((text, index) =>
    read.get(String(index)) === text ? found({ kind: 'number', index }, text) : [],
  );
}

/** The line with a name in braces in place of each of its figures. */
function patternOf(line: string, nameAt: (index: number) => string): string {
  let index = -1;
  return line.trim().replace(FIGURE, () => {
    index += 1;
    return `{${nameAt(index)}}`;
  });
}

function found(place: FieldPlace, text: string): FieldFound[] {
  const { bare, unit } = partedFromUnit(text.trim());
  const [figure, second] = bare.match(FIGURE) ?? [];
  // What has a figure somewhere in it, as `board-7` has, is a name.
  if (figure === undefined || second !== undefined || figure !== bare.trim()) return [];
  const [whole = '', ...parts] = figure.split(/[.,]/);
  const byComma = Number(`${whole}.${parts.join('')}`);
  const byPoint = Number(figure.replaceAll(',', ''));
  const figures: FieldFound['figures'] = !figure.includes(',')
    ? [{ decimal: 'point', figure: Number(figure) }]
    : parts.length === 1
      ? parts[0]?.length === 3
        ? [
            { decimal: 'comma', figure: byComma },
            { decimal: 'point', figure: byPoint },
          ]
        : [{ decimal: 'comma', figure: byComma }]
      : [{ decimal: 'point', figure: byPoint }];
  return [{ place, text, unit, figures: figures.filter((one) => Number.isFinite(one.figure)) }];
}

/**
 * How lines like this one are read, so that each sensor (or `lid`) is fed from the place picked for it.
 * @param line the line in which the places were found
 * @param picked sensors with their places, all of one kind, as `fieldsFound` gives them for one line
 * @returns undefined where the places do not go together
 */
export function decodingFor(
  line: string,
  picked: Readonly<Record<string, FieldPlace>>,
  decimal?: 'point' | 'comma',
): LineDecoding | undefined {
  const entries = Object.entries(picked);
  const first = entries[0]?.[1];
  if (first === undefined || entries.some(([, place]) => !goTogether(place, first))) return undefined;
  const habits = decimal === undefined ? {} : { decimal };
  switch (first.kind) {
    case 'name': {
      const names = entries.flatMap(([sensor, place]) => (place.kind === 'name' ? [[sensor, place.name]] : []));
      return { kind: 'names', names: Object.fromEntries(names) as Record<string, string>, ...habits };
    }
    case 'column': {
      const { count, separator } = first;
      const columns = Array.from({ length: count }, (_, i) => sensorAt(entries, 'column', i));
      return { kind: 'columns', columns, ...(separator !== undefined && { separator }), ...habits };
    }
    case 'number': {
      const pattern = patternOf(line, (index) => sensorAt(entries, 'number', index));
      return { kind: 'pattern', pattern, ...habits };
    }
  }
}

function goTogether(a: FieldPlace, b: FieldPlace): boolean {
  return a.kind === b.kind && (a.kind !== 'column' || b.kind !== 'column' || a.count === b.count);
}

function sensorAt(
  entries: readonly (readonly [string, FieldPlace])[],
  kind: 'column' | 'number',
  index: number,
): string {
  return entries.find(([, place]) => place.kind === kind && place.index === index)?.[0] ?? '-';
}
