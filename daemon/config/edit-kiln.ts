/**
 * Changes a kiln in the configuration, or takes it out: what stands of others is not touched, comments are kept, and the
 * file as it was stays beside it.
 */
import { isDeepStrictEqual } from 'node:util';
import { Document, isMap, isSeq, parseDocument, type YAMLMap, YAMLSeq } from 'yaml';
import { TERMINALS_C } from '../core/setup/ways.ts';
import { ConfigError } from '../errors.ts';
import type { KilnForm, SensorForm } from '../wire/setup.ts';
import { replaceFile, soundDocument, textIn } from './config-text.ts';
import { valueAt } from './faults.ts';
import { formOf } from './kiln-form.ts';
import { loadConfig } from './load.ts';
import type { Path } from './yaml-file.ts';

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
 * @throws ConfigError for a file that is at fault or would be, or lacks the kiln or a sensor
 */
export function changeKilnInFile(file: string, form: KilnForm, env: NodeJS.ProcessEnv): void {
  const { before, doc, index } = opened(file, form.id);
  const config = loadConfig(file, env).kilns.find(({ kiln }) => kiln.id === form.id);
  if (config === undefined) throw notWritten(file, form.id);
  const edits = editsFor(file, ['kilns', index], formOf(config), form, doc.toJS());
  if (edits.length === 0) return;
  for (const { path, value } of edits) {
    if (value === undefined) doc.deleteIn(path);
    else if (typeof value === 'object') doc.setIn(path, doc.createNode(value));
    else doc.setIn(path, value);
  }
  const wanted = kilnsIn(doc);
  const text = withChanged(before, doc, index);
  const isWell = text !== undefined && isMeant(text, wanted);
  replaceFile(file, { before, text: isWell ? text : wholeText(doc, file), isKept: true }, (written) =>
    loadConfig(written, env),
  );
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

// ---- what is changed ----

interface Edit {
  readonly path: (string | number)[];
  /** Undefined where it is taken out. */
  readonly value: unknown;
}

function editsFor(file: string, at: (string | number)[], was: KilnForm, form: KilnForm, whole: unknown): Edit[] {
  const edits: Edit[] = (['name', 'heat', 'closure'] as const)
    .filter((key) => form[key] !== was[key])
    .map((key) => ({ path: [...at, key], value: form[key] }));
  for (const sensor of form.sensors) {
    const index = was.sensors.findIndex(({ name }) => name === sensor.name);
    const old = was.sensors[index];
    if (old === undefined) {
      const right = `write one of ${was.sensors.map(({ name }) => name).join(', ')}`;
      throw new ConfigError(file, [{ what: `${sensor.name} is no sensor of this kiln`, where: 'sensors', right }]);
    }
    edits.push(...sensorEdits(file, [...at, 'sensors', index], old, sensor));
    if (sensor.register === null || old.register === null) continue;
    const point = pointPath(whole, at, sensor.name);
    if (point !== undefined) edits.push(...pointEdits(point, old, sensor));
  }
  return edits;
}

function sensorEdits(file: string, at: (string | number)[], old: SensorForm, now: SensorForm): Edit[] {
  const edits: Edit[] = [];
  if (now.letter !== old.letter) edits.push({ path: [...at, 'letter'], value: now.letter });
  if (now.correction !== 'certificate' && !isDeepStrictEqual(now.correction, old.correction)) {
    const value = now.correction === null ? undefined : { points: [now.correction] };
    edits.push({ path: [...at, 'calibration'], value });
  }
  if (now.unit === old.unit) return edits;
  if (old.register !== null) {
    if (now.unit !== 'mV' && old.unit !== 'mV') return edits;
    const right = 'write it in the file: unit and coldEnd at the sensor';
    throw new ConfigError(file, [{ what: 'a register is not taken for mV here', where: now.name, right }]);
  }
  edits.push({ path: [...at, 'unit'], value: now.unit === 'C' ? undefined : now.unit });
  if (now.unit === 'mV') edits.push({ path: [...at, 'coldEnd'], value: { atC: TERMINALS_C } });
  else if (old.unit === 'mV') edits.push({ path: [...at, 'coldEnd'], value: undefined });
  return edits;
}

function pointEdits(at: (string | number)[], old: SensorForm, now: SensorForm): Edit[] {
  const edits: Edit[] = (['type', 'order', 'scale'] as const)
    .filter((key) => now.register?.[key] !== old.register?.[key])
    .map((key) => ({ path: [...at, key], value: now.register?.[key] }));
  return now.unit === old.unit ? edits : [...edits, { path: [...at, 'degrees'], value: now.unit }];
}

/** Where the register of a sensor stands: `input` is one or a list. */
function pointPath(whole: unknown, at: Path, sensor: string): (string | number)[] | undefined {
  const input = valueAt(whole, [...at, 'input']);
  const inputs: readonly unknown[] = Array.isArray(input) ? input : [input];
  for (const [i, one] of inputs.entries()) {
    const points = valueAt(one, ['points']);
    const place = Array.isArray(points) ? points.findIndex((point) => valueAt(point, ['sensor']) === sensor) : -1;
    if (place < 0) continue;
    return [...(at as (string | number)[]), 'input', ...(Array.isArray(input) ? [i] : []), 'points', place];
  }
  return undefined;
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
    const what = 'another part of the file uses a value that is written here (&…)';
    throw new ConfigError(file, [{ what, where: 'the kiln', right: 'write that value out where it is used' }]);
  }
}
