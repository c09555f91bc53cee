/** From what the schemas find wrong to faults a person can mend: what, where, and what would be right. */
import { z } from 'zod';
import type { Fault } from '../errors.ts';
import { nearestWord } from './nearest-word.ts';
import type { Path, Source } from './yaml-file.ts';

/** Keys that people are likely to write here, with what to write instead. */
export type Habits = Readonly<Record<string, string>>;

/**
 * An object that allows only the keys of `shape`. The message of each leaf is the `right` of its fault.
 * @param right what would be right where the value is no object at all
 */
export function strict<Shape extends z.core.$ZodLooseShape>(shape: Shape, right: string, habits: Habits = {}) {
  const known = Object.keys(shape);
  return z.strictObject(shape, {
    error: (issue) =>
      issue.code === 'unrecognized_keys' ? issue.keys.map((key) => adviceFor(key, known, habits)).join('\n') : right,
  });
}

function adviceFor(key: string, known: readonly string[], habits: Habits): string {
  const habit = Object.hasOwn(habits, key) ? habits[key] : undefined;
  if (habit !== undefined) return habit;
  const near = nearestWord(key, known);
  return near === undefined ? `known here are ${known.join(', ')}` : `write ${near}`;
}

/** Everything that `schema` finds wrong in the part of the source at `at`. */
export function schemaFaults(schema: z.ZodType, source: Source, at: Path = []): Fault[] {
  const result = schema.safeParse(valueAt(source.value, at));
  return result.success ? [] : result.error.issues.flatMap((issue) => issueFaults(issue, source, at));
}

function issueFaults(issue: z.core.$ZodIssue, source: Source, at: Path): Fault[] {
  const path = [...at, ...issue.path];
  if (issue.code === 'unrecognized_keys') {
    const advice = issue.message.split('\n');
    return issue.keys.map((key, i) => ({
      what: `unknown key "${key}"`,
      where: whereIs([...path, key], source),
      right: advice[i] ?? '',
    }));
  }
  return [faultAt(source, path, issue.message)];
}

/** A fault of the value at `path`, which is quoted. */
export function faultAt(source: Source, path: Path, right: string, what = found(valueAt(source.value, path))): Fault {
  return { what, where: whereIs(path, source), right };
}

/** `segments[2].rateCPerH (line 9)` */
export function whereIs(path: Path, source: Source): string {
  const line = source.lineOf(path);
  const place = path.reduce<string>(
    (text, step) =>
      typeof step === 'number' ? `${text}[${step}]` : text === '' ? String(step) : `${text}.${String(step)}`,
    '',
  );
  return `${place === '' ? 'the file' : place}${line === undefined ? '' : ` (line ${line})`}`;
}

export function valueAt(value: unknown, path: Path): unknown {
  let part = value;
  for (const step of path) {
    if (typeof part !== 'object' || part === null || !Object.hasOwn(part, step)) return undefined;
    part = (part as Record<PropertyKey, unknown>)[step];
  }
  return part;
}

/** The value as it stands, short enough for a sentence. */
export function found(value: unknown): string {
  if (value === undefined) return 'is missing';
  if (value === null) return 'is empty';
  if (Array.isArray(value)) return value.length === 0 ? 'found an empty list' : 'found a list';
  if (typeof value === 'object') return 'found a group of keys';
  if (typeof value === 'string') return `found ${JSON.stringify(value.length > 60 ? `${value.slice(0, 60)}…` : value)}`;
  return `found ${String(value)}`;
}
