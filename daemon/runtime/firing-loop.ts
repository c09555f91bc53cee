/**
 * The one queue of a kiln: what comes in goes through core, onto the disk, and only then out to whoever listens.
 *
 * Core is pure, so it may think before the disk has written: nothing that it says leaves this file until the lines
 * are synced. Everything that waits in the queue meanwhile goes into the next write together (group commit).
 */
import { wording } from '../core/alerts/wording.ts';
import type { FiringEvent } from '../core/events.ts';
import type { CoreInput, Deed, EdgeNews, RawMessage } from '../core/inputs.ts';
import type { KilnSetup } from '../core/plan/kiln.ts';
import type { Schedule } from '../core/plan/schedule.ts';
import { renamedSensors, withNamesOf } from '../core/plan/sensor-names.ts';
import { type Chronicle, chronicle, newChronicle } from '../core/report/chronicle.ts';
import { beginFiring, type FiringState } from '../core/state.ts';
import { passTime, type Step, step } from '../core/step.ts';
import { FRESH_WATCH, IDLE_WATCH, type IdleWatch, watchForBegin } from '../core/tracking/firing-begin.ts';
import { worstClockOffS } from '../core/tracking/said-clock.ts';
import { RecordError, RequestError } from '../errors.ts';
import type { InputStatus } from '../inputs/input.ts';
import { canonicalLine } from '../recorder/canonical.ts';
import { toRecordable } from '../recorder/decimals.ts';
import type { Entry, Recorder } from '../recorder/recorder.ts';
import type { Arrived } from './arrivals.ts';
import type { Clock } from './clock.ts';
import type { Log } from './log.ts';
import { closingEntry, eventEntry, inputEntry, type Opening } from './record-lines.ts';
import { Refusals } from './refusals.ts';
import { wellFormed } from './well-formed.ts';

export interface RunningFiring {
  readonly id: string;
  readonly recorder: Recorder;
  readonly story: Chronicle;
  readonly opening: Opening;
  /** As it stands on the disk: what core has thought beyond that is shown to nobody. */
  state: FiringState;
}

/** What the loop tells the rest of the daemon, once it is on the disk. */
export interface LoopListener {
  /** `line` is the reading's line in the record; null when no firing is on or the disk refuses. */
  said(event: FiringEvent, firingId: string | null, line: number | null): void;
  /** A firing began or ended, or its plan changed. */
  changed(): void;
  /** A firing's record was closed. */
  closed(firing: RunningFiring): void;
  /** An input's state, or the disk's, has changed. */
  troubled(): void;
}

export interface LoopParts {
  /** As it is set up at first. */
  readonly kiln: KilnSetup;
  readonly clock: Clock;
  readonly log: Log;
  readonly listener: LoopListener;
  readonly openRecord: (opening: Opening) => Promise<Recorder>;
  readonly software: string;
  readonly simulated: boolean;
  /** Minutes east of UTC of the clock on the wall, at an instant: it changes twice a year. */
  readonly utcOffsetMinutes: (atMs: number) => number;
}

type Item =
  | { readonly kind: 'input'; readonly input: CoreInput; readonly done?: Done }
  | { readonly kind: 'time'; readonly atMs: number }
  | { readonly kind: 'unsaid'; readonly atMs: number; readonly events: readonly FiringEvent[] }
  | {
      readonly kind: 'begin';
      readonly atMs: number;
      readonly schedule: Schedule | null;
      readonly by: string;
      readonly done: Done;
    };

interface Done {
  readonly resolve: (firingId: string) => void;
  readonly reject: (error: Error) => void;
}

/** Real milliseconds between two looks at the clock. */
const TIME_EACH_MS = 250;
/** How much is kept in memory while the disk refuses: five hours of one reading a second. */
const BACKLOG_LINES = 20_000;
/** Idle readings kept, so that a firing is recorded from its first warm one. */
const IDLE_KEPT = 4000;

