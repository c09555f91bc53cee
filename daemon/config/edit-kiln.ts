/**
 * Changes a kiln in the configuration, or takes it out: what stands of others is not touched, comments are kept, and the
 * file as it was stays beside it.
 */
import { isDeepStrictEqual } from 'node:util';
import { Document, isMap, isScalar, isSeq, parseDocument, type Scalar, type YAMLMap, YAMLSeq } from 'yaml';
import { ConfigError } from '../errors.ts';
import type { KilnForm } from '../wire/setup.ts';
import { replaceFile, soundDocument, textIn } from './config-text.ts';
import { valueAt } from './faults.ts';
import { type Edit, editsFor } from './kiln-edits.ts';
import { formOf } from './kiln-form.ts';
import { loadConfig } from './load.ts';

/** @throws ConfigError for a file that is at fault, or lacks the kiln */
export function removeKilnFromFile(file: string, id: string, env: NodeJS.ProcessEnv): void {
  const { before, doc, index } = opened(file, id);
  const wanted = kilnsIn(doc).filter((_, i) => i !== index);
  let text = cutOut(before, doc, index);
  if (text === undefined || !isMeant(text, wanted)) {
    if (wanted.length === 0) doc.set('kilns', doc.createNode([]));
    else doc.deleteIn(['kilns', index]);
    text = wholeText(doc, file);
  }
  replaceFile(file, { before, text, isKept: true }, (written) => loadConfig(written, env));
}

/**
 * Only what differs from what is written is written anew.
 * @param lastLines the last line that each input said, in their order
 * @returns whether anything differed
 * @throws ConfigError for a file that is at fault or would be, or lacks the kiln or a sensor
 */
export function changeKilnInFile(
  file: string,
  form: KilnForm,
  env: NodeJS.ProcessEnv,
  lastLines: readonly (string | undefined)[] = [],
): boolean {
  const { before, doc, index } = opened(file, form.id);
  const config = loadConfig(file, env).kilns.find(({ kiln }) => kiln.id === form.id);
  if (config === undefined) throw notWritten(file, form.id);
  const at = ['kilns', index];
  const edits = editsFor({ file, whole: doc.toJS(), at, was: formOf(config), form, lastLines });
  if (edits.length === 0) return false;
  const others = kilnsIn(doc).filter((_, i) => i !== index);
  try {
    applyEdits(doc, edits);
  } catch (error) {
    // A part that is written once and named here cannot be changed for this kiln alone.
    throw error instanceof ConfigError ? error : sharedPart(file);
  }
  const wanted = kilnsIn(doc);
  if (
    !isDeepStrictEqual(
      wanted.filter((_, i) => i !== index),
      others,
    )
  )
    throw sharedPart(file);
  const text = withChanged(before, doc, index);
  const isWell = text !== undefined && isMeant(text, wanted);
  replaceFile(file, { before, text: isWell ? text : wholeText(doc, file), isKept: true }, (written) =>
    loadConfig(written, env),
  );
  return true;
}

function opened(file: string, id: string): { before: string; doc: Document.Parsed; index: number } {
  const before = textIn(file);
  if (before === undefined) throw notWritten(file, id);
  const doc = soundDocument(before, file);
  const index = kilnsIn(doc).findIndex((kiln) => valueAt(kiln, ['id']) === id);
  if (index < 0) throw notWritten(file, id);
  return { before, doc, index };
}

function notWritten(file: string, id: string): ConfigError {
  const right = 'look into the file: somebody has changed it since the watch began';
  return new ConfigError(file, [{ what: `the kiln ${id} is not written there`, where: 'kilns', right }]);
}

function kilnsIn(doc: Document): readonly unknown[] {
  const kilns: unknown = valueAt(doc.toJS(), ['kilns']);
  return Array.isArray(kilns) ? kilns : [];
}

