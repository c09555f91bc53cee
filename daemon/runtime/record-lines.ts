/**
 * The record's lines, version 2: what core was told and what it said, and the way back.
 * Whole numbers and text only (requirement R3): temperatures stand as thousandths of a degree.
 */
import type { AlertEvent, ControllerEvent, FiringEvent, PlanPoint, SampleEvent } from '../core/events.ts';
import type { Action, CoreInput, CouplesWord, EdgeStatus, RawMessage } from '../core/inputs.ts';
import type { KilnSetup } from '../core/plan/kiln.ts';
import type { Schedule } from '../core/plan/schedule.ts';
import { type HoldFigure, holdFigures, summarise } from '../core/report/summary.ts';
import type { FiringState } from '../core/state.ts';
import { canonicalLine } from '../recorder/canonical.ts';
import { fromRecordable, toRecordable } from '../recorder/decimals.ts';
import type { Entry, Line } from '../recorder/recorder.ts';

/** Version 2 is sealed; its lines mean what they meant in version 1, which opens for ever. */
export const RECORD_VERSION = 2;

export interface Opening {
  readonly startedAtMs: number;
  readonly kiln: KilnSetup;
  readonly schedule: Schedule | null;
  readonly simulated: boolean;
  readonly by: string;
  readonly software: string;
  readonly node: string;
  /** Fingerprint of the code that thinks: the same code makes the same alerts of the same readings. */
  readonly core?: string | undefined;
}

/** The opening line's own content; the recorder adds kiln and schedule, and which firing it follows. */
export function openingEntry(opening: Opening): Entry {
  return {
    type: 'open',
    t: opening.startedAtMs,
    version: RECORD_VERSION,
    by: opening.by,
    simulated: opening.simulated,
    software: opening.software,
    node: opening.node,
    ...(opening.core !== undefined && { core: opening.core }),
  };
}

/** @returns undefined if the line opens no firing that this version can read */
export function readOpening(line: Line | undefined): Opening | undefined {
  if (line?.type !== 'open' || (line.version !== 1 && line.version !== RECORD_VERSION)) return undefined;
  return {
    startedAtMs: line.t,
    kiln: fromRecordable(line.kiln ?? null) as KilnSetup,
    schedule: fromRecordable(line.schedule ?? null) as Schedule | null,
    simulated: line.simulated === true,
    by: text(line, 'by'),
    software: text(line, 'software'),
    node: text(line, 'node'),
    ...(typeof line.core === 'string' && { core: line.core }),
  };
}

/** The daemon goes on with a firing after it was away: which program now writes, and the how manieth start it is. */
export function resumedEntry(
  atMs: number,
  by: Pick<Opening, 'software' | 'node' | 'core'>,
  lines: readonly Line[],
): Entry {
  const { software, node, core } = by;
  const start = lines.filter((line) => line.type === 'resumed').length + 2;
  return { type: 'resumed', t: atMs, start, software, node, ...(core !== undefined && { core }) };
}

/** What the closing line keeps of the whole, so that nobody need live the firing again to show it. */
export interface Closing {
  /** The kiln as it was described at the end, where that differs from the beginning. */
  readonly kiln: KilnSetup | null;
  readonly holds: readonly HoldFigure[];
  readonly planLine: readonly PlanPoint[];
}

export function closingEntry(state: FiringState, by: string, why: string, openedWith: KilnSetup): Entry {
  const { peakC, readings, rejected } = summarise(state);
  const isSameKiln = canonicalLine(toRecordable(state.kiln)) === canonicalLine(toRecordable(openedWith));
  return {
    type: 'close',
    t: state.nowMs,
    by,
    why,
    readings,
    rejected,
    peaks: Object.entries(peakC).map(([s, celsius]) => ({ s, mC: milli(celsius) })),
    holds: toRecordable(holdFigures(state)),
    plan: (state.position?.planLine ?? []).map((p) => [p.atMs, milli(p.celsius), p.segment]),
    ...(!isSameKiln && { kiln: toRecordable(state.kiln) }),
  };
}

