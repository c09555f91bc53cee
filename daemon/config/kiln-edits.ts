/** What a changed form of a kiln changes in its entry of the configuration: only what differs from what is written. */
import { isDeepStrictEqual } from 'node:util';
import { patternAs } from '../core/plan/sensor-names.ts';
import { TERMINALS_C } from '../core/setup/ways.ts';
import { ConfigError } from '../errors.ts';
import type { InputForm, KilnForm, SensorForm, SpotForm } from '../wire/setup.ts';
import { valueAt } from './faults.ts';
import { parseHostPort } from './host-port.ts';
import { SKIP } from './input-parts.ts';

type Place = (string | number)[];

export type Edit =
  /** Undefined where it is taken out. */
  | { readonly path: Place; readonly value: unknown }
  /** What stands there stays, under another key. */
  | { readonly path: Place; readonly key: string };

export interface Change {
  readonly file: string;
  /** The whole file's value, and the kiln's place in it. */
  readonly whole: unknown;
  readonly at: Place;
  readonly was: KilnForm;
  readonly form: KilnForm;
  /** The last line that each input said, in their order: a line may name its figures by itself. */
  readonly lastLines: readonly (string | undefined)[];
}

/** @throws ConfigError where the form speaks of other sensors or inputs than are written, or asks for what cannot be */
export function editsFor(change: Change): Edit[] {
  const { at, was, form } = change;
  const edits: Edit[] = (['name', 'heat', 'closure'] as const)
    .filter((key) => form[key] !== was[key])
    .map((key) => ({ path: [...at, key], value: form[key] }));
  const pairs = sensorPairs(change);
  for (const pair of pairs) edits.push(...sensorEdits(change, pair));
  const inputs = inputPlaces(change);
  if (form.inputs.length !== inputs.length || inputs.some(({ i }) => form.inputs[i]?.kind !== was.inputs[i]?.kind)) {
    const right = `write ${was.inputs.map(({ kind }) => kind).join(', ')}, as /api/setup/kilns gives them`;
    throw faultIn(change, 'other inputs are written there', 'inputs', right);
  }
  for (const { i, place } of inputs) edits.push(...whereEdits(place, was.inputs[i], form.inputs[i]));
  for (const { i, place } of inputs) edits.push(...spotEdits(change, place, pairs, change.lastLines[i]));
  // What is called otherwise comes last: until then it is found under its old name.
  for (const { place } of inputs) edits.push(...nameEdits(change, place, pairs));
  for (const { index, old, now } of pairs) {
    if (old.name !== now.name) edits.push({ path: [...at, 'sensors', index, 'name'], value: now.name });
  }
  return edits;
}

interface SensorPair {
  readonly index: number;
  readonly old: SensorForm;
  readonly now: SensorForm;
}

function sensorPairs(change: Change): SensorPair[] {
  const { was, form } = change;
  return form.sensors.map((now) => {
    const index = was.sensors.findIndex(({ name }) => name === now.was);
    const old = was.sensors[index];
    if (old !== undefined) return { index, old, now };
    const right = `write one of ${was.sensors.map(({ name }) => name).join(', ')}`;
    throw faultIn(change, `${now.was} is no sensor of this kiln`, 'sensors', right);
  });
}

function faultIn({ file }: Change, what: string, where: string, right: string): ConfigError {
  return new ConfigError(file, [{ what, where, right }]);
}

// ---- what a figure means ----

function sensorEdits(change: Change, { index, old, now }: SensorPair): Edit[] {
  const at: Place = [...change.at, 'sensors', index];
  const edits: Edit[] = [];
  if (now.letter !== old.letter) edits.push({ path: [...at, 'letter'], value: now.letter });
  if (now.correction !== 'certificate' && !isDeepStrictEqual(now.correction, old.correction)) {
    const value = now.correction === null ? undefined : { points: [now.correction] };
    edits.push({ path: [...at, 'calibration'], value });
  }
  const point = pointPlace(change, old.name);
  if (point !== undefined && now.register !== null && old.register !== null) {
    const keys = (['type', 'order', 'scale'] as const).filter((key) => now.register?.[key] !== old.register?.[key]);
    edits.push(...keys.map((key) => ({ path: [...point, key], value: now.register?.[key] })));
  }
  if (now.unit === old.unit) return edits;
  if (old.register === null) return [...edits, ...unitEdits(at, old, now)];
  if (now.unit !== 'mV' && old.unit !== 'mV') {
    return point === undefined ? edits : [...edits, { path: [...point, 'degrees'], value: now.unit }];
  }
  throw faultIn(
    change,
    'a register is not taken for mV here',
    now.name,
    'write it in the file: unit and coldEnd at the sensor',
  );
}

