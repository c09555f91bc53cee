/** A line of text -> the fields in it -> readings. What a field's figure means is the reader's business. */
import type { LineDecoding, LineHabits, LineSeparator } from '../plan/kiln.ts';
import { jsonAt, parsedJson, textOfJson } from './json-place.ts';
import { matchPattern, patternParts } from './line-pattern.ts';
import { quote } from './quote.ts';
import type { Decoded, Reading, Rejected } from './reading.ts';

export interface FieldReader {
  /** @returns undefined where the text is not what this name gives */
  read(name: string, text: string): Reading | undefined;
  /** What this name gives, for a sentence: "temperature". */
  wanted(name: string): string;
}

/** A field's name and its text, as it stands in the line; a number of JSON has a point whatever else is written. */
type Field = readonly [name: string, text: string, isJsonNumber?: boolean];

export function decodeLine(line: string, decoding: LineDecoding, reader: FieldReader): Decoded | Rejected {
  const trimmed = line.trim();
  if (trimmed === '') return reject('An empty line');
  if (isGarbled(trimmed)) return reject(`The line ${quote(trimmed)} is garbled: check baud and parity`);
  const fields = fieldsOf(trimmed, withoutOuterBlanks(line), decoding);
  if (typeof fields === 'string') return reject(`The line ${quote(trimmed)} ${fields}`);
  const readings: Reading[] = [];
  for (const [name, text, isJsonNumber] of fields) {
    const figure = figureText(text, isJsonNumber === true ? { ...decoding, decimal: 'point' } : decoding);
    if (figure === undefined) return reject(`The line ${quote(trimmed)} ${misread(text, decoding)}`);
    const reading = reader.read(name, figure);
    if (reading === undefined) {
      return reject(`The line ${quote(trimmed)} has no ${reader.wanted(name)} ${placeOf(name, decoding, trimmed)}`);
    }
    readings.push(reading);
  }
  return { ok: true, readings };
}

/** Without blanks at its ends; a tab there stays, since the column before or behind it is empty. */
export function withoutOuterBlanks(line: string): string {
  let from = 0;
  let to = line.length;
  while (from < to && line[from] === ' ') from += 1;
  while (to > from && line[to - 1] === ' ') to -= 1;
  return line.slice(from, to);
}

/** A wrong speed or a bad wire makes bytes that no instrument prints. */
function isGarbled(line: string): boolean {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  return /[\u0000-\u0008\u000b-\u001f\u007f-\u009f]/.test(line);
}

/** @returns why there are none, as the rest of a sentence */
function fieldsOf(line: string, withTabs: string, decoding: LineDecoding): readonly Field[] | string {
  switch (decoding.kind) {
    case 'columns': {
      const { columns, separator } = decoding;
      const places = columns.filter((name) => name !== '-').map((name) => [name, name] as const);
      if (separator === undefined) {
        if (line.startsWith('{')) return fieldsOfJson(line, places);
        if (line.includes('=')) return fieldsOfPairs(line, places);
      }
      const texts = line.startsWith('[') ? listOfJson(line) : splitFields(withTabs, columns.length, separator);
      if (texts === undefined) return 'begins like JSON, and is none';
      if (texts.length !== columns.length) {
        return `has ${texts.length} fields where ${columns.length} are expected`;
      }
      return columns.map((name, i) => [name, texts[i] ?? ''] as const).filter(([name]) => name !== '-');
    }
    case 'names': {
      const places = Object.entries(decoding.names);
      return line.startsWith('{') || line.startsWith('[') ? fieldsOfJson(line, places) : fieldsOfPairs(line, places);
    }
    case 'pattern':
      return matchPattern(line, patternParts(decoding.pattern)) ?? 'is not of the pattern that is written down';
  }
}

type Places = readonly (readonly [name: string, place: string])[];

/** Whatever this line does not tell of is left out; other lines may. */
function fieldsOfJson(line: string, places: Places): readonly Field[] | string {
  const value = parsedJson(line);
  if (value === undefined) return 'begins like JSON, and is none';
  const fields: Field[] = [];
  for (const [name, place] of places) {
    const part = jsonAt(value, place);
    if (part === undefined) continue;
    const text = textOfJson(part);
    if (text === undefined) return `has a group or a list at ${quote(place)}`;
    fields.push([name, text, typeof part === 'number']);
  }
  return fields.length > 0 ? fields : namesNone(places);
}

