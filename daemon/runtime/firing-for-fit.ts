/** Reads a recorded firing for a fit: from CSV files, or from a firing's folder in the data. */
import { createReadStream } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { type KilnDescription, readKilnFile } from '../config/kiln-file.ts';
import { parseTime, readRows } from '../config/rows.ts';
import { readScheduleFile } from '../config/schedule-file.ts';
import { COLDEST_C, HOTTEST_C } from '../config/schedule-schema.ts';
import {
  heatOfActs,
  heatOfPlan,
  heatOfSettings,
  type LoggedAct,
  type LoggedSetting,
  largestMark,
  openByPlan,
  openStretches,
  type PassedSegment,
} from '../core/kiln-model/heat-evidence.ts';
import type { RecordedFiring } from '../core/kiln-model/recorded-firing.ts';
import { type KilnSetup, rulingSensor } from '../core/plan/kiln.ts';
import type { Schedule } from '../core/plan/schedule.ts';
import { isPlanOver, startPlan, trackPlan } from '../core/tracking/plan-track.ts';
import { toleranceOf } from '../core/tracking/tolerance.ts';
import { ConfigError } from '../errors.ts';
import { walkChain } from '../recorder/hash-chain.ts';
import { readEvents, readOpening } from './record-lines.ts';

/** Where a firing's record lies. */
export type FiringSource =
  | { readonly firing: string }
  | {
      readonly schedule: string;
      readonly readings: string;
      readonly inputs?: string | undefined;
      readonly acts?: string | undefined;
    };

/** A firing as read, before it is known what counts as full heat in all of them. */
export interface ReadFiring {
  readonly source: FiringSource;
  readonly name: string;
  readonly kiln: KilnDescription | null;
  readonly schedule: Schedule | null;
  readonly readings: readonly { readonly atMs: number; readonly celsius: number }[];
  readonly acts: readonly LoggedAct[];
  readonly lid: readonly { readonly atMs: number; readonly open: boolean }[];
  /** A recorded setting and its name; null where none was recorded. */
  readonly setting: { readonly input: string; readonly values: readonly LoggedSetting[] } | null;
  /** Measured beside the kiln, null where nobody did. */
  readonly roomC: number | null;
}

export async function readFiring(
  source: FiringSource,
  kilnFile: string | undefined,
  heatInput: string | undefined,
): Promise<ReadFiring> {
  const kiln = kilnFile === undefined ? null : readKilnFile(kilnFile);
  return 'firing' in source ? readFolder(source, kiln) : readFiles(source, kiln, heatInput);
}

async function readFiles(
  source: Exclude<FiringSource, { firing: string }>,
  kiln: KilnDescription | null,
  heatInput: string | undefined,
): Promise<ReadFiring> {
  const schedule = readScheduleFile(source.schedule);
  const readings: { atMs: number; celsius: number }[] = [];
  const lid: { atMs: number; open: boolean }[] = [];
  let rules = kiln === null ? null : rulingSensor({ ...kiln, utcOffsetMinutes: 0 });
  for await (const row of readRows(source.readings)) {
    if (row.kind === 'rejected') continue;
    if (row.lid === 'open' || row.lid === 'closed') lid.push({ atMs: row.atMs, open: row.lid === 'open' });
    rules ??= row.sensor === '' ? null : row.sensor;
    if (row.sensor !== rules || row.celsius === '') continue;
    const celsius = Number(row.celsius);
    if (celsius >= COLDEST_C && celsius <= HOTTEST_C) readings.push({ atMs: row.atMs, celsius });
  }
  if (readings.length === 0) {
    const right =
      kiln === null ? 'name a file with readings' : 'name a file in which the kiln file’s ruling sensor stands';
    throw new ConfigError(source.readings, [{ what: `has no reading of "${rules ?? ''}"`, where: 'the file', right }]);
  }
  const columns = source.inputs === undefined ? null : await readInputs(source.inputs);
  const acts = source.acts === undefined ? [] : await readActs(source.acts);
  return {
    source,
    name: schedule.name,
    kiln,
    schedule,
    readings: inOrder(readings),
    acts,
    lid,
    setting: columns === null ? null : chosenSetting(columns, heatInput, source.inputs ?? ''),
    roomC: columns === null ? null : roomOf(columns),
  };
}

