/** An unfinished firing in a data folder, written by the real recorder as the watch would have written it. */
import type { Entry } from '../../daemon/recorder/recorder.ts';
import type { Built } from './built.ts';
import type { LongFiring } from './long-firing.ts';

/** Lines of one write: only the disk's waiting is spared, the lines are the same. */
const GROUP = 500;

/** @returns how many lines the record has */
export async function recordUnfinished(built: Built, dataDir: string, firing: LongFiring): Promise<number> {
  const { kiln, schedule, startedAtMs, messages } = firing;
  const { inputEntry, eventEntry, openingEntry } = built.recordLines;
  const store = built.recorder.fileRecordStore(dataDir);
  const opening = {
    startedAtMs,
    kiln,
    schedule,
    simulated: false,
    by: 'bench',
    software: 'bench',
    node: process.version,
  };
  const id = built.firingId.newFiringId(startedAtMs, kiln.id, 'beac');
  const recorder = await store.begin({ id, kiln, schedule, open: openingEntry(opening) });
  let state = built.state.beginFiring(kiln, schedule, startedAtMs);
  let entries: Entry[] = [];
  const add = (entry: Entry | undefined): void => {
    if (entry !== undefined) entries.push(entry);
  };
  for (const message of messages) {
    const passed = built.step.passTime(state, message.atMs);
    for (const event of passed.events) add(eventEntry(event));
    const stepped = built.step.step(passed.state, message);
    state = stepped.state;
    add(inputEntry(message, stepped.events));
    for (const event of stepped.events) add(eventEntry(event));
    if (entries.length < GROUP) continue;
    await recorder.append(entries);
    entries = [];
  }
  if (state.ended) throw new Error('The firing that was to be left unfinished has ended by itself.');
  if (entries.length > 0) await recorder.append(entries);
  const { lines } = recorder;
  await store.release();
  return lines;
}
