/** Past firings and the present ones, as the page asks for them. Read from the records; anything kept is derived. */
import { crackBelowC } from '../core/alerts/lid-open-hot.ts';
import { type KilnSetup, rulingSensor } from '../core/plan/kiln.ts';
import { alertStatistics } from '../core/report/alert-statistics.ts';
import { type Chronicle, chronicle, newChronicle } from '../core/report/chronicle.ts';
import { type KeyFigures, keyFigures } from '../core/report/key-figures.ts';
import { holdFigures } from '../core/report/summary.ts';
import { type Point, thinCurve } from '../core/report/thin-curve.ts';
import { toleranceOf } from '../core/tracking/tolerance.ts';
import { RecordError, RequestError } from '../errors.ts';
import { canonicalLine } from '../recorder/canonical.ts';
import type { Derived } from '../recorder/derived.ts';
import { sha256 } from '../recorder/hash-chain.ts';
import type { Line, RecordStore } from '../recorder/recorder.ts';
import type { RowQuery } from '../server/record-desk.ts';
import type { Curve, FiringDetail, FiringRow, LastTime } from '../wire/live-messages.ts';
import { type Afterwords, readAfterwords } from './afterwords.ts';
import type { RunningFiring } from './firing-loop.ts';
import { fits, haystackOf } from './firing-search.ts';
import { type Closing, type Opening, readClosing, readEvents, readOpening } from './record-lines.ts';
import { relive } from './relive.ts';

/** A firing as it can be shown. */
interface Told {
  readonly id: string;
  readonly kiln: KilnSetup;
  readonly rulingSensor: string;
  readonly simulated: boolean;
  readonly story: Chronicle;
  readonly holds: FiringDetail['holds'];
  readonly planLine: Curve['plan'];
  readonly lines: number;
  readonly head: string;
  /** null while the firing is on. */
  readonly figures: KeyFigures | null;
  readonly words: Afterwords;
}

/** A row with the words that a search looks through. */
interface Filed {
  readonly row: FiringRow;
  readonly haystack: string;
}

const SKETCH_COLUMNS = 24;
/** Of the words in a row of the list. */
const MOST_LETTERS = 160;
/** Whole firings kept in memory after they were looked at. */
const KEPT = 12;
const LATELY = 8;

export class Archive {
  readonly #store: RecordStore;
  readonly #derived: Derived;
  readonly #running: () => readonly RunningFiring[];
  readonly #rows = new Map<string, Filed>();
  readonly #kept = new Map<string, Told>();

  constructor(store: RecordStore, derived: Derived, running: () => readonly RunningFiring[]) {
    this.#store = store;
    this.#derived = derived;
    this.#running = running;
  }

  /** Newest first. A record that cannot be read is left out here; the checker names it. */
  async rows(query: RowQuery = {}): Promise<FiringRow[]> {
    const found: FiringRow[] = [];
    for (const id of await this.#store.ids()) {
      const filed = this.#find(id) === undefined ? await this.#row(id) : filedOf(await this.#tell(id));
      if (filed !== null && fits(filed, query)) found.push(filed.row);
    }
    found.sort((a, b) => b.startedAtMs - a.startedAtMs);
    return query.limit === undefined ? found : found.slice(0, query.limit);
  }

  /** Words were added to it: what was kept of it is made anew. */
  forget(id: string): void {
    this.#rows.delete(id);
    this.#kept.delete(id);
  }

  async detail(id: string): Promise<FiringDetail> {
    const told = await this.#tell(id);
    const { story } = told;
    return {
      ...rowOf(told),
      rulingSensor: told.rulingSensor,
      schedule: story.schedule,
      holds: told.holds,
      alertList: [...story.alerts.values()],
      alertStatistics: alertStatistics(story.told, story.startedAtMs, lastMs(story)),
      acts: story.acts,
      notes: told.words.notes,
      corrections: told.words.corrections,
      signOffs: told.words.signOffs,
      actLines: told.words.actLines,
      figures: told.figures,
      list: story.list,
      gaps: story.gaps,
      lines: told.lines,
      head: told.head,
    };
  }