function unitEdits(at: Place, old: SensorForm, now: SensorForm): Edit[] {
  const unit = { path: [...at, 'unit'], value: now.unit === 'C' ? undefined : now.unit };
  const coldEnd = [...at, 'coldEnd'];
  if (now.unit === 'mV') return [unit, { path: coldEnd, value: { atC: TERMINALS_C } }];
  return old.unit === 'mV' ? [unit, { path: coldEnd, value: undefined }] : [unit];
}

// ---- where it listens ----

interface InputPlace {
  readonly i: number;
  readonly place: Place;
}

/** `input` is one or a list. */
function inputPlaces({ whole, at }: Change): InputPlace[] {
  const path = [...at, 'input'];
  const input = valueAt(whole, path);
  return Array.isArray(input) ? input.map((_, i) => ({ i, place: [...path, i] })) : [{ i: 0, place: path }];
}

/** Where the register of a sensor stands. */
function pointPlace(change: Change, sensor: string): Place | undefined {
  for (const { place } of inputPlaces(change)) {
    const points = valueAt(change.whole, [...place, 'points']);
    const index = Array.isArray(points) ? points.findIndex((point) => valueAt(point, ['sensor']) === sensor) : -1;
    if (index >= 0) return [...place, 'points', index];
  }
  return undefined;
}

function whereEdits(place: Place, old: InputForm | undefined, now: InputForm | undefined): Edit[] {
  if (now === undefined || isDeepStrictEqual(old, now)) return [];
  const { kind: _kind, ...values } = now;
  if ('port' in now && now.kind === 'modbus-rtu' && parseHostPort(now.port) !== undefined) {
    // A box in the network has a speed of its own.
    const gone = ['port', 'baud', 'parity', 'stopBits'].map((key) => ({ path: [...place, key], value: undefined }));
    return [...gone, { path: [...place, 'address'], value: now.port }];
  }
  const edits = Object.entries(values)
    .filter(([key, value]) => valueAt(old, [key]) !== value)
    .map(([key, value]) => ({ path: [...place, key], value }));
  const wasBox = old?.kind === 'modbus-rtu' && parseHostPort(old.port) !== undefined;
  return wasBox ? [...edits, { path: [...place, 'address'], value: undefined }] : edits;
}

// ---- where a figure stands in what is said ----

function spotEdits(change: Change, place: Place, pairs: readonly SensorPair[], lastLine: string | undefined): Edit[] {
  const { whole } = change;
  const edits: Edit[] = [];
  for (const { old, now } of pairs) {
    const { spot } = now;
    if (spot === null || spot.kind === 'column' || isDeepStrictEqual(spot, old.spot)) continue;
    if (spot.kind !== old.spot?.kind) throw otherSpot(change, old, spot);
    edits.push(...oneSpotEdits(whole, place, old.name, spot));
  }
  return [...edits, ...columnEdits(change, place, pairs, lastLine)];
}

function otherSpot(change: Change, old: SensorForm, spot: SpotForm): ConfigError {
  const right = `write ${old.spot?.kind ?? 'null'}, as /api/setup/kilns gives it`;
  return faultIn(change, `${old.name} is not found by its ${spot.kind}`, 'spot', right);
}

function oneSpotEdits(
  whole: unknown,
  place: Place,
  sensor: string,
  spot: Exclude<SpotForm, { kind: 'column' }>,
): Edit[] {
  switch (spot.kind) {
    case 'name': {
      const path = [...place, 'names', sensor];
      return valueAt(whole, path) === undefined ? [] : [{ path, value: spot.name }];
    }
    case 'topic': {
      const path = [...place, 'topics', sensor];
      const written = valueAt(whole, path);
      if (written === undefined) return [];
      const { topic, path: part } = spot;
      if (typeof written === 'string') return [{ path, value: part === '' ? topic : { topic, path: part } }];
      return [
        { path: [...path, 'topic'], value: topic },
        { path: [...path, 'path'], value: part === '' ? undefined : part },
      ];
    }
    case 'register': {
      const points = valueAt(whole, [...place, 'points']);
      const index = Array.isArray(points) ? points.findIndex((point) => valueAt(point, ['sensor']) === sensor) : -1;
      if (index < 0) return [];
      const { unit, register, table } = spot;
      return Object.entries({ unit, register, table }).flatMap(([key, value]) => {
        const path = [...place, 'points', index, key];
        const isDefault = valueAt(whole, path) === undefined && value === POINT_DEFAULTS[key];
        return isDefault ? [] : [{ path, value }];
      });
    }
  }
}

