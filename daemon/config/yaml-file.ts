/** Reads a YAML or JSON file into a plain value, and remembers on which line each part of it stands. */
import { readFileSync } from 'node:fs';
import { type Document, isAlias, isMap, isScalar, isSeq, LineCounter, parseDocument, type YAMLError } from 'yaml';
import { ConfigError, type Fault } from '../errors.ts';

export type Path = readonly PropertyKey[];

/** A value out of a file. `lineOf` gives the line (from 1) of the part at `path`, or of what surrounds it; undefined where no line is known. */
export interface Source {
  readonly file: string;
  readonly value: unknown;
  lineOf(path: Path): number | undefined;
}

/** The file could not be read at all, so nothing can be said about what stands in it. */
export class UnreadableFileError extends ConfigError {}

/** Ours: a configuration or a schedule of a workshop is a few kB; far more is the wrong file. */
const MAX_BYTES = 1_000_000;

/** A value that came from elsewhere than a file, for example a request: no lines. */
export function sourceWithoutLines(value: unknown, file: string): Source {
  return { file, value, lineOf: () => undefined };
}

/**
 * @throws UnreadableFileError when there is no such file, it is a folder, or it may not be read
 * @throws ConfigError when it is empty or not YAML
 */
export function readYamlFile(file: string): Source {
  return parseYaml(readText(file), file);
}

function readText(file: string): string {
  let bytes: Buffer;
  try {
    bytes = readFileSync(file);
  } catch (error) {
    throw new UnreadableFileError(file, [unreadable(error)]);
  }
  if (bytes.length > MAX_BYTES || bytes.includes(0)) {
    throw new ConfigError(file, [wholeFile('is no YAML text', 'name a YAML or JSON file of less than 1 MB')]);
  }
  return bytes.toString('utf8');
}

function unreadable(error: unknown): Fault {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  switch (code) {
    case 'ENOENT':
    case 'ENOTDIR':
      return wholeFile('is not there', 'correct the path');
    case 'EISDIR':
      return wholeFile('is a folder', 'name the YAML or JSON file itself');
    case 'EACCES':
    case 'EPERM':
      return wholeFile('may not be read by this user', 'give this user the right to read it');
    default:
      return wholeFile(`cannot be read (${String(code ?? error)})`, 'name a file that can be read');
  }
}

function wholeFile(what: string, right: string): Fault {
  return { what, where: 'the file', right };
}

/** @throws ConfigError when the text is empty or not YAML, in plain words and with the line */
export function parseYaml(text: string, file: string): Source {
  const lines = new LineCounter();
  const doc = parseDocument(text, { lineCounter: lines, prettyErrors: false, stringKeys: true });
  const faults = syntaxFaults(doc.errors, lines, text);
  if (faults.length > 0) throw new ConfigError(file, faults);
  const value = toPlain(doc, file);
  if (value === null || value === undefined) {
    throw new ConfigError(file, [wholeFile('is empty', 'write its settings into it')]);
  }
  return { file, value, lineOf: (path) => lineOf(doc, lines, path) };
}

function toPlain(doc: Document.Parsed, file: string): unknown {
  try {
    return doc.toJS();
  } catch (error) {
    // Only anchors and aliases can fail here: one that is not there, or a file made to swell.
    const reason = error instanceof Error ? error.message : String(error);
    throw new ConfigError(file, [
      wholeFile(`has an alias that cannot be followed (${reason})`, 'write the values out'),
    ]);
  }
}

/** Every key written twice; of other slips only one, the likeliest cause, since the rest of the file is then read askew. */
function syntaxFaults(errors: readonly YAMLError[], lines: LineCounter, text: string): Fault[] {
  const first = errors.find(isUnclosed) ?? errors.find((e) => e.code !== 'DUPLICATE_KEY');
  return errors
    .filter((e) => e === first || e.code === 'DUPLICATE_KEY')
    .map((e) => ({ where: `line ${lines.linePos(e.pos[0]).line}`, ...inPlainWords(e, text) }));
}

function isUnclosed(error: YAMLError): boolean {
  // "Flow" is YAML's word for what stands in brackets.
  if (error.code === 'BAD_INDENT') return error.message.startsWith('Flow');
  return error.code === 'MISSING_CHAR' && /closing|end with/.test(error.message);
}

function inPlainWords(error: YAMLError, text: string): Pick<Fault, 'what' | 'right'> {
  if (isUnclosed(error)) return { what: 'a quote or bracket above is opened and never closed', right: 'close it' };
  switch (error.code) {
    case 'DUPLICATE_KEY': {
      const key = /^[^:\n]*/.exec(text.slice(error.pos[0]))?.[0].trim() ?? '';
      return { what: `the key "${key}" is written twice`, right: 'keep one of them' };
    }
    case 'TAB_AS_INDENT':
      return { what: 'a tab is used to indent', right: 'indent with spaces' };
    case 'BAD_INDENT':
      return {
        what: 'the indentation does not fit the lines above',
        right: 'begin keys of one group in the same column',
      };
    case 'BLOCK_AS_IMPLICIT_KEY':
      return {
        what: 'a value is followed by another key',
        right: 'write one "key: value" on a line, and quote a value that holds ": "',
      };
    case 'MULTIPLE_DOCS':
      return { what: 'a second document begins', right: 'keep one document in a file, without "---" between' };
    default:
      return { what: `this is not YAML (${firstSentence(error.message)})`, right: 'write "key: value" lines, or JSON' };
  }
}

function firstSentence(message: string): string {
  return message.split('\n')[0]?.replace(/[.:]\s*$/, '') ?? message;
}

function lineOf(doc: Document.Parsed, lines: LineCounter, path: Path): number | undefined {
  let node: unknown = doc.contents;
  let offset: number | undefined;
  for (const step of path) {
    if (isAlias(node)) node = node.resolve(doc);
    if (isMap(node)) {
      const pair = node.items.find((item) => isScalar(item.key) && item.key.value === step);
      if (pair === undefined) break;
      offset = isScalar(pair.key) ? pair.key.range?.[0] : offset;
      node = pair.value;
    } else if (isSeq(node) && typeof step === 'number') {
      const item: unknown = node.items[step];
      if (item === undefined) break;
      offset = rangeStart(item) ?? offset;
      node = item;
    } else break;
  }
  return offset === undefined ? undefined : lines.linePos(offset).line;
}

function rangeStart(node: unknown): number | undefined {
  return isMap(node) || isSeq(node) || isScalar(node) || isAlias(node) ? node.range?.[0] : undefined;
}