/** In the order in which they come, but for other keys: all are found under their old ones before the first is set. */
function applyEdits(doc: Document, edits: readonly Edit[]): void {
  const keys = edits.flatMap((edit) => ('key' in edit ? [{ key: keyNode(doc, edit.path), now: edit.key }] : []));
  for (const edit of edits) {
    if ('key' in edit) continue;
    const { path, value } = edit;
    if (value === undefined) doc.deleteIn(path);
    else doc.setIn(path, typeof value === 'object' ? doc.createNode(value) : value);
  }
  for (const { key, now } of keys) key.value = now;
}

function keyNode(doc: Document, path: readonly (string | number)[]): Scalar {
  const map = doc.getIn(path.slice(0, -1), true);
  const pair = isMap(map) ? map.items.find(({ key }) => isScalar(key) && key.value === path.at(-1)) : undefined;
  if (pair !== undefined && isScalar(pair.key)) return pair.key;
  throw new TypeError(`${path.join('.')} is no key of its own`);
}

// ---- its text ----

interface Lines {
  readonly node: YAMLMap;
  /** From the hyphen before it to its end. */
  readonly from: number;
  readonly to: number;
  readonly indent: string;
}

/** @returns undefined where the kilns are not written one below the other */
function linesOf(before: string, doc: Document, index: number): Lines | undefined {
  const kilns = doc.get('kilns');
  if (!isSeq(kilns) || kilns.flow === true) return undefined;
  const node = kilns.items[index];
  if (!isMap(node) || !node.range) return undefined;
  const [begin, to] = node.range;
  const lead = /(?:^|\n)( *)- +$/.exec(before.slice(0, begin));
  if (lead === null) return undefined;
  const indent = lead[1] ?? '';
  return { node, from: begin - (lead[0].length - (lead[0].startsWith('\n') ? 1 : 0)), to, indent };
}

function withChanged(before: string, doc: Document, index: number): string | undefined {
  const lines = linesOf(before, doc, index);
  if (lines === undefined) return undefined;
  const { node, from, to, indent } = lines;
  const alone = new Document();
  const list = new YAMLSeq();
  list.items = [node];
  alone.contents = list as unknown as typeof alone.contents;
  // What is written below it stays where it is.
  node.comment = null;
  try {
    const written = alone.toString({ lineWidth: 0, flowCollectionPadding: false }).replace(/^(?=.)/gm, indent);
    const hasEnd = before[to - 1] === '\n';
    return before.slice(0, from) + (hasEnd ? written : written.trimEnd()) + before.slice(to);
  } catch {
    // A value that is written once and named elsewhere can only be written with the whole.
    return undefined;
  }
}

/** With the comment right above it, which speaks of it. */
function cutOut(before: string, doc: Document, index: number): string | undefined {
  const lines = linesOf(before, doc, index);
  if (lines === undefined) return undefined;
  const above = /(?:(?<=^|\n) *#[^\n]*\n)*$/.exec(before.slice(0, lines.from))?.[0] ?? '';
  const lineEnd = before[lines.to - 1] === '\n' ? lines.to - 1 : before.indexOf('\n', lines.to);
  return before.slice(0, lines.from - above.length) + (lineEnd === -1 ? '' : before.slice(lineEnd + 1));
}

function isMeant(text: string, kilns: readonly unknown[]): boolean {
  try {
    return isDeepStrictEqual(valueAt(parseDocument(text).toJS(), ['kilns']), kilns);
  } catch {
    // What is named there stood in what was cut out.
    return false;
  }
}

/** Though spaces may move. @throws ConfigError where another kiln names a value that stands in the one that goes */
function wholeText(doc: Document, file: string): string {
  try {
    return doc.toString({ lineWidth: 0, flowCollectionPadding: false });
  } catch {
    throw sharedPart(file);
  }
}

function sharedPart(file: string): ConfigError {
  const what = 'part of it is written once and used in several places (&…, *…)';
  return new ConfigError(file, [{ what, where: 'the kiln', right: 'write that value out where it is used' }]);
}
