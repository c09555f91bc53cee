import { describe, expect, it } from 'vitest';
import { derivedFiles } from '../../daemon/recorder/derived.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { Archive } from '../../daemon/runtime/archive.ts';
import { DiskRoom } from '../../daemon/runtime/disk-room.ts';
import { WorkshopDesk } from '../../daemon/runtime/workshop-desk.ts';
import { benchKiln, loopBench } from '../support/loop-bench.ts';
import { manualClock } from '../support/manual-clock.ts';

const kiln = { sensors: [{ name: 'middle', letter: 'K' }] };
const day = 200 * 86_400;
const GB = 1e9;

async function roomWith(freeBytes: number, totalBytes: number): Promise<DiskRoom> {
  const room = new DiskRoom('/data', [kiln], async () => ({ freeBytes, totalBytes }));
  await room.look();
  return room;
}

describe('room on the disk', () => {
  it('is no word worth while there is plenty', async () => {
    const room = await roomWith(100 * GB, 200 * GB);
    expect([room.sentence, room.refusal]).toEqual([null, null]);
  });

  it('is told when a tenth is left, and when two weeks of firing are', async () => {
    expect((await roomWith(19 * GB, 200 * GB)).sentence).toBe(
      'The disk of the records has 19.0 GB left, enough for more than a year of firing; make room on it.',
    );
    const twoWeeks = await roomWith(13 * day, 0.3 * GB);
    expect(twoWeeks.sentence).toContain('enough for about 13 days of firing');
    expect(twoWeeks.refusal).toBeNull();
  });

  it('keeps a firing from beginning where it would not find three times its size', async () => {
    expect((await roomWith(2.9 * day, GB)).refusal).toBe('the disk of the records has only 50 MB left');
    expect((await roomWith(3 * day, GB)).refusal).toBeNull();
  });

  it('is looked at as a firing is begun by hand, and one without room is refused', async () => {
    const bench = await loopBench();
    let freeBytes = day;
    const room = new DiskRoom('/data', [kiln], async () => ({ freeBytes, totalBytes: GB }));
    const desk = new WorkshopDesk({
      clock: bench.clock,
      speed: () => null,
      shelf: { schedules: [], troubles: [] },
      archive: new Archive(fileRecordStore(bench.dataDir), derivedFiles(bench.dataDir), () => []),
      loops: new Map([[benchKiln.id, bench.loop]]),
      fitted: new Map(),
      utcOffsetMinutes: () => 0,
      troubles: () => [],
      room,
    });
    await expect(desk.begin(benchKiln.id, null, 'Hanna')).rejects.toMatchObject({ status: 507 });
    expect(bench.loop.running).toBeNull();
    freeBytes = 4 * day;
    expect(await desk.begin(benchKiln.id, null, 'Hanna')).toEqual({ id: bench.loop.running?.id });
    await bench.end();
  });

  it('is looked at every ten minutes and told once', async () => {
    const clock = manualClock();
    const said: string[] = [];
    let freeBytes = 100 * GB;
    let looks = 0;
    const room = new DiskRoom('/data', [kiln], async () => {
      looks += 1;
      return { freeBytes, totalBytes: 200 * GB };
    });
    const stop = await room.watch(clock, (sentence) => said.push(sentence));
    freeBytes = GB;
    for (let i = 0; i < 3; i += 1) {
      clock.pass(600_000);
      await Promise.resolve().then(() => undefined);
      await new Promise((resolve) => setImmediate(resolve));
    }
    expect(looks).toBe(4);
    expect(said).toHaveLength(1);
    stop();
    expect(clock.timerCount()).toBe(0);
  });

  it('is left to the disk’s own refusal on a system that does not tell', async () => {
    const room = new DiskRoom('/data', [kiln], () => Promise.reject(new Error('no such call')));
    await room.look();
    expect([room.sentence, room.refusal]).toEqual([null, null]);
  });
});