/** @returns undefined if the line does not close a firing */
export function readClosing(line: Line): Closing | undefined {
  if (line.type !== 'close') return undefined;
  const plan = (line.plan ?? []) as readonly (readonly [number, number, number])[];
  return {
    kiln: line.kiln === undefined ? null : (fromRecordable(line.kiln) as KilnSetup),
    holds: fromRecordable(line.holds ?? []) as HoldFigure[],
    planLine: plan.map(([atMs, mC, segment]) => ({ atMs, celsius: mC / 1000, segment })),
  };
}

/** An input as it is recorded, with the values that core made of it beside the raw text. A tick leaves no line. */
export function inputEntry(input: CoreInput, events: readonly FiringEvent[]): Entry | undefined {
  switch (input.kind) {
    case 'raw':
      return rawEntry(input, events);
    case 'action': {
      const { kind: _kind, atMs, deed, by, ...rest } = input;
      const act = events.find((e) => e.type === 'act');
      const more = {
        ...(act?.celsius != null && { mC: milli(act.celsius) }),
        // What core saw of the couples as the list was filed: nobody need live the firing again to read it.
        ...(act?.couples !== undefined && { couples: { ...act.couples } }),
      };
      return { type: 'act', t: atMs, by, deed, said: toRecordable(rest), ...more };
    }
    case 'edge': {
      const { kind: _kind, atMs, edge, ...rest } = input;
      return { type: 'edge', t: atMs, edge, said: toRecordable(rest) };
    }
    case 'tick':
      return undefined;
  }
}

function rawEntry(raw: RawMessage, events: readonly FiringEvent[]): Entry {
  const values = events.flatMap((e) => (e.type === 'reading' ? [recordedValue(e)] : []));
  const lid = events.find((e) => e.type === 'lid');
  const controller = events.find((e) => e.type === 'controller');
  const refused = events.find((e) => e.type === 'rejected');
  return {
    type: 'reading',
    t: raw.atMs,
    in: raw.input,
    raw: raw.text.toWellFormed(),
    ...(raw.channel !== undefined && { ch: raw.channel.toWellFormed() }),
    ...(raw.retained === true && { retained: true }),
    ...(raw.keptBack === true && { keptBack: true }),
    ...(values.length > 0 && { v: values }),
    ...(lid !== undefined && { lid: lid.open ? 'open' : 'closed' }),
    ...(controller !== undefined && { controller: recordedController(controller) }),
    ...(refused !== undefined && { refused: refused.sentence.toWellFormed() }),
  };
}

/** Its output in thousandths of full heat. */
function recordedController({ setpointC, outputRatio }: ControllerEvent): Entry[string] {
  return {
    ...(setpointC !== null && { setMC: milli(setpointC) }),
    ...(outputRatio !== null && { out: milli(outputRatio) }),
  };
}

/** One value of a reading's line; temperatures in thousandths of a degree. Records of older programs lack `shown` and `remark`. */
interface RecordedValue {
  readonly s: string;
  readonly q: SampleEvent['quality'];
  /** When it was measured, where that is before the line's own time. */
  readonly at?: number;
  readonly mC?: number;
  /** Expanded, k = 2; of older programs the tolerance of class 2 alone. */
  readonly uC?: number;
  /** Before the certificate's correction. */
  readonly shown?: number;
  readonly remark?: string;
  readonly why?: string;
}

function recordedValue(sample: SampleEvent): Entry[string] {
  return {
    s: sample.sensor,
    q: sample.quality,
    ...(sample.arrivedAtMs !== undefined && { at: sample.atMs }),
    ...(sample.celsius !== null && { mC: milli(sample.celsius) }),
    ...(sample.uncertaintyC !== null && { uC: milli(sample.uncertaintyC) }),
    ...(sample.shownC !== undefined && { shown: milli(sample.shownC) }),
    ...(sample.remark !== undefined && { remark: sample.remark.toWellFormed() }),
    ...(sample.reason !== undefined && { why: sample.reason.toWellFormed() }),
  };
}