async function readFolder(source: { readonly firing: string }, kiln: KilnDescription | null): Promise<ReadFiring> {
  const path = join(source.firing, 'record.jsonl');
  const bytes = await readFile(path).catch((cause: unknown) => {
    const code = (cause as NodeJS.ErrnoException).code ?? String(cause);
    const right = "give the folder of a firing, as it lies in the data folder's firings";
    throw new ConfigError(path, [{ what: `cannot be read (${code})`, where: 'the file', right }]);
  });
  const walk = walkChain(bytes);
  const opening = readOpening(walk.content[0]);
  if (opening === undefined) {
    const right = 'run spyhole verify on it';
    throw new ConfigError(path, [{ what: 'opens no firing that this version can read', where: 'line 1', right }]);
  }
  const setup: KilnSetup = kiln === null ? opening.kiln : { ...kiln, utcOffsetMinutes: 0 };
  const rules = rulingSensor(setup);
  const readings: { atMs: number; celsius: number }[] = [];
  const acts: LoggedAct[] = [];
  const lid: { atMs: number; open: boolean }[] = [];
  let { schedule } = opening;
  for (const line of walk.content) {
    if (line.lid === 'open' || line.lid === 'closed') lid.push({ atMs: line.t, open: line.lid === 'open' });
    for (const event of readEvents(line)) {
      if (event.type === 'plan') schedule = event.schedule;
      if (event.type === 'act' && event.deed === 'act') acts.push(event);
      const isGood = event.type === 'reading' && event.sensor === rules && event.quality === 'good';
      if (isGood && event.celsius !== null) readings.push({ atMs: event.atMs, celsius: event.celsius });
    }
  }
  const name = schedule?.name ?? 'without a plan';
  return { source, name, kiln: setup, schedule, readings: inOrder(readings), acts, lid, setting: null, roomC: null };
}

/** A couple's rows may come swapped; a fit needs them in order. */
function inOrder<T extends { readonly atMs: number }>(rows: T[]): T[] {
  return rows.sort((a, b) => a.atMs - b.atMs);
}

/** What counts as full heat over all firings: the largest setting or mark seen, unless it is given. */
export interface FullHeat {
  readonly setting: number;
  readonly mark: number;
}

export function fullHeat(firings: readonly ReadFiring[], given: number | undefined): FullHeat {
  const largest = Math.max(
    0,
    ...firings.map((f) => f.setting?.values.reduce((most, v) => Math.max(most, v.value), 0) ?? 0),
  );
  // A percentage is a share of 100 and a fraction one of 1, however little of it was used.
  const names = firings.flatMap((f) => (f.setting === null ? [] : [f.setting.input.toLowerCase()]));
  const natural = names.some((n) => n.includes('percent')) ? 100 : names.some((n) => n.includes('fraction')) ? 1 : 0;
  const mark = Math.max(0, ...firings.map((f) => largestMark(f.acts)));
  return { setting: given ?? Math.max(natural, largest), mark: given ?? mark };
}

/** @param roomC the room's temperature where it was not measured and the kiln did not begin cold */
export function forFit(read: ReadFiring, heat: 'gas' | 'electric', full: FullHeat, roomC: number): RecordedFiring {
  const { readings, schedule } = read;
  const endMs = readings[readings.length - 1]?.atMs ?? 0;
  const firstC = readings[0]?.celsius ?? roomC;
  const passed = schedule === null ? [] : passedSegments(read, schedule);
  const byPlan = schedule === null ? [] : heatOfPlan(schedule, passed, heat);
  const told = openStretches(read.acts, read.lid, endMs);
  const leftOut = told.length > 0 || read.lid.length > 0 || schedule === null ? told : openByPlan(schedule, passed);
  const known =
    read.setting === null
      ? (heatOfActs(read.acts, full.mark) ?? byPlan)
      : heatOfSettings(read.setting.values, full.setting);
  return {
    name: read.name,
    readings,
    heat: known,
    leftOut,
    roomC: read.roomC ?? Math.min(firstC, roomC),
  };
}

