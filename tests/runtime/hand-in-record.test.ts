/** What hand and eye told, in a real record, and what the next firing makes of it. */
import { afterEach, expect, test } from 'vitest';
import { derivedFiles } from '../../daemon/recorder/derived.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { Archive } from '../../daemon/runtime/archive.ts';
import { climb, type LoopBench, loopBench, mattPlan } from '../support/loop-bench.ts';

let bench: LoopBench | undefined;
afterEach(async () => {
  await bench?.end();
  bench = undefined;
});

/** Reads the records anew, as a daemon that has just started. */
function archiveOf({ dataDir, clock, loop }: LoopBench): Archive {
  const store = fileRecordStore(dataDir, { nowMs: clock.nowMs });
  return new Archive(store, derivedFiles(dataDir), () => (loop.running === null ? [] : [loop.running]));
}

test('the list, a reading of the hand pyrometer and a corrected mark stand in the record as they were said', async () => {
  bench = await loopBench();
  const { loop } = bench;
  await bench.feed(20, 20);
  const id = await loop.begin(mattPlan, 'Ada');
  const items = [
    { text: 'Stain side checked', isDone: true },
    { text: 'Extraction on', isDone: false },
  ];
  await bench.feed(20, 20);
  await loop.deed(id, 'Ada', { deed: 'list', items, roomC: 18.5 });
  await bench.feed(...climb(20, 200, 60));
  await loop.deed(id, 'Ada', { deed: 'act', what: 'valve', value: 'mark 4' });
  const wrongAtMs = loop.running?.story.acts.at(-1)?.atMs ?? 0;
  await bench.feed(201);
  await loop.deed(id, 'Ada', { deed: 'act', what: 'valve', value: 'mark 3', correctsAtMs: wrongAtMs });
  await loop.deed(id, 'Ben', { deed: 'act', what: 'hand pyrometer', value: '214 °C' });
  await loop.deed(id, 'Ada', { deed: 'end' });
  const told = await archiveOf(bench).detail(id);
  expect(told.list).toMatchObject({ by: 'Ada', items, couples: { agree: true } });
  expect(told.acts).toMatchObject([
    { what: 'valve', value: 'mark 4', atMs: wrongAtMs, celsius: 200 },
    { what: 'valve', value: 'mark 3', correctsAtMs: wrongAtMs },
    { what: 'hand pyrometer', value: '214 °C', by: 'Ben' },
  ]);
});

test('the next firing of the same plan is told what the hand did last time, and brings the painter’s own list', async () => {
  bench = await loopBench();
  const { loop } = bench;
  await bench.feed(20);
  const first = await loop.begin(mattPlan, 'Ada');
  await loop.deed(first, 'Ada', { deed: 'list', items: [{ text: 'My own line', isDone: true }] });
  await bench.feed(...climb(20, 120, 60));
  await loop.deed(first, 'Ada', { deed: 'act', what: 'valve', value: 'mark 3' });
  await loop.deed(first, 'Ada', { deed: 'end' });
  const other = await loop.begin({ ...mattPlan, name: 'Another plan' }, 'Ada');
  expect(await archiveOf(bench).lastTime(other)).toBeNull();
  await loop.deed(other, 'Ada', { deed: 'end' });
  const second = await loop.begin(mattPlan, 'Ada');
  await bench.feed(100);
  const archive = archiveOf(bench);
  expect(await archive.lastTime(second)).toMatchObject({
    firing: first,
    peakC: 120,
    acts: [{ what: 'valve', value: 'mark 3', celsius: 120 }],
  });
  expect(await archive.lastList('small-gas')).toEqual(['My own line']);
  expect(await archive.lastList('another')).toBeNull();
});
