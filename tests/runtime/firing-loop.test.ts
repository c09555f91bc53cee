/** The queue of one kiln, with a real record on a real disk: how a firing begins, is told of, and ends. */
import { afterEach, describe, expect, test } from 'vitest';
import { RequestError } from '../../daemon/errors.ts';
import type { Disk } from '../../daemon/recorder/disk.ts';
import { heldDisk } from '../support/held-disk.ts';
import { climb, type LoopBench, loopBench, mattPlan } from '../support/loop-bench.ts';
import { expectSameWhenLivedAgain, linesOf, readRecord } from '../support/record-check.ts';

let bench: LoopBench;

async function begin(disk?: Disk): Promise<LoopBench> {
  bench = await loopBench(disk);
  return bench;
}

afterEach(() => bench.end());

/** The record of the firing that is on or was on last, its seals checked, and the same when it is lived again. */
async function record(firingId: string) {
  const { lines, check } = await readRecord(bench.dataDir, firingId);
  expect(check.sentence).not.toMatch(/altered|broken/i);
  expect(check.verdict).not.toBe('BAD');
  return { lines, check, state: expectSameWhenLivedAgain(lines) };
}

function idOfRunning(): string {
  const id = bench.loop.running?.id;
  if (id === undefined) throw new Error('no firing is on');
  return id;
}

describe('a firing begins', () => {
  test('by itself, with its first warm reading as the first one in the record', async () => {
    const { loop, feed } = await begin();
    await feed(21, 21, 20.8, 21);
    expect(loop.running).toBeNull();
    await feed(...climb(21, 60, 8));
    const { lines } = await record(idOfRunning());
    expect(lines[0]).toMatchObject({ type: 'open', by: 'by itself', schedule: null });
    const first = linesOf(lines, 'reading')[0];
    // The lowest reading before it rose: the last of those at rest, not the one at which it was noticed.
    expect(first).toMatchObject({ t: lines[0]?.t, raw: '20.8' });
    expect(linesOf(lines, 'reading')).toHaveLength(2 + climb(21, 60, 8).length);
  });

  test('by itself only once: what is heard later goes into the same record', async () => {
    const { feed, loop } = await begin();
    await feed(...climb(20, 60, 8));
    const id = idOfRunning();
    await feed(...climb(60, 120, 8));
    expect(loop.running?.id).toBe(id);
    expect((await record(id)).state.readingCount).toBe(climb(20, 60, 8).length + climb(60, 120, 8).length);
  });

  test('warm, as a kiln that is fired again the same day: no fault, and no alert', async () => {
    const { feed } = await begin();
    await feed(...Array.from({ length: 130 }, (_, i) => 180 + i * 0.05));
    const { lines } = await record(idOfRunning());
    expect(lines[0]).toMatchObject({ by: 'by itself' });
    expect(linesOf(lines, 'reading')[0]).toMatchObject({ raw: '180' });
    expect(linesOf(lines, 'alert')).toEqual([]);
    await feed(...climb(186, 400, 8));
    expect(linesOf((await record(idOfRunning())).lines, 'alert')).toEqual([]);
  });

  test('not by itself while a hot kiln cools, nor on a summer afternoon', async () => {
    const { feed, loop } = await begin();
    await feed(...climb(190, 170, 3));
    expect(loop.running).toBeNull();
    await feed(...Array.from({ length: 200 }, (_, i) => 30 + i * 0.02));
    expect(loop.running).toBeNull();
  });

  test('by hand once: a second beginning while one is on is refused with 409', async () => {
    const { loop, feed } = await begin();
    const id = await loop.begin(mattPlan, 'Mira');
    await feed(20, 20);
    const second = await loop.begin(null, 'Jon').catch((error: unknown) => error);
    expect(second).toBeInstanceOf(RequestError);
    expect(second).toMatchObject({ status: 409, fault: { what: 'a firing of Small gas kiln is on already' } });
    expect(loop.running?.id).toBe(id);
  });
});

