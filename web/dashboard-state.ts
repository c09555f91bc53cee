/** What is on the screen, computed from what was heard. Pure: the same messages give the same state. */

import type {
  AlertMessage,
  Curve,
  HeartbeatMessage,
  KilnNow,
  LiveMessage,
  ReadingMessage,
  SnapshotMessage,
} from '../daemon/wire/live-messages.ts';
import { breakTrace, extendTrace, joinTraces, type Trace, traceOfPieces } from './trace.ts';
import type { ActEvent, GapEvent } from './wire-types.ts';

/** The line of one firing as the page remembers it, or of the idle kiln since the page was opened. */
export interface History {
  readonly firing: string | null;
  /** False until the daemon's own curve was fetched: before that it begins where the page was opened. */
  readonly isWhole: boolean;
  readonly traces: Readonly<Record<string, Trace>>;
  readonly acts: readonly ActEvent[];
  readonly gaps: readonly GapEvent[];
}

export interface KilnView {
  readonly now: KilnNow;
  readonly history: History;
}

export interface Dashboard {
  readonly snapshot: Omit<SnapshotMessage, 'kilns' | 'atMs' | 'ages' | 'troubles'>;
  /** The firing's time by the daemon, which in a demonstration runs faster than the wall's. */
  readonly atMs: number;
  /** Real seconds, by "kiln/sensor", as stated with the last heartbeat. */
  readonly ages: Readonly<Record<string, number | null>>;
  readonly troubles: readonly string[];
  readonly kilns: readonly KilnView[];
}

/** The curve that the daemon has of a firing, fetched beside the live feed. */
export interface HistoryMessage {
  readonly type: 'history';
  readonly kiln: string;
  readonly firing: string;
  readonly curve: Curve;
}

export type Heard = LiveMessage | HistoryMessage;

/** Null until the first snapshot; messages before it are left out. */
export function hear(state: Dashboard | null, message: Heard): Dashboard | null {
  if (message.type === 'snapshot') return fromSnapshot(state, message);
  if (state === null) return null;
  switch (message.type) {
    case 'heartbeat':
      return {
        ...state,
        atMs: Math.max(state.atMs, message.atMs),
        ages: message.ages,
        kilns: withSigns(state.kilns, message.signs),
        snapshot: {
          ...state.snapshot,
          ...(message.simulated !== undefined && { simulated: message.simulated }),
          ...(message.utcOffsetMinutes !== undefined && { utcOffsetMinutes: message.utcOffsetMinutes }),
        },
      };
    case 'trouble':
      if (message.kiln === null) return { ...state, troubles: message.troubles };
      return withKiln(state, message.kiln, (view) => ({ ...view, now: { ...view.now, troubles: message.troubles } }));
    case 'kiln':
      return withKiln(withNewKiln(later(state, message.atMs), message.now), message.kiln, (view) =>
        viewOf(message.now, view),
      );
    case 'kiln-gone':
      return { ...state, kilns: state.kilns.filter((view) => view.now.id !== message.kiln) };
    case 'history':
      return withKiln(state, message.kiln, (view) => withHistory(view, message));
    case 'reading':
      return withKiln(later(state, message.atMs), message.kiln, (view) => withReading(view, message));
    case 'position':
      return withKiln(later(state, message.atMs), message.kiln, (view) => ({
        ...view,
        now: { ...view.now, position: message },
      }));
    case 'forecast':
      return withKiln(state, message.kiln, (view) => ({ ...view, now: { ...view.now, forecast: message } }));
    case 'alert':
      return withKiln(state, message.kiln, (view) => ({
        ...view,
        now: { ...view.now, alerts: withAlert(view.now.alerts, message) },
      }));
    case 'act':
      if (message.deed !== 'act') return state;
      return withKiln(state, message.kiln, (view) => ({
        ...view,
        history: { ...view.history, acts: withAct(view.history.acts, message) },
      }));
    case 'lid':
      return withKiln(state, message.kiln, (view) => ({ ...view, now: { ...view.now, lidOpen: message.open } }));
    case 'controller':
      return withKiln(state, message.kiln, (view) => ({ ...view, now: { ...view.now, controller: message } }));
    case 'gap':
      return withKiln(state, message.kiln, (view) => ({ ...view, history: withGap(view.history, message) }));
    default:
      return state; // A kind of a newer daemon: it says nothing to this page.
  }
}

/** What is of earlier, or further off than a kiln moves, is no figure of now: the last one stays, with the doubt beside it. */
function withReading(view: KilnView, message: ReadingMessage): KilnView {
  const { now, history } = view;
  const { sensor, atMs, quality, reason } = message;
  const others = now.readings.filter((one) => one.sensor !== sensor);
  if (quality === 'good' || quality === 'bad') {
    const celsius = quality === 'bad' ? null : message.celsius;
    return { now: { ...now, readings: [...others, message] }, history: withPoint(history, sensor, atMs, celsius) };
  }
  const last = now.readings.find((one) => one.sensor === sensor);
  if (last === undefined) return view;
  return {
    ...view,
    now: { ...now, readings: [...others, { ...last, quality, ...(reason !== undefined && { reason }) }] },
  };
}

