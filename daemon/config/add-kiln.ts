/** Writes a kiln into the configuration: what stands in it stays, comments too, and a power cut leaves the old or the new whole. */
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
import { isDeepStrictEqual } from 'node:util';
import { Document, isNode, isSeq, parseDocument } from 'yaml';
import { ConfigError } from '../errors.ts';
import { loadConfig } from './load.ts';

const HEAD = ` The kilns of this workshop, written by Spyhole. Change it as you like; what is wrong in it is named at the next start.`;
/** Only its owner may read it: it names where passwords stand. */
const NEW_FILE_MODE = 0o600;

/**
 * The file as it was stays where the new one would be at fault.
 * @param entry a kiln's entry, as `kilnEntryOf` makes it
 * @returns the entry as it was written
 * @throws ConfigError for a file that is at fault already, an entry that is, or a folder that may not be written
 */
export function addKilnToFile(file: string, entry: object, env: NodeJS.ProcessEnv): string {
  const before = textIn(file);
  const text = before === undefined ? textOf(emptyDocument(), entry) : withEntry(before, entry, file);
  replaceFile(file, text, (written) => loadConfig(written, env));
  return textOfEntry(entry);
}

function withEntry(before: string, entry: object, file: string): string {
  const doc = parseDocument(before);
  const [fault] = doc.errors;
  if (fault !== undefined) {
    const right = fault.message.split('\n')[0] ?? '';
    throw new ConfigError(file, [{ what: 'is at fault already', where: 'the file', right }]);
  }
  if (doc.contents === null) return textOf(emptyDocument(), entry);
  return insertedBehindLast(before, doc, entry) ?? textOf(doc, entry);
}

/** The whole written anew: right in any case, though spaces and comments may move. */
function textOf(doc: Document, entry: object): string {
  const kilns = doc.get('kilns');
  const node = doc.createNode(entry);
  if (isSeq(kilns)) kilns.add(node);
  else doc.set('kilns', doc.createNode([node]));
  return doc.toString({ lineWidth: 0, flowCollectionPadding: false });
}

/** Not a byte of what stands there is touched. @returns undefined where the kilns are not written one below the other */
function insertedBehindLast(before: string, doc: Document, entry: object): string | undefined {
  const kilns = doc.get('kilns');
  if (!isSeq(kilns) || kilns.flow === true) return undefined;
  const [first] = kilns.items;
  const last = kilns.items.at(-1);
  if (!isNode(first) || !isNode(last) || !first.range || !last.range) return undefined;
  const indent = /(?:^|\n)( *)- +$/.exec(before.slice(0, first.range[0]))?.[1];
  if (indent === undefined) return undefined;
  const end = last.range[1];
  const lineEnd = before[end - 1] === '\n' ? end - 1 : before.indexOf('\n', end);
  const head = lineEnd === -1 ? `${before}\n` : before.slice(0, lineEnd + 1);
  const added = textOfEntry(entry).replace(/^(?=.)/gm, indent);
  const text = `${head}\n${added}${before.slice(head.length)}`;
  const isMeant = isDeepStrictEqual(parseDocument(text).toJS()?.kilns, [...(doc.toJS()?.kilns ?? []), entry]);
  return isMeant ? text : undefined;
}

/** As it stands under `kilns:`. */
export function textOfEntry(entry: object): string {
  return new Document([entry]).toString({ lineWidth: 0 });
}

function textIn(file: string): string | undefined {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return undefined;
    throw unwritable(file, error);
  }
}

function emptyDocument(): Document {
  const empty = new Document({ kilns: [] });
  empty.commentBefore = HEAD;
  return empty;
}

/** Under a name of its own first, looked at there, and only then in the old one's place. */
function replaceFile(file: string, text: string, check: (written: string) => unknown): void {
  const written = `${file}.new`;
  try {
    mkdirSync(dirname(file), { recursive: true });
    const mode = statSync(file, { throwIfNoEntry: false })?.mode ?? NEW_FILE_MODE;
    writeWhole(written, text, mode & 0o777);
    check(written);
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