export class FiringLoop {
  readonly #parts: LoopParts;
  /** As the configuration has it now; a firing that is on keeps the names of its sensors. */
  #kiln: KilnSetup;
  readonly #queue: Item[] = [];
  #running: RunningFiring | null = null;
  #idle: FiringState;
  #idleWatch: IdleWatch = FRESH_WATCH;
  #idleRaw: RawMessage[] = [];
  #pumping: Promise<void> = Promise.resolve();
  #isPumping = false;
  #backlog: Entry[] = [];
  #dropped = 0;
  #recordTrouble: string | null = null;
  #stopTime: (() => void) | null = null;
  #isStopped = false;
  #lastLookRealMs: number;
  readonly #statuses = new Map<string, InputStatus>();
  readonly #heardRealMs = new Map<string, number>();
  readonly #lastTexts = new Map<string, string>();
  readonly #refusals = new Refusals();

  constructor(parts: LoopParts) {
    this.#parts = parts;
    this.#kiln = parts.kiln;
    this.#idle = beginFiring(parts.kiln, null, parts.clock.nowMs());
    this.#lastLookRealMs = parts.clock.realMs();
  }

  get running(): RunningFiring | null {
    return this.#running;
  }

  /** The firing's state, or that of the resting kiln. */
  get state(): FiringState {
    return this.#running?.state ?? this.#idle;
  }

  get lastLookRealMs(): number {
    return this.#lastLookRealMs;
  }

  /** Sentences on what is wrong with inputs, with what they say, and with the disk. */
  get troubles(): string[] {
    const inputs = [...this.#statuses.values()].filter((s) => s.state === 'lost').map((s) => s.sentence);
    return [
      ...inputs,
      ...[this.#refusals.sentence, this.#clockSentence, this.#recordTrouble].filter((sentence) => sentence !== null),
    ];
  }

  /** That a board's clock is off; while a firing is on, an alert says so. */
  get #clockSentence(): string | null {
    const offS = this.#running === null ? worstClockOffS(this.#idle.saidClocks) : 0;
    return offS === 0 ? null : wording.boardClock(offS);
  }

  /** Real seconds since each sensor last gave a temperature; null for one that has not spoken yet. */
  get agesS(): Record<string, number | null> {
    const nowRealMs = this.#parts.clock.realMs();
    return Object.fromEntries(
      this.state.kiln.sensors.map(({ name }) => {
        const heard = this.#heardRealMs.get(name);
        return [name, heard === undefined ? null : Math.max((nowRealMs - heard) / 1000, 0)];
      }),
    );
  }

  /** Goes on with a firing that was on when the daemon stopped; first it says what it could not say any more then. */
  resume(running: RunningFiring, awayS: number, unsaid: readonly FiringEvent[]): void {
    this.#running = running;
    if (unsaid.length > 0) this.#put({ kind: 'unsaid', atMs: running.state.nowMs, events: unsaid });
    this.#edge({ edge: 'restarted', awayS });
    this.#tellSetup(running);
  }

  /** It is set up otherwise from now on; no input of it listens meanwhile. */
  setUp(kiln: KilnSetup): void {
    this.#kiln = kiln;
    if (this.#running !== null) this.#tellSetup(this.#running);
    else this.#idle = resting(this.#idle, kiln);
  }

  #tellSetup(running: RunningFiring): void {
    const kiln = withNamesOf(running.state.kiln, this.#kiln);
    if (inCanon(kiln) !== inCanon(running.state.kiln)) this.#edge({ edge: 'setup-changed', kiln });
  }

  /** The last line of text that an input said. */
  lastTextOf(input: string): string | undefined {
    return this.#lastTexts.get(input);
  }

  start(): void {
    this.#stopTime = this.#parts.clock.every(TIME_EACH_MS, () => {
      this.#put({ kind: 'time', atMs: this.#parts.clock.nowMs() });
    });
  }

