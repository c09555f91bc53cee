/** Writes a kiln into the configuration: what stands in it stays, comments too, and a power cut leaves the old or the new whole. */
import { isDeepStrictEqual } from 'node:util';
import { Document, isNode, isSeq, parseDocument } from 'yaml';
import { replaceFile, soundDocument, textIn } from './config-text.ts';
import { loadConfig } from './load.ts';

const HEAD = ` The kilns of this workshop, written by Spyhole. Change it as you like; what is wrong in it is named at the next start.`;
/**
 * The file as it was stays where the new one would be at fault.
 * @param entry a kiln's entry, as `kilnEntryOf` makes it
 * @returns the entry as it was written
 * @throws ConfigError for a file that is at fault already, an entry that is, or a folder that may not be written
 */
export function addKilnToFile(file: string, entry: object, env: NodeJS.ProcessEnv): string {
  const before = textIn(file);
  const text = before === undefined ? textOf(emptyDocument(), entry) : withEntry(before, entry, file);
  replaceFile(file, { before, text }, (written) => loadConfig(written, env));
  return textOfEntry(entry);
}

function withEntry(before: string, entry: object, file: string): string {
  const doc = soundDocument(before, file);
  if (doc.contents === null) return textOf(emptyDocument(), entry);
  return insertedBehindLast(before, doc, entry) ?? textOf(doc, entry);
}

/** The whole written anew: right in any case, though spaces and comments may move. */
function textOf(doc: Document, entry: object): string {
  const kilns = doc.get('kilns');
  const node = doc.createNode(entry);
  if (isSeq(kilns)) {
    // All were removed: the first one that comes is written out below, as a person would.
    if (kilns.items.length === 0) kilns.flow = false;
    kilns.add(node);
  } else doc.set('kilns', doc.createNode([node]));
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

function emptyDocument(): Document {
  const empty = new Document({ kilns: [] });
  empty.commentBefore = HEAD;
  return empty;
}