function passedSegments(read: ReadFiring, schedule: Schedule): PassedSegment[] {
  const [first] = read.readings;
  if (first === undefined) return [];
  const tolerance = toleranceOf({ ...(read.kiln ?? BARE_KILN), utcOffsetMinutes: 0 }, schedule);
  let track = startPlan(first);
  for (const reading of read.readings)
    if (!isPlanOver(schedule, track)) track = trackPlan(schedule, track, reading, tolerance, read.kiln?.heat);
  const endedAtMs = track.last.atMs;
  const present = { segment: track.segment, startedAtMs: track.startedAtMs, endedAtMs };
  // Once the plan is over the kiln goes on as its last segment left it.
  const last = track.past[track.past.length - 1];
  if (isPlanOver(schedule, track) && last !== undefined) return [...track.past.slice(0, -1), { ...last, endedAtMs }];
  return isPlanOver(schedule, track) ? [...track.past] : [...track.past, present];
}

const BARE_KILN: KilnDescription = {
  id: 'kiln',
  name: 'Kiln',
  heat: 'electric',
  closure: 'lid',
  sensors: [],
  decodings: {},
};

/** What `time,input,value` tells, by the name of the input. */
type Columns = ReadonlyMap<string, readonly LoggedSetting[]>;

async function readInputs(file: string): Promise<Columns> {
  const columns = new Map<string, LoggedSetting[]>();
  for (const [atMs, name, text] of await readTriples(file, ['time', 'input', 'value'])) {
    const value = Number(text);
    if (text === '' || !Number.isFinite(value)) continue;
    const column = columns.get(name) ?? [];
    column.push({ atMs, value });
    columns.set(name, column);
  }
  return columns;
}

async function readActs(file: string): Promise<LoggedAct[]> {
  const rows = await readTriples(file, ['time', 'what', 'value']);
  return inOrder(rows.map(([atMs, what, value]) => ({ atMs, what, ...(value !== '' && { value }) })));
}

/** Names that a column of heat is likely to have. */
const HEAT_NAME = /heat|output|burner|power|lamp|valve|gas|percent/i;
const ROOM_NAME = /ambient|room/i;

function chosenSetting(columns: Columns, wanted: string | undefined, file: string): ReadFiring['setting'] {
  const names = [...columns.keys()];
  const likely = names.filter((name) => HEAT_NAME.test(name));
  const name = wanted ?? (names.length === 1 ? names[0] : likely.length === 1 ? likely[0] : undefined);
  const values = name === undefined ? undefined : columns.get(name);
  if (name === undefined || values === undefined) {
    const what = wanted === undefined ? `holds ${names.join(', ') || 'nothing'}` : `has no input "${wanted}"`;
    throw new ConfigError(file, [
      { what, where: 'the column "input"', right: `say with --heat which is the heat: ${names.join(', ')}` },
    ]);
  }
  return { input: name, values };
}

function roomOf(columns: Columns): number | null {
  const [, values = []] = [...columns].find(([name]) => ROOM_NAME.test(name)) ?? [];
  if (values.length === 0) return null;
  return values.map((v) => v.value).sort((a, b) => a - b)[values.length >> 1] ?? null;
}

async function readTriples(
  file: string,
  header: readonly [string, string, string],
): Promise<[number, string, string][]> {
  const rows: [number, string, string][] = [];
  let line = 0;
  try {
    for await (const text of createInterface({
      input: createReadStream(file, 'utf8'),
      crlfDelay: Number.POSITIVE_INFINITY,
    })) {
      line += 1;
      const fields = text.split(',').map((field) => field.trim().replace(/^"(.*)"$/, '$1'));
      if (line === 1) {
        if (fields.slice(0, 3).join(',').toLowerCase() === header.join(',')) continue;
        throw new ConfigError(file, [
          { what: `the header is "${text.slice(0, 80)}"`, where: 'line 1', right: `write ${header.join(',')}` },
        ]);
      }
      if (text.trim() === '') continue;
      const atMs = parseTime(fields[0] ?? '');
      if (atMs === undefined || fields.length < 2) {
        const right = 'write the time as ISO 8601 with Z or an offset, for example 2026-03-14T13:52:00Z';
        throw new ConfigError(file, [{ what: `found "${text.slice(0, 60)}"`, where: `line ${line}`, right }]);
      }
      rows.push([atMs, fields[1] ?? '', fields[2] ?? '']);
    }
  } catch (error) {
    if (error instanceof ConfigError) throw error;
    const code = (error as NodeJS.ErrnoException).code ?? String(error);
    throw new ConfigError(file, [
      { what: `cannot be read (${code})`, where: 'the file', right: 'name a CSV file that can be read' },
    ]);
  }
  return rows;
}