describe('what a person and an instrument may do', () => {
  test('half a letter in a name or a word does not keep the record from being written', async () => {
    const { loop, feed } = await begin();
    const id = await loop.begin(mattPlan, 'Mi\ud800');
    await feed(20, 21);
    await loop.deed(id, 'Jon\ud83d', { deed: 'note', text: 'glossy \udc00 already' });
    await loop.deed(id, 'Jon', { deed: 'act', what: 'valve\ud800', value: '\udfff3' });
    await feed(22);
    expect(loop.troubles).toEqual([]);
    const { lines } = await record(id);
    expect(linesOf(lines, 'act').map((line) => line.said)).toEqual([
      { text: 'glossy \ufffd already' },
      { what: 'valve\ufffd', value: '\ufffd3' },
    ]);
  });

  test('an input that was lost before the firing began is named by its silence', async () => {
    const { loop, wait, told } = await begin();
    loop.inputStatus('serial-1', { state: 'lost', sentence: '/dev/kiln is not there. Plug the instrument in.' });
    await loop.settled();
    await loop.begin(mattPlan, 'Mira');
    await wait(130);
    const alert = told.find((t) => t.event.type === 'alert' && t.event.alert === 'silence')?.event;
    expect(alert).toMatchObject({ because: expect.stringContaining('/dev/kiln is not there.') });
    await record(idOfRunning());
  });
});

describe('a firing ends', () => {
  test('by itself once the kiln is cool again after its plan', async () => {
    const { loop, feed } = await begin();
    const plan = {
      name: 'Drying',
      segments: [
        { kind: 'ramp', toC: 80, rateCPerH: 'flat-out' },
        { kind: 'ramp', toC: 45, rateCPerH: 'let-fall' },
      ],
    } as const;
    const id = await loop.begin(plan, 'Mira');
    await feed(...climb(20, 80, 10), ...climb(80, 40, 10));
    expect(loop.running?.id).toBe(id);
    await feed(...Array.from({ length: 301 }, () => 39));
    expect(loop.running).toBeNull();
    const { lines, check, state } = await record(id);
    expect(check.verdict).toBe('OK');
    expect(lines.at(-1)).toMatchObject({ type: 'close', by: 'by itself', why: 'the kiln is cool again' });
    expect(lines.at(-1)).toMatchObject({ readings: state.readingCount, peaks: [{ s: 'middle', mC: 80_000 }] });
  });

  test('by hand, and what is heard afterwards is not in its record', async () => {
    const { loop, feed } = await begin();
    const id = await loop.begin(mattPlan, 'Mira');
    await feed(20, 20.5, 21);
    await loop.deed(id, 'Mira', { deed: 'end' });
    await feed(21, 21);
    expect(loop.running).toBeNull();
    const { lines, check } = await record(id);
    expect(check.verdict).toBe('OK');
    expect(linesOf(lines, 'reading')).toHaveLength(3);
    expect(lines.at(-1)).toMatchObject({ type: 'close', by: 'Mira', why: 'ended by hand' });
  });

  test('and a deed that comes in the moment in which it ends by itself is answered, not left waiting', async () => {
    const { loop, feed, clock } = await begin();
    // Off the beat of the loop's own looks at the clock, so that a deed is the first to reach each new second.
    clock.pass(100);
    const id = await loop.begin(null, 'Mira');
    await feed(...climb(20, 80, 20), ...climb(80, 40, 20));
    const answers: Promise<string>[] = [];
    for (let second = 0; second < 300; second++) {
      clock.pass(1000);
      answers.push(loop.deed(id, 'Mira', { deed: 'note', text: `after ${second} s` }).catch(() => 'refused'));
    }
    const answered = await Promise.all(answers);
    expect(new Set(answered)).toEqual(new Set([id, 'refused']));
    const notes = linesOf((await record(id)).lines, 'act');
    expect(notes).toHaveLength(answered.filter((answer) => answer === id).length);
  });
});

describe('a plan given late', () => {
  test('finds its place: the firing is where it would be had the plan been there from the beginning', async () => {
    const way = [...climb(20, 660, 40), ...Array.from({ length: 240 }, () => 660)];
    const { loop, feed } = await begin();
    const planned = await loop.begin(mattPlan, 'Mira');
    await feed(...way);
    const from = loop.state.position;
    await loop.deed(planned, 'Mira', { deed: 'end' });
    await bench.end();

    const late = await begin();
    await late.feed(...way);
    const id = idOfRunning();
    expect(late.loop.state.position?.segment).toBeNull();
    await late.loop.deed(id, 'Mira', { deed: 'plan', schedule: mattPlan });
    const { position } = late.loop.state;
    expect(position?.segment).toBe(1);
    expect(position?.segment).toBe(from?.segment);
    // The way is kept at a quarter of a minute.
    expect(Math.abs((position?.holdDoneS ?? 0) - (from?.holdDoneS ?? 1000))).toBeLessThanOrEqual(16);
    const { lines, state } = await record(id);
    expect(linesOf(lines, 'act')[0]).toMatchObject({ deed: 'plan', by: 'Mira' });
    expect(state.schedule).toEqual(mattPlan);
  });
});

