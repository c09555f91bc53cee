/** The text of the configuration: read, and written so that a power cut leaves the old or the new whole. */
import {
  closeSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { dirname } from 'node:path';
import { type Document, parseDocument } from 'yaml';
import { ConfigError } from '../errors.ts';

/** Only its owner may read it: it names where passwords stand. */
const NEW_FILE_MODE = 0o600;

/** @returns undefined where there is no such file @throws ConfigError for one that may not be read */
export function textIn(file: string): string | undefined {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return undefined;
    throw unwritable(file, error);
  }
}

/** @throws ConfigError for a text that is no YAML */
export function soundDocument(text: string, file: string): Document.Parsed {
  const doc = parseDocument(text);
  const [fault] = doc.errors;
  if (fault === undefined) return doc;
  const right = fault.message.split('\n')[0] ?? '';
  throw new ConfigError(file, [{ what: 'is at fault already', where: 'the file', right }]);
}

interface Rewritten {
  readonly before: string | undefined;
  readonly text: string;
  /** Keeps the text as it was beside the file. */
  readonly isKept?: boolean;
}

/** Where the text as it was is kept. */
export function keptBeside(file: string): string {
  return `${file}.before`;
}

/** Under a name of its own first, looked at there, and only then in the old one's place. @throws ConfigError */
export function replaceFile(
  file: string,
  { before, text, isKept = false }: Rewritten,
  check: (written: string) => unknown,
): void {
  const written = `${file}.new`;
  try {
    mkdirSync(dirname(file), { recursive: true });
    const mode = statSync(file, { throwIfNoEntry: false })?.mode ?? NEW_FILE_MODE;
    writeWhole(written, text, mode & 0o777);
    check(written);
    if (isKept && before !== undefined) writeWhole(keptBeside(file), before, mode & 0o777);
    renameSync(written, file);
    syncFolder(dirname(file));
  } catch (error) {
    rmSync(written, { force: true });
    if (error instanceof ConfigError) throw new ConfigError(file, error.faults);
    throw unwritable(file, error);
  }
}

/** A file of a secret, beside the configuration: for its owner's eyes only. @throws ConfigError */
export function writeSecret(file: string, secret: string): void {
  try {
    mkdirSync(dirname(file), { recursive: true });
    writeWhole(file, `${secret}\n`, NEW_FILE_MODE);
  } catch (error) {
    throw unwritable(file, error);
  }
}

function writeWhole(file: string, text: string, mode: number): void {
  rmSync(file, { force: true });
  const handle = openSync(file, 'wx', mode);
  try {
    const bytes = Buffer.from(text);
    for (let done = 0; done < bytes.length; ) done += writeSync(handle, bytes, done);
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

function syncFolder(folder: string): void {
  const handle = openSync(folder, 'r');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

function unwritable(file: string, error: unknown): ConfigError {
  const code = error instanceof Error && 'code' in error ? String(error.code) : String(error);
  const right = 'start with --config and a file in a folder that this user may write';
  return new ConfigError(file, [{ what: `cannot be written (${code})`, where: 'the file', right }]);
}
