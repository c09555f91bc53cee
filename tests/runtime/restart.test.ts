/** The daemon is stopped, or dies, in mid-firing: afterwards it is the same firing at the same place on its plan. */
import { readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import type { AlertMessage } from '../../daemon/wire/live-messages.ts';
import { is } from '../support/live-viewer.ts';
import { climb } from '../support/loop-bench.ts';
import { expectSameWhenLivedAgain, linesOf, readRecord, recordFolder } from '../support/record-check.ts';
import { type RestartingWatch, restartingWatch } from '../support/restarting-watch.ts';

/** Short, so that a test is: a warm-up to 90 and ten minutes there, the gas turned down before it. */
const warmUp: Schedule = {
  name: 'Warm-up',
  toleranceC: 6,
  segments: [
    { kind: 'ramp', toC: 90, rateCPerH: 1200, acts: [{ when: 'end', do: 'Turn the gas down', callMinutes: 2 }] },
    { kind: 'hold', minutes: 10 },
    { kind: 'ramp', toC: 40, rateCPerH: 'let-fall' },
  ],
};

let bench: RestartingWatch;

beforeEach(async () => {
  bench = await restartingWatch();
  await bench.start();
});

afterEach(() => bench.end());

async function begin(): Promise<string> {
  return (await bench.watch().desk.begin(bench.kilnId, warmUp, 'Mira')).id;
}

async function record(id: string) {
  const { lines, check } = await readRecord(bench.dataDir, id);
  expect(check.verdict).not.toBe('BAD');
  return { lines, check, state: expectSameWhenLivedAgain(lines) };
}

test('after a stop and a start it is the same firing, in the same hold with the same minutes, and the gap is marked', async () => {
  const id = await begin();
  await bench.feed(...climb(20, 90, 30), ...Array.from({ length: 60 }, () => 90));
  const before = bench.now().position;
  expect(before).toMatchObject({ segment: 1 });
  expect(before?.holdDoneS).toBeGreaterThan(50);
  await bench.stop();
  await bench.start(40);
  expect(bench.now().firing?.id).toBe(id);
  const after = bench.now().position;
  expect(after).toMatchObject({ segment: 1, holdDoneS: before?.holdDoneS, holdInBandS: before?.holdInBandS });
  await bench.feed(90, 90);
  // The gap lay within the band on both sides, so the hold's clock has gone on over it.
  expect(bench.now().position?.holdDoneS).toBeGreaterThanOrEqual((before?.holdDoneS ?? 0) + 40);
  expect(bench.now().position?.holdDoneS).toBeLessThanOrEqual((before?.holdDoneS ?? 0) + 44);
  const { lines } = await record(id);
  const gap = linesOf(lines, 'gap');
  expect(gap).toMatchObject([{ why: 'the daemon was away' }]);
  expect((gap[0]?.t ?? 0) - Number(gap[0]?.from)).toBe(40_000);
  expect(bench.log.filter((line) => line.includes('goes on after 40 s away'))).toHaveLength(1);
});

test.each(['seen', 'calling'] as const)(
  'an alert that was %s is so after a restart, and does not call a second time',
  async (life) => {
    const id = await begin();
    await bench.feed(...climb(20, 104, 20));
    const called = await bench.heard(is('alert', (a) => a.alert === 'overshoot' && a.life === 'calling'));
    if (life === 'seen') await bench.watch().desk.alertDeed(called.id, 'Mira', { deed: 'seen', alertId: called.id });
    const dues = linesOf((await record(id)).lines, 'call').filter((line) => line.state === 'due');
    expect(dues).toHaveLength(1);
    await bench.stop();
    await bench.start(10);
    expect(bench.now().alerts.map((a) => `${a.id} ${a.life}`)).toEqual([`${called.id} ${life}`]);
    await bench.feed(...Array.from({ length: 30 }, () => 104));
    const again = bench.told.filter((m): m is AlertMessage => m.type === 'alert' && m.refresh !== true);
    expect(again).toEqual([]);
    expect(bench.now().alerts.map((a) => `${a.id} ${a.life}`)).toEqual([`${called.id} ${life}`]);
    const { lines } = await record(id);
    expect(linesOf(lines, 'call').filter((line) => line.state === 'due')).toEqual(dues);
    // Still the same alert: it can be seen from now on as well.
    await bench.watch().desk.alertDeed(called.id, 'Jon', { deed: 'seen', alertId: called.id });
    expect(bench.now().alerts[0]?.life).toBe('seen');
  },
);

test('an alert that was put aside comes back when its time is up, however long the daemon was away meanwhile', async () => {
  const id = await begin();
  await bench.feed(...climb(20, 104, 20));
  const called = await bench.heard(is('alert', (a) => a.alert === 'overshoot' && a.life === 'calling'));
  const aside = { deed: 'put-aside', alertId: called.id, minutes: 2 } as const;
  await bench.watch().desk.alertDeed(called.id, 'Mira', aside);
  const untilMs = bench.now().alerts[0]?.putAsideUntilMs ?? 0;
  await bench.stop();
  await bench.start(60);
  const kept = bench.now().alerts.find((a) => a.id === called.id);
  expect(kept).toMatchObject({ life: 'put-aside', putAsideUntilMs: untilMs });
  await bench.feed(...Array.from({ length: 80 }, () => 104));
  const back = await bench.heard(is('alert', (a) => a.id === called.id && a.life === 'calling'));
  expect(back.atMs - untilMs).toBeGreaterThanOrEqual(0);
  expect(back.atMs - untilMs).toBeLessThan(2000);
  await record(id);
});

test('a kind that was switched off is so after a restart, stands in the record, and can be switched on again', async () => {
  const id = await begin();
  await bench.feed(20, 20);
  const off = { deed: 'switch-off', alert: 'overshoot', why: 'an empty kiln, to try the burner' } as const;
  await bench.watch().desk.deed(id, 'Mira', off);
  await bench.feed(...climb(20, 104, 20));
  await bench.stop();
  await bench.start(10);
  expect(bench.now().switchedOff).toMatchObject([{ alert: 'overshoot', by: 'Mira', why: off.why }]);
  await bench.feed(104, 104);
  expect(bench.now().alerts).toEqual([]);
  await bench.watch().desk.deed(id, 'Mira', { deed: 'switch-on', alert: 'overshoot' });
  await bench.feed(...Array.from({ length: 20 }, () => 104));
  await bench.heard(is('alert', (a) => a.alert === 'overshoot' && a.life === 'calling'));
  expect(bench.now().switchedOff).toEqual([]);
  const detail = await bench.watch().desk.firing(id);
  expect(detail.acts.map((a) => `${a.deed} ${a.what}`)).toEqual(['switch-off overshoot', 'switch-on overshoot']);
  expect(detail.alertStatistics.causes).toEqual([{ alert: 'overshoot', callCount: 1 }]);
  await record(id);
});

test('an alert whose line a power cut tore off, though its reading was written, is written at the return and can be seen', async () => {
  const id = await begin();
  // Between the ticks, so that it is a reading that raises the alert and not the second after it.
  bench.clock().pass(500);
  let lastC = 20;
  for (const celsius of climb(20, 104, 20)) {
    if (bench.told.some(is('alert'))) break;
    await bench.feed(celsius);
    lastC = celsius;
  }
  const called = await bench.heard(is('alert', (a) => a.alert === 'overshoot'));
  await bench.stop();
  // A power cut leaves no seal over the last lines.
  await rm(join(recordFolder(bench.dataDir, id), 'checkpoints.jsonl'));
  const path = join(recordFolder(bench.dataDir, id), 'record.jsonl');
  const text = await readFile(path, 'utf8');
  const from = text.indexOf(`"id":${JSON.stringify(called.id)}`);
  const lineStart = text.lastIndexOf('\n', from) + 1;
  // The line before it is the reading, or the call, that raised it; half of the alert's own line is there.
  await writeFile(path, text.slice(0, lineStart + 20));
  await bench.start(10);
  const { atMs, alert, phase } = called;
  expect(bench.now().alerts).toMatchObject([{ id: called.id, atMs, alert, phase, life: 'calling' }]);
  await bench.watch().desk.alertDeed(called.id, 'Mira', { deed: 'seen', alertId: called.id });
  // As hot as it was, so that what was foreseen does not happen meanwhile.
  await bench.feed(lastC, lastC);
  const { lines } = await record(id);
  const ofAlert = linesOf(lines, 'alert').filter((line) => line.id === called.id);
  expect(ofAlert[0]).toMatchObject({ t: called.atMs, life: 'calling' });
  expect(ofAlert.filter((line) => line.life === 'calling')).toHaveLength(1);
});

test('a kiln that is described differently after the restart goes on as it is described now', async () => {
  const id = await begin();
  await bench.feed(...climb(20, 60, 30));
  await bench.stop();
  await bench.start(5, { name: 'Gas kiln by the window', heat: 'electric' });
  await bench.feed(60.5);
  expect(bench.now()).toMatchObject({ name: 'Gas kiln by the window', heat: 'electric', firing: { id } });
  const { lines, state } = await record(id);
  expect(linesOf(lines, 'edge').map((line) => line.edge)).toContain('setup-changed');
  expect(state.kiln.heat).toBe('electric');
});

test('a second restart at once is one firing still, with two gaps', async () => {
  const id = await begin();
  await bench.feed(...climb(20, 50, 30));
  for (const awayS of [3, 70]) {
    await bench.stop();
    await bench.start(awayS);
    expect(bench.now().firing?.id).toBe(id);
  }
  await bench.feed(50.5);
  const { lines } = await record(id);
  expect(linesOf(lines, 'gap').filter((line) => line.why === 'the daemon was away')).toHaveLength(2);
});