describe('the disk comes first', () => {
  test('a reading is told only once its line is on the disk, and the state shown is no newer than that', async () => {
    const disk = heldDisk();
    const { loop, feed, clock, told } = await begin(disk);
    await loop.begin(mattPlan, 'Mira');
    await feed(20, 21);
    const toldBefore = told.length;
    const shownBefore = loop.state;
    const isWaiting = disk.hold();
    clock.pass(1000);
    loop.heard('serial-1', { text: '22' });
    await isWaiting;
    expect(told).toHaveLength(toldBefore);
    expect(loop.state).toBe(shownBefore);
    expect(loop.state.sensors.middle?.last?.celsius).toBe(21);
    disk.release();
    await loop.settled();
    const reading = told.slice(toldBefore).find((t) => t.event.type === 'reading');
    expect(reading?.event).toMatchObject({ celsius: 22, quality: 'good' });
    const { lines } = await record(idOfRunning());
    expect(lines.find((line) => line.n === reading?.line)).toMatchObject({ type: 'reading', raw: '22' });
  });

  test('while it refuses, the watch goes on and says so; all lines are written when it takes them again', async () => {
    const disk = heldDisk();
    const { loop, feed, told, log } = await begin(disk);
    const id = await loop.begin(mattPlan, 'Mira');
    await feed(...climb(20, 30, 10));
    disk.refuse();
    const from = told.length;
    await feed(...climb(30, 50, 10));
    const said = told.slice(from);
    expect(said.filter((t) => t.event.type === 'reading' && t.event.quality === 'good')).toHaveLength(
      climb(30, 50, 10).length,
    );
    expect(said.every((t) => t.line === null)).toBe(true);
    const alerts = said.flatMap((t) => (t.event.type === 'alert' ? [t.event] : []));
    expect(alerts).toMatchObject([{ alert: 'record-trouble', phase: 'happening', life: 'calling' }]);
    expect(loop.troubles).toHaveLength(1);
    expect(log.filter((line) => line.includes(loop.troubles[0] ?? '?'))).toHaveLength(1);
    disk.heal();
    await feed(...climb(50, 60, 10));
    expect(loop.troubles).toEqual([]);
    const over = told.findLast((t) => t.event.type === 'alert');
    expect(over?.event).toMatchObject({ alert: 'record-trouble', phase: 'over' });
    await loop.deed(id, 'Mira', { deed: 'end' });
    await loop.settled();
    const { lines, check, state } = await record(id);
    expect(check.verdict).toBe('OK');
    const fed = [climb(20, 30, 10), climb(30, 50, 10), climb(50, 60, 10)].flat();
    expect(linesOf(lines, 'reading').map((line) => line.raw)).toEqual(fed.map(String));
    expect(linesOf(lines, 'edge').map((line) => line.edge)).toEqual(['record-lost', 'record-back']);
    expect(state.readingCount).toBe(fed.length);
  });

  test('a record that cannot be begun is tried again, and then holds the readings from the first warm one on', async () => {
    const disk = heldDisk();
    const { loop, feed } = await begin(disk);
    disk.refuse();
    await feed(...climb(20, 60, 10));
    expect(loop.running).toBeNull();
    expect(loop.troubles.join()).toMatch(/^No record can be begun: /);
    const byHand = await loop.begin(mattPlan, 'Mira').catch((error: unknown) => error);
    expect(byHand).toBeInstanceOf(Error);
    disk.heal();
    await feed(60.5);
    expect(loop.troubles).toEqual([]);
    const { lines } = await record(idOfRunning());
    expect(linesOf(lines, 'reading')).toHaveLength(climb(20, 60, 10).length + 1);
  });
});