  async curve(id: string, points: number): Promise<Curve> {
    const told = await this.#tell(id);
    const { story } = told;
    const toMs = lastMs(story);
    // A column gives up to four points: its first, lowest, highest and last.
    const columns = Math.max(Math.floor(points / 4), 1);
    const sensors = [...story.traces].map(([name, trace]) => [
      name,
      thinCurve(trace, story.startedAtMs, toMs, columns),
    ]);
    return {
      fromMs: story.startedAtMs,
      toMs,
      sensors: Object.fromEntries(sensors) as Record<string, Point[][]>,
      plan: told.planLine,
      toleranceC: toleranceOf(told.kiln, story.schedule),
      acts: story.acts,
      alerts: [...story.alerts.values()],
      gaps: story.gaps,
    };
  }

  /** The newest firings of one kiln whose records are looked into, for what they have in common with the present one. */
  async #lately(kiln: string): Promise<Told[]> {
    const ids = (await this.rows()).filter((row) => row.kiln === kiln).slice(0, LATELY);
    const told: Told[] = [];
    for (const { id } of ids) told.push(await this.#tell(id));
    return told;
  }

  /** What the hand did in the last firing of the same schedule in the same kiln. */
  async lastTime(id: string): Promise<LastTime | null> {
    const now = await this.#tell(id);
    const name = now.story.schedule?.name;
    if (name === undefined) return null;
    const before = (await this.#lately(now.kiln.id)).find(
      ({ story }) =>
        story.startedAtMs < now.story.startedAtMs &&
        story.endedAtMs !== null &&
        story.schedule?.name === name &&
        story.acts.length > 0,
    );
    if (before === undefined) return null;
    const { story, rulingSensor: ruling } = before;
    return {
      firing: before.id,
      startedAtMs: story.startedAtMs,
      peakC: story.peakC.get(ruling) ?? null,
      acts: story.acts,
    };
  }

  /** The lines of the list before lighting, as the painter last filed it for this kiln. */
  async lastList(kiln: string): Promise<readonly string[] | null> {
    const told = (await this.#lately(kiln)).find(({ story }) => story.list !== null);
    return told?.story.list?.items?.map(({ text }) => text) ?? null;
  }

  #find(id: string): RunningFiring | undefined {
    return this.#running().find((r) => r.id === id);
  }

  async #row(id: string): Promise<Filed | null> {
    const known = this.#rows.get(id);
    if (known !== undefined) return known;
    const kept = (await this.#derived.read(id)) as Filed | undefined;
    if (kept !== undefined) {
      this.#rows.set(id, kept);
      return kept;
    }
    try {
      const filed = filedOf(await this.#tell(id));
      // A firing without an end may yet go on.
      if (filed.row.endedAtMs !== null) {
        this.#rows.set(id, filed);
        await this.#derived.keep(id, filed);
      }
      return filed;
    } catch (error) {
      if (error instanceof RecordError || error instanceof RequestError) return null;
      throw error;
    }
  }

  async #tell(id: string): Promise<Told> {
    const running = this.#find(id);
    if (running !== undefined) return tellRunning(running);
    const kept = this.#kept.get(id);
    if (kept !== undefined) return kept;
    const told = await this.#read(id);
    // One that is just being begun, or is not closed yet, is not what it will be: kept, it would be told so for ever.
    if (told.figures === null) return told;
    this.#kept.set(id, told);
    for (const oldest of [...this.#kept.keys()].slice(0, -KEPT)) this.#kept.delete(oldest);
    return told;
  }

  async #read(id: string): Promise<Told> {
    const lines = await this.#store.read(id).catch((error: unknown) => {
      throw unreadable(id, error);
    });
    const opening = readOpening(lines[0]);
    const last = lines[lines.length - 1];
    if (opening === undefined || last === undefined) throw unreadable(id, new Error('it opens no firing'));
    const story = newChronicle(opening.startedAtMs, opening.schedule);
    const events = lines.flatMap(readEvents);
    for (const event of events) chronicle(story, event);
    const closing = lines.findLast((line) => line.type === 'close');
    const { kiln: changed, holds, planLine } = (closing && readClosing(closing)) ?? reckon(opening, lines);
    const kiln = changed ?? opening.kiln;
    const ruling = rulingSensor(kiln);
    const openBelowC = crackBelowC({ kiln, schedule: story.schedule });
    return {
      id,
      kiln,
      rulingSensor: ruling,
      simulated: opening.simulated,
      story,
      holds,
      planLine,
      lines: lines.length,
      head: sha256(Buffer.from(canonicalLine(last))),
      figures: closing === undefined ? null : keyFigures(events, { rulingSensor: ruling, openBelowC }),
      words: readAfterwords(lines),
    };
  }
}