function listOfJson(line: string): string[] | undefined {
  const value = parsedJson(line);
  if (!Array.isArray(value)) return undefined;
  // A group within the list is no figure, whatever the column: it stays what it is and is refused as such.
  return value.map((part) => textOfJson(part) ?? '{}');
}

/** `shelf=648.5; top = 651, lid=open`: a comma ends a pair only before the next name, for it may stand in a number. */
function fieldsOfPairs(line: string, places: Places): readonly Field[] | string {
  const tight = line.replace(/[ \t]+/g, ' ').replace(/ ?= ?/g, '=');
  const fields: Field[] = [];
  for (const pair of tight.split(/[; ]|,(?= ?[\p{L}_])/u)) {
    const at = pair.indexOf('=');
    const place = places.find(([, place]) => at > 0 && place === pair.slice(0, at));
    if (place !== undefined) fields.push([place[0], pair.slice(at + 1).replace(/,$/, '')]);
  }
  return fields.length > 0 ? fields : namesNone(places);
}

function namesNone(places: Places): string {
  return `names none of ${places.map(([, place]) => place).join(', ')}`;
}

const SEPARATORS: Readonly<Record<LineSeparator, RegExp>> = {
  semicolon: /;/,
  tab: /\t/,
  comma: /,/,
  blank: / +/,
};

/**
 * A comma may part fields or stand in a number: with one column it is the number's own, and where blanks or semicolons
 * already make as many fields as there are columns too. A separator behind the last field makes no further one.
 */
export function splitFields(line: string, count: number, separator?: LineSeparator): string[] {
  if (separator === undefined && count === 1) return [line];
  const ways = separator === undefined ? likelySeparators(line) : [SEPARATORS[separator]];
  let first: string[] | undefined;
  for (const way of ways) {
    const fields = line.split(way).map(bare);
    if (fields.length === count + 1 && fields.at(-1) === '') fields.pop();
    if (fields.length === count) return fields;
    first ??= fields;
  }
  return first ?? [line];
}

function likelySeparators(line: string): readonly RegExp[] {
  if (line.includes(';')) return [SEPARATORS.semicolon];
  if (line.includes('\t')) return [SEPARATORS.tab];
  return [/, +/, SEPARATORS.blank, SEPARATORS.comma];
}

/** Without blanks and quotation marks around it. */
function bare(field: string): string {
  const text = field.trim();
  return text.length >= 2 && text.startsWith('"') && text.endsWith('"') ? text.slice(1, -1) : text;
}

/** 1,074 is one and a bit here and a thousand there. */
const ONE_OR_A_THOUSAND = /^[+-]?[1-9]\d{0,2},\d{3}(?!\d)/;
const THOUSANDS = /^[+-]?\d{1,3}(?:,\d{3})+(?!\d)/;
/** No field of a number is longer: what is, is not looked at. Ours. */
const LONGEST_FIELD = 60;

/** The field with a decimal point, or empty where it stands for no value; undefined where its comma can't be understood. */
export function figureText(text: string, { decimal, noValue = [] }: LineHabits): string | undefined {
  const field = text.trim();
  if (field.length > LONGEST_FIELD) return field;
  if (noValue.some((word) => isSame(field, word))) return '';
  if (decimal === 'comma') return field.includes('.') ? undefined : field.replace(',', '.');
  if (decimal === 'point') {
    if (!field.includes(',')) return field;
    const thousands = THOUSANDS.exec(field)?.[0];
    return thousands === undefined ? undefined : thousands.replaceAll(',', '') + field.slice(thousands.length);
  }
  return ONE_OR_A_THOUSAND.test(field) ? undefined : field;
}

function isSame(field: string, word: string | number): boolean {
  if (typeof word === 'string') return field.toLowerCase() === word.toLowerCase();
  return field !== '' && Number(field.replace(',', '.')) === word;
}

export function misread(text: string, { decimal }: LineHabits): string {
  if (decimal === undefined)
    return `may mean a whole number or one with a decimal comma: write decimal: comma or decimal: point`;
  return `has ${quote(text)}, which is no number with a decimal ${decimal}`;
}

function placeOf(name: string, decoding: LineDecoding, line: string): string {
  const isPair = decoding.kind === 'columns' && !line.startsWith('{') && line.includes('=');
  return isPair ? `behind ${name}=` : `where ${name} should be`;
}

function reject(sentence: string): Rejected {
  return { ok: false, sentence: `${sentence}.` };
}
