/** `spyhole replay`: a recorded curve, or a recorded firing, goes through core once more; what it would have said is printed. */
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { rowDecodings } from '../config/row-decodings.ts';
import { readRows } from '../config/rows.ts';
import { readScheduleFile } from '../config/schedule-file.ts';
import type { AlertEvent, FiringEvent } from '../core/events.ts';
import type { RawMessage } from '../core/inputs.ts';
import type { KilnSetup } from '../core/plan/kiln.ts';
import { summarise } from '../core/report/summary.ts';
import { beginFiring, type FiringState } from '../core/state.ts';
import { passTime, step } from '../core/step.ts';
import { ConfigError } from '../errors.ts';
import { walkChain } from '../recorder/hash-chain.ts';
import { readInput, readOpening } from '../runtime/record-lines.ts';
import { relive } from '../runtime/relive.ts';

export interface ReplayOptions {
  readonly schedule?: string | undefined;
  readonly readings?: string | undefined;
  readonly kiln?: string | undefined;
  readonly firing?: string | undefined;
  readonly json?: boolean | undefined;
}

type Print = (line: string) => void;

/** @throws ConfigError for files that cannot be used */
export async function replay(options: ReplayOptions, print: Print): Promise<void> {
  const say = options.json === true ? print : readable(print);
  if (options.firing !== undefined) await replayFiring(options.firing, say);
  else await replayReadings(options, say);
}

async function replayReadings(options: ReplayOptions, print: Print): Promise<void> {
  if (options.schedule === undefined || options.readings === undefined) {
    const fault = {
      what: 'there is nothing to replay',
      where: 'the options',
      right: 'give --schedule and --readings, or --firing',
    };
    throw new ConfigError('spyhole replay', [fault]);
  }
  const schedule = readScheduleFile(options.schedule);
  const known = options.kiln === undefined ? null : await readKiln(options.kiln);
  const teller = alertTeller(print);
  let state: FiringState | null = null;
  let firstAtMs = 0;
  let lastAtMs = 0;
  let refusedRows = 0;
  for await (const row of readRows(options.readings)) {
    if (row.kind === 'rejected') {
      refusedRows++;
      continue;
    }
    if (state === null) {
      firstAtMs = row.atMs;
      state = beginFiring(known ?? unknownKiln(row.sensor), schedule, row.atMs);
    }
    const passed = passTime(state, row.atMs);
    for (const event of passed.events) teller(event);
    state = passed.state;
    // Without a kiln file, a sensor is known from its first row on.
    if (known === null && row.sensor !== '' && state.sensors[row.sensor] === undefined) {
      const kiln = withSensor(state.kiln, row.sensor);
      state = take(state, { kind: 'edge', atMs: row.atMs, edge: 'setup-changed', kiln }, teller);
    }
    if (row.lid !== undefined && row.lid !== '') state = take(state, rowMessage(row.atMs, 'lid', row.lid), teller);
    if (row.sensor !== '') state = take(state, rowMessage(row.atMs, row.sensor, row.celsius), teller);
    lastAtMs = Math.max(lastAtMs, row.atMs);
  }
  if (state === null) return;
  print(JSON.stringify({ summary: summaryOf(state, firstAtMs, lastAtMs, refusedRows) }));
}

/** Few replays have a kiln's file, and its shapes take long to load. */
async function readKiln(path: string): Promise<KilnSetup> {
  const { readKilnFile } = await import('../config/kiln-file.ts');
  return { ...readKilnFile(path), utcOffsetMinutes: 0 };
}

function rowMessage(atMs: number, channel: string, text: string): RawMessage {
  return { kind: 'raw', atMs, input: 'rows', channel, text };
}

function take(
  state: FiringState,
  input: Parameters<typeof step>[1],
  teller: (event: FiringEvent) => void,
): FiringState {
  const stepped = step(state, input);
  stepped.events.forEach(teller);
  return stepped.state;
}

/** A firing as it stands in the record: the same inputs, so the same alerts. */
async function replayFiring(folder: string, print: Print): Promise<void> {
  const path = join(folder, 'record.jsonl');
  const bytes = await readFile(path).catch((cause: unknown) => {
    const fault = {
      what: 'cannot be read',
      where: path,
      right: "give the folder of a firing, as it lies in the data folder's firings",
    };
    throw new ConfigError('spyhole replay', [
      { ...fault, what: `${fault.what} (${(cause as NodeJS.ErrnoException).code ?? cause})` },
    ]);
  });
  const walk = walkChain(bytes);
  const opening = readOpening(walk.content[0]);
  if (opening === undefined) {
    const fault = {
      what: 'opens no firing that this version can read',
      where: 'line 1',
      right: 'run spyhole verify on it',
    };
    throw new ConfigError(path, [fault]);
  }
  const teller = alertTeller(print);
  const state = relive(opening, walk.content, teller);
  const readings = walk.content.filter((line) => readInput(line)?.kind === 'raw');
  const firstAtMs = readings[0]?.t ?? opening.startedAtMs;
  print(JSON.stringify({ summary: summaryOf(state, firstAtMs, readings[readings.length - 1]?.t ?? firstAtMs, 0) }));
}

/** Prints an alert as it begins, gets worse and is over; what a person did with it is not told here. */
function alertTeller(print: Print): (event: FiringEvent) => void {
  const told = new Map<string, string>();
  return (event) => {
    if (event.type !== 'alert') return;
    const stage = `${event.phase} ${event.phase === 'over' ? '' : event.priority}`;
    if (told.get(event.id) === stage) return;
    told.set(event.id, stage);
    print(JSON.stringify(alertLine(event)));
  };
}

export function alertLine(event: AlertEvent): object {
  const { id, alert, phase, priority, sensor, cause, leadS, forecast, message } = event;
  return {
    at: new Date(event.atMs).toISOString(),
    id,
    alert,
    phase,
    priority,
    ...(sensor !== undefined && { sensor }),
    ...(cause !== undefined && { cause }),
    ...(leadS !== undefined && phase !== 'over' && { leadS }),
    ...(forecast !== undefined && phase !== 'over' && { forecast }),
    message,
  };
}

function summaryOf(state: FiringState, firstAtMs: number, lastAtMs: number, refusedRows: number): object {
  const { rejected, ...summary } = summarise(state);
  return {
    ...summary,
    rejected: rejected + refusedRows,
    firstAt: new Date(firstAtMs).toISOString(),
    lastAt: new Date(lastAtMs).toISOString(),
  };
}

/** Where no kiln file is given: an electric kiln with a lid and whatever sensors the rows name, type K. */
function unknownKiln(firstSensor: string): KilnSetup {
  const bare: KilnSetup = {
    id: 'kiln',
    name: 'Kiln',
    heat: 'electric',
    closure: 'lid',
    sensors: [],
    decodings: {},
    utcOffsetMinutes: 0,
  };
  return firstSensor === '' ? bare : withSensor(bare, firstSensor);
}

function withSensor(kiln: KilnSetup, name: string): KilnSetup {
  const sensors = [...kiln.sensors, { name, letter: 'K' }];
  return { ...kiln, sensors, decodings: rowDecodings(sensors.map((s) => s.name)) };
}

/** Without --json: a line for a person instead of one for a program. */
function readable(print: Print): Print {
  return (line) => {
    const said = JSON.parse(line) as Record<string, unknown>;
    if (said.summary !== undefined) print(`In all: ${JSON.stringify(said.summary)}`);
    else print(`${String(said.at)}  ${String(said.alert)}, ${String(said.phase)}: ${String(said.message)}`);
  };
}