const POINT_DEFAULTS: Readonly<Record<string, unknown>> = { unit: 1, table: 'holding' };

/** The columns of a line, where a figure has moved to another one or a sensor has another name. */
function columnEdits(change: Change, place: Place, pairs: readonly SensorPair[], lastLine: string | undefined): Edit[] {
  const { whole, was } = change;
  const shape = valueAt(whole, place);
  const kind = valueAt(shape, ['kind']);
  const has = (key: string): boolean => valueAt(shape, [key]) !== undefined;
  if ((kind !== 'serial' && kind !== 'tcp') || has('names') || has('pattern')) return [];
  const written = valueAt(shape, ['columns']);
  const columns = Array.isArray(written) ? written.map(String) : was.sensors.map(({ name }) => name);
  const moved = withMoved(change, columns, pairs);
  const renamed = new Map(pairs.map(({ old, now }) => [old.name, now.name]));
  const next = moved.map((column) => renamed.get(column) ?? column);
  const isSpoken = !has('separator') && lastLine !== undefined && namesItsFigures(lastLine);
  if (isSpoken && !isDeepStrictEqual(moved, next)) {
    const names = Object.fromEntries(moved.flatMap((name, i) => (name === SKIP ? [] : [[next[i] ?? name, name]])));
    return [
      { path: [...place, 'columns'], value: undefined },
      { path: [...place, 'names'], value: names },
    ];
  }
  if (!Array.isArray(written)) {
    return isDeepStrictEqual(moved, columns) ? [] : [{ path: [...place, 'columns'], value: next }];
  }
  return next.flatMap((column, i) =>
    column === columns[i] ? [] : [{ path: [...place, 'columns', i], value: column }],
  );
}

/** `shelf=648` and `{"shelf": 648}` are found by the name in the line, whatever the order. */
function namesItsFigures(line: string): boolean {
  return line.trimStart().startsWith('{') || line.includes('=');
}

function withMoved(change: Change, columns: readonly string[], pairs: readonly SensorPair[]): string[] {
  const moves = pairs.flatMap(({ old, now }) =>
    now.spot?.kind === 'column' && columns.includes(old.name) && columns.indexOf(old.name) !== now.spot.column - 1
      ? [{ name: old.name, to: now.spot.column - 1 }]
      : [],
  );
  const next = columns.map((name) => (moves.some((move) => move.name === name) ? SKIP : name));
  for (const { name, to } of moves) {
    const there = next[to];
    const right = `choose from 1 to ${columns.length}, and for each sensor another one`;
    if (there === undefined) throw faultIn(change, `the line has no column ${to + 1}`, name, right);
    if (there !== SKIP) throw faultIn(change, `column ${to + 1} is that of ${there}`, name, right);
    next[to] = name;
  }
  return next;
}

function nameEdits({ whole }: Change, place: Place, pairs: readonly SensorPair[]): Edit[] {
  const renamed = pairs.filter(({ old, now }) => old.name !== now.name);
  const keys = renamed.flatMap(({ old, now }) =>
    ['names', 'topics']
      .map((list) => [...place, list, old.name])
      .filter((path) => valueAt(whole, path) !== undefined)
      .map((path) => ({ path, key: now.name })),
  );
  const points = valueAt(whole, [...place, 'points']);
  const ofPoints = (Array.isArray(points) ? points : []).flatMap((point, i) => {
    const now = renamed.find(({ old }) => old.name === valueAt(point, ['sensor']))?.now;
    return now === undefined ? [] : [{ path: [...place, 'points', i, 'sensor'], value: now.name }];
  });
  const pattern = valueAt(whole, [...place, 'pattern']);
  if (typeof pattern !== 'string' || renamed.length === 0) return [...keys, ...ofPoints];
  const value = patternAs(pattern, new Map(renamed.map(({ old, now }) => [old.name, now.name])));
  return [...keys, ...ofPoints, { path: [...place, 'pattern'], value }];
}