function withSigns(kilns: readonly KilnView[], signs: HeartbeatMessage['signs']): readonly KilnView[] {
  return kilns.map((view) => {
    const sign = signs[view.now.id];
    return sign === undefined ? view : { ...view, now: { ...view.now, sign } };
  });
}

function later(state: Dashboard, atMs: number): Dashboard {
  return atMs > state.atMs ? { ...state, atMs } : state;
}

function withKiln(state: Dashboard, id: string, change: (view: KilnView) => KilnView): Dashboard {
  return { ...state, kilns: state.kilns.map((view) => (view.now.id === id ? change(view) : view)) };
}

/** A kiln that was set up meanwhile stands behind the others. */
function withNewKiln(state: Dashboard, now: KilnNow): Dashboard {
  if (state.kilns.some((view) => view.now.id === now.id)) return state;
  return { ...state, kilns: [...state.kilns, viewOf(now, undefined)] };
}

function fromSnapshot(state: Dashboard | null, message: SnapshotMessage): Dashboard {
  const { kilns, atMs, ages, troubles, ...snapshot } = message;
  return {
    snapshot,
    atMs,
    ages,
    troubles,
    kilns: kilns.map((now) =>
      viewOf(
        now,
        state?.kilns.find((view) => view.now.id === now.id),
      ),
    ),
  };
}

/** The same firing keeps its line until the daemon's own comes; another begins anew. */
function viewOf(now: KilnNow, before: KilnView | undefined): KilnView {
  const firing = now.firing?.id ?? null;
  const kept = before?.history.firing === firing ? before.history : emptyHistory(firing);
  let history: History = { ...kept, isWhole: false };
  for (const reading of now.readings) {
    const celsius = reading.quality === 'bad' ? null : reading.celsius;
    const isKnown = history.traces[reading.sensor]?.at(-1)?.atMs === reading.atMs;
    if (!isKnown) history = withPoint(history, reading.sensor, reading.atMs, celsius);
  }
  return { now, history };
}

function emptyHistory(firing: string | null): History {
  return { firing, isWhole: false, traces: {}, acts: [], gaps: [] };
}

function withPoint(history: History, sensor: string, atMs: number, celsius: number | null): History {
  const trace = extendTrace(history.traces[sensor] ?? [], atMs, celsius);
  return { ...history, traces: { ...history.traces, [sensor]: trace } };
}

function withGap(history: History, gap: GapEvent): History {
  const traces = Object.fromEntries(
    Object.entries(history.traces).map(([sensor, trace]) => [sensor, breakTrace(trace, gap.fromMs)]),
  );
  return { ...history, traces, gaps: [...history.gaps, gap] };
}

function withHistory(view: KilnView, { firing, curve }: HistoryMessage): KilnView {
  if (view.history.firing !== firing) return view; // It came too late: another firing is on.
  const sensors = new Set([...Object.keys(curve.sensors), ...Object.keys(view.history.traces)]);
  const traces = Object.fromEntries(
    [...sensors].map((sensor) => [
      sensor,
      joinTraces(traceOfPieces(curve.sensors[sensor] ?? []), view.history.traces[sensor] ?? []),
    ]),
  );
  const acts = view.history.acts.reduce(withAct, [...curve.acts]);
  return {
    ...view,
    history: { firing, isWhole: true, traces, acts, gaps: curve.gaps },
  };
}

function withAct(acts: readonly ActEvent[], act: ActEvent): ActEvent[] {
  const isKnown = acts.some((one) => one.atMs === act.atMs && one.what === act.what && one.value === act.value);
  return isKnown ? [...acts] : [...acts, act];
}

/** An alert that is gone leaves the page; one that is over but unseen stays. */
function withAlert(alerts: readonly AlertMessage[], alert: AlertMessage): AlertMessage[] {
  const others = alerts.filter((one) => one.id !== alert.id);
  return alert.life === 'gone' ? others : [...others, alert];
}

const URGENCY = { now: 0, soon: 1, note: 2 } as const;
const LIFE = { calling: 0, 'needs-reset': 1, 'over-unseen': 2, seen: 3, 'put-aside': 4, gone: 5 } as const;

/** It sounds until somebody comes: one that is listed under another has no sound of its own. */
export function isCallingForSomebody(alert: AlertMessage): boolean {
  if (alert.heldBackBy !== undefined) return false;
  return alert.life === 'calling' || (alert.life === 'needs-reset' && alert.seenBy === undefined);
}

/** What calls comes first, the most urgent on top, the older one before the younger. */
export function inOrder(alerts: readonly AlertMessage[]): AlertMessage[] {
  return [...alerts].sort(
    (a, b) => LIFE[a.life] - LIFE[b.life] || URGENCY[a.priority] - URGENCY[b.priority] || a.sinceMs - b.sinceMs,
  );
}

/** Age in real seconds of a sensor's last reading when the last heartbeat came; null when it never spoke. */
export function statedAgeS(ages: Dashboard['ages'], kiln: string, sensor: string): number | null {
  return ages[`${kiln}/${sensor}`] ?? null;
}