/** A firing without its closing line: its figures come from living it again. */
function reckon(opening: Opening, lines: readonly Line[]): Closing {
  const state = relive(opening, lines);
  return { kiln: state.kiln, holds: holdFigures(state), planLine: state.position?.planLine ?? [] };
}

function tellRunning(running: RunningFiring): Told {
  const { state, story, opening, recorder, id } = running;
  return {
    id,
    kiln: state.kiln,
    rulingSensor: state.rulingSensor,
    simulated: opening.simulated,
    story,
    holds: holdFigures(state),
    planLine: state.position?.planLine ?? [],
    lines: recorder.lines,
    head: recorder.head,
    figures: null,
    words: { notes: story.notes, corrections: [], signOffs: [], actLines: [] },
  };
}

function filedOf(told: Told): Filed {
  const row = rowOf(told);
  return { row, haystack: haystackOf(row, told.story, told.words) };
}

function rowOf(told: Told): FiringRow {
  const { story, kiln } = told;
  const trace = story.traces.get(told.rulingSensor);
  const toMs = lastMs(story);
  return {
    id: told.id,
    kiln: kiln.id,
    kilnName: kiln.name,
    scheduleName: story.schedule?.name ?? null,
    startedAtMs: story.startedAtMs,
    endedAtMs: story.endedAtMs,
    peakC: Object.fromEntries(story.peakC),
    readings: story.readings,
    alerts: Object.fromEntries(story.alertCounts),
    sketch: trace === undefined ? [] : sketch(thinCurve(trace, story.startedAtMs, toMs, SKETCH_COLUMNS)),
    plan: told.planLine.map(({ atMs, celsius }): Point => [Math.round(atMs), Math.round(celsius)]),
    words: wordsOf(told.words),
    simulated: told.simulated,
    utcOffsetMinutes: kiln.utcOffsetMinutes,
  };
}

/** The last note, as it reads now. */
function wordsOf({ notes, corrections }: Afterwords): string | null {
  const last = notes.findLast(({ text }) => text !== '');
  if (last === undefined) return null;
  const text = corrections.findLast(({ line }) => line === last.line)?.is ?? last.text;
  return text.length > MOST_LETTERS ? `${text.slice(0, MOST_LETTERS)}…` : text;
}

/** Two points for each column are enough for a thumbnail. */
function sketch(stretches: readonly Point[][]): Point[] {
  return stretches.flat().filter((_, i, all) => i % Math.ceil(all.length / 60) === 0 || i === all.length - 1);
}

function lastMs(story: Chronicle): number {
  let last = story.startedAtMs;
  for (const trace of story.traces.values()) last = Math.max(last, trace.atMs[trace.atMs.length - 1] ?? last);
  return last;
}

function unreadable(id: string, error: unknown): Error {
  const isUnknown = error instanceof RecordError && error.code === 'unknown-firing';
  return new RequestError(isUnknown ? 404 : 422, {
    what: isUnknown ? `there is no firing ${id}` : `the record of ${id} cannot be read`,
    where: 'the id in the address',
    right: isUnknown ? 'use an id that /api/firings lists' : 'run `spyhole verify` on it: it names the line',
  });
}
