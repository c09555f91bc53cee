/** A whole simulated firing in a data folder: its inputs go through core, and the real recorder writes what comes of it. */
import type { Deed } from '../../daemon/core/inputs.ts';
import { beginFiring, type FiringState } from '../../daemon/core/state.ts';
import { passTime, type Step, step } from '../../daemon/core/step.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import type { Entry, Recorder, RecordStore } from '../../daemon/recorder/recorder.ts';
import { closingEntry, eventEntry, inputEntry, type Opening, openingEntry } from '../../daemon/runtime/record-lines.ts';
import { type FiringScenario, liveFiring } from '../../simulators/firing-scenario.ts';

export interface RecordOptions {
  readonly id: string;
  /** Seconds after the firing's start, and what somebody does then through the page. */
  readonly deeds?: readonly { readonly afterS: number; readonly by: string; readonly deed: Deed }[];
  /** False leaves the record without its closing line. */
  readonly isClosed?: boolean;
}

/** Records one firing in a store of its own. Resolves with the record's last seal. */
export async function recordScenario(
  dataDir: string,
  scenario: FiringScenario,
  options: RecordOptions,
): Promise<{ readonly head: string; readonly lines: number }> {
  const store = fileRecordStore(dataDir, { nowMs: () => scenario.startedAtMs });
  const { head, lines } = await recordInto(store, scenario, options);
  await store.release();
  return { head, lines };
}

/** Records one firing in a store that others may follow in. */
export async function recordInto(
  store: RecordStore,
  scenario: FiringScenario,
  options: RecordOptions,
): Promise<Recorder> {
  const { kiln, schedule, startedAtMs } = scenario;
  const opening: Opening = {
    startedAtMs,
    kiln,
    schedule,
    simulated: true,
    by: 'Hanna',
    software: 'spyhole 0.1.0',
    node: 'v20.19.0',
  };
  const recorder = await store.begin({ id: options.id, kiln, schedule, open: openingEntry(opening) });
  let state = beginFiring(kiln, schedule, startedAtMs);
  let entries: Entry[] = [];
  let ended = { by: '', why: '' };
  const file = (stepped: Step, input?: Parameters<typeof step>[1]): void => {
    state = stepped.state;
    const line = input === undefined ? undefined : inputEntry(input, stepped.events);
    if (line !== undefined) entries.push(line);
    for (const event of stepped.events) {
      const entry = eventEntry(event);
      if (entry !== undefined) entries.push(entry);
      if (event.type === 'ended') ended = event;
    }
  };
  for (const input of scenarioInputs(scenario, options.deeds ?? [], () => state)) {
    file(passTime(state, input.atMs));
    if (state.ended) break;
    file(step(state, input), input);
    if (state.ended) break;
    // A minute's worth in one write: the lines are the same.
    if (entries.length < 60) continue;
    await recorder.append(entries);
    entries = [];
  }
  if (entries.length > 0) await recorder.append(entries);
  if (options.isClosed === false) await recorder.leave();
  else await recorder.close(closingEntry(state, ended.by, ended.why, kiln));
  return recorder;
}

function* scenarioInputs(
  scenario: FiringScenario,
  deeds: NonNullable<RecordOptions['deeds']>,
  state: () => FiringState,
): Generator<Parameters<typeof step>[1]> {
  const firing = liveFiring(scenario);
  const waiting = [...deeds];
  let lid: string | undefined;
  for (let toMs = scenario.startedAtMs; !firing.ended() && !state().ended; toMs += scenario.instrument.sampleS * 1000) {
    const news = firing.step(toMs);
    for (const act of news.acts) {
      const value = act.value === undefined ? {} : { value: String(act.value) };
      yield { kind: 'action', atMs: act.atMs, by: 'Hanna', deed: 'act', what: act.what, ...value };
    }
    for (const { atMs, news: edge } of news.edges) yield { kind: 'edge', atMs, ...edge };
    for (const row of news.rows) {
      const raw = { kind: 'raw', atMs: row.atMs, input: 'rows' } as const;
      if (row.lid !== undefined && row.lid !== lid) yield { ...raw, channel: 'lid', text: row.lid };
      lid = row.lid ?? lid;
      yield { ...raw, channel: row.sensor, text: row.celsius === null ? '' : String(row.celsius) };
    }
    while (waiting[0] !== undefined && scenario.startedAtMs + waiting[0].afterS * 1000 <= toMs) {
      const { by, deed } = waiting[0];
      waiting.shift();
      yield { kind: 'action', atMs: toMs, by, ...deed };
    }
  }
}