/** Core's own words that the record keeps: alerts, calls, gaps, the end. Others follow from the inputs. */
export function eventEntry(event: FiringEvent): Entry | undefined {
  switch (event.type) {
    case 'alert':
      return event.refresh === true ? undefined : alertEntry(event);
    case 'call': {
      const { id, do: what, state, dueAtMs } = event.call;
      return {
        type: 'call',
        t: event.atMs,
        call: id,
        do: what,
        state,
        ...(dueAtMs !== null && { due: Math.round(dueAtMs) }),
      };
    }
    case 'gap':
      return { type: 'gap', t: event.atMs, from: event.fromMs, why: event.why };
    case 'reading':
    case 'lid':
    case 'controller':
    case 'rejected':
    case 'position':
    case 'forecast':
    case 'act':
    case 'plan':
    case 'ended':
      return undefined;
  }
}

function alertEntry(event: AlertEvent): Entry {
  return {
    type: 'alert',
    t: event.atMs,
    id: event.id,
    alert: event.alert,
    phase: event.phase,
    priority: event.priority,
    life: event.life,
    since: event.sinceMs,
    message: event.message,
    because: event.because,
    ...(event.sensor !== undefined && { sensor: event.sensor }),
    ...(event.cause !== undefined && { cause: event.cause }),
    ...(event.leadS !== undefined && { leadS: event.leadS }),
    ...(event.forecast !== undefined && { mC: milli(event.forecast) }),
    ...(event.seenBy !== undefined && { seenBy: event.seenBy.toWellFormed() }),
    ...(event.putAsideUntilMs !== undefined && { until: event.putAsideUntilMs }),
    ...(event.heldBackBy !== undefined && { under: event.heldBackBy }),
    ...(event.unknown === true && { unknown: true }),
  };
}

/** The input that a line recorded, or undefined for a line that core said itself. */
export function readInput(line: Line): CoreInput | undefined {
  if (line.type === 'reading') {
    const channel = line.ch;
    return {
      kind: 'raw',
      atMs: line.t,
      input: text(line, 'in'),
      text: text(line, 'raw'),
      ...(typeof channel === 'string' && { channel }),
      ...(line.retained === true && { retained: true }),
      ...(line.keptBack === true && { keptBack: true }),
    };
  }
  if (line.type === 'act') {
    const more = fromRecordable(line.said ?? null) as object;
    return { kind: 'action', atMs: line.t, by: text(line, 'by'), deed: text(line, 'deed'), ...more } as Action;
  }
  if (line.type === 'edge') {
    const more = fromRecordable(line.said ?? null) as object;
    return { kind: 'edge', atMs: line.t, edge: text(line, 'edge'), ...more } as EdgeStatus;
  }
  return undefined;
}

/** What a line says happened, for the curve and the lists; without running core again. */
export function readEvents(line: Line): FiringEvent[] {
  switch (line.type) {
    case 'reading': {
      const lid = line.lid;
      const moved: FiringEvent[] = lid === undefined ? [] : [{ type: 'lid', atMs: line.t, open: lid === 'open' }];
      return [...readSamples(line), ...moved, ...readController(line)];
    }
    case 'act':
      return readAct(line);
    case 'alert':
      return [readAlert(line)];
    case 'gap':
      return [{ type: 'gap', fromMs: number(line, 'from'), atMs: line.t, why: text(line, 'why') }];
    case 'close':
      return [{ type: 'ended', atMs: line.t, by: text(line, 'by'), why: text(line, 'why') }];
    default:
      return [];
  }
}