  /** Resolves once all that has come in so far is judged, recorded and told. */
  async settled(): Promise<void> {
    while (this.#isPumping) await this.#pumping;
  }

  /** Lets the queue run dry and closes the file; the firing goes on at the next start. */
  async stop(): Promise<void> {
    this.#isStopped = true;
    this.#stopTime?.();
    await this.settled();
    await this.#running?.recorder.leave();
  }

  heard(input: string, message: Arrived): void {
    const { channel, text, retained, keptBack } = message;
    this.#lastTexts.set(input, text);
    this.#put({
      kind: 'input',
      input: {
        kind: 'raw',
        atMs: this.#parts.clock.nowMs(),
        input,
        text,
        ...(channel !== undefined && { channel }),
        ...(retained === true && { retained }),
        ...(keptBack === true && { keptBack }),
      },
    });
  }

  inputStatus(input: string, status: InputStatus): void {
    const before = this.#statuses.get(input);
    this.#statuses.set(input, status);
    this.#parts.log(`${this.#kiln.name}: ${status.sentence}`);
    this.#parts.listener.troubled();
    if (status.state === 'lost') this.#edge({ edge: 'input-lost', input, sentence: status.sentence });
    else if (status.state === 'connected' && before !== undefined) this.#edge({ edge: 'input-back', input });
  }

  /** Begins a firing by hand. @throws RequestError while one is on */
  begin(schedule: Schedule | null, by: string): Promise<string> {
    if (this.#isStopped) return Promise.reject(isSetUpAnew(this.#kiln.name));
    return this.#ask((done) => ({
      kind: 'begin',
      atMs: this.#parts.clock.nowMs(),
      ...wellFormed({ schedule, by }),
      done,
    }));
  }

  /** Hands a person's deed to the firing; resolves once it is on the disk. */
  deed(firingId: string, by: string, deed: Deed): Promise<string> {
    if (this.#running?.id !== firingId) return Promise.reject(firingIsOver(firingId));
    const atMs = this.#parts.clock.nowMs();
    const input: CoreInput = { kind: 'action', atMs, ...wellFormed({ by, ...deed }) };
    return this.#ask((done) => ({ kind: 'input', input, done }));
  }

  /** On the night when the wall's clock is changed, the sentences' times change with it. */
  keepTimeOfDay(): void {
    const { clock, utcOffsetMinutes } = this.#parts;
    const now = utcOffsetMinutes(clock.nowMs());
    const kiln = this.#running?.state.kiln;
    if (kiln === undefined || kiln.utcOffsetMinutes === now) return;
    this.#edge({ edge: 'setup-changed', kiln: { ...kiln, utcOffsetMinutes: now } });
  }

  /** The machine's clock was set: a line in the record while a firing is on. */
  clockSet(byS: number): void {
    this.#edge({ edge: 'clock-set', byS });
  }

  #ask(item: (done: Done) => Item): Promise<string> {
    return new Promise((resolve, reject) => this.#put(item({ resolve, reject })));
  }

  #edge(news: EdgeNews): void {
    this.#put({ kind: 'input', input: { kind: 'edge', atMs: this.#parts.clock.nowMs(), ...news } });
  }

  #put(item: Item): void {
    this.#queue.push(item);
    if (this.#isPumping) return;
    this.#isPumping = true;
    this.#pumping = this.#pump();
  }

  async #pump(): Promise<void> {
    try {
      while (this.#queue.length > 0) {
        const items = this.#queue.splice(0);
        for (let i = 0; i < items.length; ) {
          // A firing that begins or ends within the items changes how the rest of them is taken.
          i +=
            this.#running === null ? await this.#takeIdle(items, i) : await this.#takeRunning(this.#running, items, i);
        }
        this.#lastLookRealMs = this.#parts.clock.realMs();
        if (this.#refusals.lookAt(this.#lastLookRealMs)) this.#parts.listener.troubled();
      }
    } finally {
      this.#isPumping = false;
    }
  }

  // ---- no firing is on ----

  /** Takes one item of a resting kiln; returns how many were taken. */
  async #takeIdle(items: readonly Item[], index: number): Promise<number> {
    const item = items[index];
    if (item === undefined || item.kind === 'time' || item.kind === 'unsaid') return 1;
    if (item.kind === 'begin') {
      await this.#open(item.atMs, item.schedule, item.by, item.done);
      return 1;
    }
    const { input } = item;
    if (input.kind === 'action') {
      item.done?.reject(firingIsOver('that'));
      return 1;
    }
    // A firing was to be told of it, and ended before: the resting kiln is as the configuration has it.
    if (input.kind === 'edge' && input.edge === 'setup-changed') return 1;
    const before = this.#clockSentence;
    const stepped = step(this.#idle, input);
    this.#idle = forget(stepped.state);
    if (this.#clockSentence !== before) this.#parts.listener.troubled();
    if (input.kind === 'raw') this.#keepIdle(input);
    for (const event of stepped.events) {
      if (event.type !== 'reading' && event.type !== 'lid' && event.type !== 'controller' && event.type !== 'rejected')
        continue;
      this.#noteHeard(event);
      this.#parts.listener.said(event, null, null);
    }
    await this.#watchForBegin(stepped.events);
    return 1;
  }

  #keepIdle(raw: RawMessage): void {
    this.#idleRaw.push(raw);
    if (this.#idleRaw.length > IDLE_KEPT) this.#idleRaw = this.#idleRaw.slice(IDLE_KEPT / 4);
  }

  async #watchForBegin(events: readonly FiringEvent[]): Promise<void> {
    for (const event of events) {
      if (event.type !== 'reading' || event.quality !== 'good' || event.celsius === null) continue;
      if (event.sensor !== this.#idle.rulingSensor) continue;
      const sign = watchForBegin(this.#idleWatch, { atMs: event.atMs, celsius: event.celsius });
      this.#idleWatch = sign.watch;
      if (sign.beganAtMs === null) continue;
      const kept = this.#idleRaw.filter((raw) => raw.atMs >= (sign.beganAtMs ?? 0));
      const running = await this.#open(sign.beganAtMs, null, 'by itself', null);
      if (running !== null)
        await this.#takeRunning(
          running,
          kept.map((input) => ({ kind: 'input', input })),
          0,
        );
      return;
    }
  }

  async #open(atMs: number, schedule: Schedule | null, by: string, done: Done | null): Promise<RunningFiring | null> {
    const { software, simulated, log } = this.#parts;
    const kiln = { ...this.#kiln, utcOffsetMinutes: this.#parts.utcOffsetMinutes(atMs) };
    const opening: Opening = { startedAtMs: atMs, kiln, schedule, simulated, by, software, node: process.version };
    try {
      const recorder = await this.#parts.openRecord(opening);
      const state = beginFiring(kiln, schedule, atMs);
      const running: RunningFiring = {
        id: recorder.firingId,
        recorder,
        story: newChronicle(atMs, schedule),
        opening,
        state,
      };
      this.#running = running;
      this.#idleRaw = [];
      this.#setRecordTrouble(null);
      log(`${kiln.name}: firing ${running.id} begins ${by === 'by itself' ? by : `by ${by}`}.`);
      this.#parts.listener.changed();
      done?.resolve(running.id);
      // The firing is told what was amiss before it began: its silence then has a reason.
      for (const [input, { state, sentence }] of this.#statuses) {
        if (state === 'lost') this.#edge({ edge: 'input-lost', input, sentence });
      }
      return running;
    } catch (error) {
      // Without a record there is no firing to file readings in; they go on being shown, and it is tried again.
      this.#setRecordTrouble(`No record can be begun: ${sentenceOf(error)}`);
      done?.reject(asError(error));
      return null;
    }
  }

  // ---- a firing is on ----

  /** Steps through the items, writes their lines in one go, then tells; returns how many were taken. */
  async #takeRunning(running: RunningFiring, items: readonly Item[], from: number): Promise<number> {
    const draft: Draft = { state: running.state, entries: [], told: [] };
    const done: Done[] = [];
    let taken = 0;
    for (const item of items.slice(from)) {
      const atMs = item.kind === 'input' ? item.input.atMs : item.atMs;
      const isReturn = item.kind === 'input' && item.input.kind === 'edge' && item.input.edge === 'restarted';
      if (!isReturn) take(draft, passTime(draft.state, atMs), undefined);
      // Whatever comes after the end, or as the firing ends by itself, is the resting kiln's.
      if (draft.state.ended) break;
      taken++;
      if (item.kind === 'unsaid') take(draft, { state: draft.state, events: item.events }, undefined);
      if (item.kind === 'begin') item.done.reject(alreadyOn(this.#kiln.name));
      if (item.kind !== 'input') continue;
      take(draft, step(draft.state, item.input), item.input);
      if (item.done !== undefined) done.push(item.done);
    }
    const firstLine = await this.#write(running, draft.entries);
    running.state = draft.state;
    for (const { event, entry } of draft.told) {
      this.#noteHeard(event);
      chronicle(running.story, event);
      const line = firstLine === null || entry === null ? null : firstLine + entry;
      this.#parts.listener.said(event, running.id, line);
      const isSwitch = event.type === 'act' && (event.deed === 'switch-off' || event.deed === 'switch-on');
      if (event.type === 'plan' || isSwitch) this.#parts.listener.changed();
    }
    // Whoever ends a firing is answered once its record is closed.
    if (running.state.ended) await this.#close(running);
    for (const { resolve } of done) resolve(running.id);
    return taken;
  }

  /** @returns the number of the first of these entries' lines, or null while the disk refuses */
  async #write(running: RunningFiring, entries: Entry[]): Promise<number | null> {
    if (entries.length === 0 && this.#backlog.length === 0) return null;
    const waiting = this.#backlog;
    try {
      const first = await running.recorder.append([...waiting, ...entries]);
      this.#backlog = [];
      if (this.#recordTrouble !== null) {
        this.#setRecordTrouble(null);
        this.#edge({ edge: 'record-back', missing: this.#dropped });
        this.#dropped = 0;
      }
      return entries.length === 0 ? null : first + waiting.length;
    } catch (error) {
      // What could not be written is kept in memory and goes in front of the next try; the watch goes on.
      const kept = [...waiting, ...entries];
      const overflow = Math.max(kept.length - BACKLOG_LINES, 0);
      this.#dropped += overflow;
      this.#backlog = kept.slice(overflow);
      if (this.#recordTrouble === null) this.#edge({ edge: 'record-lost', sentence: sentenceOf(error) });
      this.#setRecordTrouble(sentenceOf(error));
      return null;
    }
  }

  async #close(running: RunningFiring): Promise<void> {
    const { log, listener } = this.#parts;
    const kiln = this.#kiln;
    const { state } = running;
    const entry = closingEntry(state, running.story.endedBy ?? '', running.story.endedWhy ?? '', running.opening.kiln);
    try {
      if (this.#backlog.length > 0) await running.recorder.append(this.#backlog);
      this.#backlog = [];
      await running.recorder.close(entry);
    } catch (error) {
      // The record stays without its last line, which the checker calls incomplete; the firing itself is over.
      log(`${kiln.name}: the record of ${running.id} could not be closed: ${sentenceOf(error)}`);
      this.#setRecordTrouble(`The record of the last firing could not be closed: ${sentenceOf(error)}`);
      await running.recorder.leave().catch(() => undefined);
    }
    this.#running = null;
    this.#idle = resting(state, kiln);
    this.#idleWatch = IDLE_WATCH;
    this.#idleRaw = [];
    log(`${kiln.name}: firing ${running.id} ended: ${running.story.endedWhy ?? ''}.`);
    listener.closed(running);
    listener.changed();
  }

  #noteHeard(event: FiringEvent): void {
    if (event.type === 'reading' && event.quality === 'good') {
      this.#heardRealMs.set(event.sensor, this.#parts.clock.realMs());
    }
    if (event.type === 'reading' && event.quality === 'bad') {
      this.#refuse(`${event.sensor} gives no temperature: ${event.reason ?? 'nobody knows why'}.`);
    }
    if (event.type === 'rejected') this.#refuse(event.sentence);
  }

  #refuse(sentence: string): void {
    const before = this.#refusals.sentence;
    const line = this.#refusals.note(sentence, this.#parts.clock.realMs());
    if (line !== null) this.#parts.log(`${this.#kiln.name}: ${line}`);
    if (this.#refusals.sentence !== before) this.#parts.listener.troubled();
  }

  #setRecordTrouble(sentence: string | null): void {
    if (sentence === this.#recordTrouble) return;
    this.#recordTrouble = sentence;
    if (sentence !== null) this.#parts.log(`${this.#kiln.name}: ${sentence}`);
    this.#parts.listener.troubled();
  }
}

/** What core has thought of a batch of inputs, before it is on the disk. */
interface Draft {
  state: FiringState;
  readonly entries: Entry[];
  /** What is to be told, each with its own or its input's place among the entries. */
  readonly told: { readonly event: FiringEvent; readonly entry: number | null }[];
}

function take(draft: Draft, stepped: Step, input: CoreInput | undefined): void {
  draft.state = stepped.state;
  const inputLine = input === undefined ? undefined : inputEntry(input, stepped.events);
  const inputIndex = inputLine === undefined ? null : draft.entries.push(inputLine) - 1;
  for (const event of stepped.events) {
    const entry = eventEntry(event);
    draft.told.push({ event, entry: entry === undefined ? inputIndex : draft.entries.push(entry) - 1 });
  }
}

/** A resting kiln has no plan, no alerts and no past to speak of. */
function forget(state: FiringState): FiringState {
  const fresh = beginFiring(state.kiln, null, state.nowMs);
  const { saidClocks, controller, lid } = state;
  return { ...fresh, sensors: state.sensors, saidClocks, lid, controller };
}

/** After its firing: as it is set up now, with what its sensors showed under the names that they have now. */
function resting(state: FiringState, kiln: KilnSetup): FiringState {
  const renamed = renamedSensors(state.kiln.sensors, kiln.sensors);
  const sensors = Object.entries(state.sensors).map(([old, track]) => {
    const name = renamed.get(old) ?? old;
    return [name, { ...track, name }] as const;
  });
  return forget({ ...state, kiln, sensors: Object.fromEntries(sensors) });
}

/** Two descriptions of a kiln are the same whatever the order of their fields. */
function inCanon(kiln: KilnSetup): string {
  return canonicalLine(toRecordable(kiln));
}

function firingIsOver(id: string): RequestError {
  return new RequestError(409, {
    what: `firing ${id} is not on`,
    where: 'the address of the request',
    right: 'only a firing that is on can be acted on; see /api/state for the one that is',
  });
}

function isSetUpAnew(name: string): RequestError {
  return new RequestError(409, { what: `${name} is being set up anew`, where: 'kiln', right: 'try again in a moment' });
}

function alreadyOn(name: string): RequestError {
  return new RequestError(409, {
    what: `a firing of ${name} is on already`,
    where: 'kiln',
    right: 'end it first, or give it another plan with PUT /api/firings/:id/schedule',
  });
}

function sentenceOf(error: unknown): string {
  return error instanceof RecordError ? error.message : asError(error).message;
}

function asError(error: unknown): Error {
  return error instanceof Error ? error : new Error(String(error));
}