function readController(line: Line): FiringEvent[] {
  const said = line.controller;
  if (typeof said !== 'object' || said === null) return [];
  const { setMC, out } = said as { setMC?: number; out?: number };
  const setpointC = setMC === undefined ? null : setMC / 1000;
  return [{ type: 'controller', atMs: line.t, setpointC, outputRatio: out === undefined ? null : out / 1000 }];
}

function readSamples(line: Line): FiringEvent[] {
  const values = line.v;
  if (!Array.isArray(values)) return [];
  return (values as readonly RecordedValue[]).map((v) => ({
    type: 'reading',
    atMs: v.at ?? line.t,
    ...(v.at !== undefined && { arrivedAtMs: line.t }),
    sensor: v.s,
    celsius: v.mC === undefined ? null : v.mC / 1000,
    uncertaintyC: v.uC === undefined ? null : v.uC / 1000,
    ...(v.shown !== undefined && { shownC: v.shown / 1000 }),
    ...(v.remark !== undefined && { remark: v.remark }),
    quality: v.q,
    ...(v.why !== undefined && { reason: v.why }),
  }));
}

function readAct(line: Line): FiringEvent[] {
  const action = readInput(line) as Action;
  const mC = line.mC;
  const base = {
    type: 'act' as const,
    atMs: line.t,
    by: action.by,
    celsius: typeof mC === 'number' ? mC / 1000 : null,
  };
  if (action.deed === 'plan') return [{ type: 'plan', atMs: line.t, schedule: action.schedule }];
  if (action.deed === 'note') {
    const { text: what, photo } = action;
    return [{ ...base, deed: 'note', what, ...(photo !== undefined && { photo }) }];
  }
  if (action.deed === 'list') {
    const couples = line.couples as unknown as CouplesWord | undefined;
    const more = couples === undefined ? {} : { couples };
    return [{ ...base, deed: 'list', what: 'before lighting', items: action.items, ...more }];
  }
  if (action.deed === 'switch-off') return [{ ...base, deed: 'switch-off', what: action.alert, value: action.why }];
  if (action.deed === 'switch-on') return [{ ...base, deed: 'switch-on', what: action.alert }];
  if (action.deed !== 'act') return [];
  const { what, value, correctsAtMs } = action;
  const more = { ...(value !== undefined && { value }), ...(correctsAtMs !== undefined && { correctsAtMs }) };
  return [{ ...base, deed: 'act', what, ...more }];
}

function readAlert(line: Line): AlertEvent {
  const optional = {
    ...(typeof line.sensor === 'string' && { sensor: line.sensor }),
    ...(typeof line.cause === 'string' && { cause: line.cause }),
    ...(typeof line.leadS === 'number' && { leadS: line.leadS }),
    ...(typeof line.mC === 'number' && { forecast: line.mC / 1000 }),
    ...(typeof line.seenBy === 'string' && { seenBy: line.seenBy }),
    ...(typeof line.until === 'number' && { putAsideUntilMs: line.until }),
    ...(typeof line.under === 'string' && { heldBackBy: line.under }),
    ...(line.unknown === true && { unknown: true }),
  };
  return {
    type: 'alert',
    atMs: line.t,
    id: text(line, 'id'),
    alert: text(line, 'alert') as AlertEvent['alert'],
    phase: text(line, 'phase') as AlertEvent['phase'],
    priority: text(line, 'priority') as AlertEvent['priority'],
    life: text(line, 'life') as AlertEvent['life'],
    sinceMs: number(line, 'since'),
    message: text(line, 'message'),
    because: text(line, 'because'),
    ...optional,
  };
}

function milli(celsius: number): number {
  return Math.round(celsius * 1000);
}

function text(line: Line, key: string): string {
  const value = line[key];
  return typeof value === 'string' ? value : '';
}

function number(line: Line, key: string): number {
  const value = line[key];
  return typeof value === 'number' ? value : 0;
}
