/** That record, page and curve of a played run agree with what `replay` makes of the same file. */
import { expect } from 'vitest';
import type { AlertStage, PlayedRun, Stamp } from './real-run.ts';

/** Both sets have a reading a second, and the ticks between are a second apart too. */
const SAMPLE_MS = 1000;
/** How far the end of an alert may lie apart, on a curve that is nearly level. */
const LEVEL_MS = 30_000;
/** An alert rests on the way of about three minutes: only its stamps can have moved it. */
const JUDGED_MS = 200_000;

export function expectAgreement(run: PlayedRun): void {
  const { stages, fromFile } = run;
  expect(stages.map(inOrder)).toEqual(fromFile.stages.map(inOrder));
  expect(stages.length).toBeGreaterThan(0);
  const jitter = offBetween(run.stamps, 0, Number.POSITIVE_INFINITY);
  const apart = stages.map(({ sinceFirstMs, phase }, i) => {
    const near = offBetween(run.stamps, sinceFirstMs - JUDGED_MS, sinceFirstMs);
    const ms = sinceFirstMs - (fromFile.stages[i]?.sinceFirstMs ?? 0);
    // A reading and a tick: each may have moved it by one. That it is over is decided where the curve lies nearly level,
    // and half a second of jitter is many seconds there.
    const overMs = phase === 'over' ? LEVEL_MS : 0;
    return { ms, allowedMs: overMs + 2 * SAMPLE_MS + Math.max(near.most, -near.least) };
  });
  process.stdout.write(
    `stamps lie ${jitter.least} to ${jitter.most} ms of firing time off an even pace; alerts are told ${apart.map(({ ms, allowedMs }) => `${ms} (of ${allowedMs} allowed)`).join(', ')} ms apart from replay\n`,
  );
  for (const { ms, allowedMs } of apart) expect(Math.abs(ms)).toBeLessThanOrEqual(allowedMs);
}

function offBetween(stamps: readonly Stamp[], fromMs: number, toMs: number): { least: number; most: number } {
  const off = stamps.filter((s) => s.sinceFirstMs >= fromMs && s.sinceFirstMs <= toMs).map((s) => s.offMs);
  return { least: Math.min(...off, 0), most: Math.max(...off, 0) };
}

/** Everything but the time and the id's number: the words hold times of day and so differ. */
function inOrder({ alert, phase, priority }: AlertStage): string {
  return `${alert} ${phase} ${priority}`;
}

export function expectWholeRecord(run: PlayedRun): void {
  expect(run.check.verdict).toBe('OK');
  expect(run.verified).toEqual({ code: 0, stdout: expect.stringMatching(/OK/) });
  expect(run.fromRecord).toEqual(run.recorded);
  const read = run.lines.flatMap((line) => (line.type === 'reading' ? (line.v as unknown as Value[]) : []));
  expect(read.map(({ s, mC }) => `${s} ${mC}`)).toEqual(
    run.rows.map(({ sensor, celsius }) => `${sensor} ${Math.round((celsius ?? Number.NaN) * 1000)}`),
  );
}

interface Value {
  readonly s: string;
  readonly mC: number;
}

/** Each point of the curve is a reading of the file, at its time; the file's highest is the curve's, and the page's. */
export function expectSameCurve(run: PlayedRun): void {
  const { curve, rows, fromFile } = run;
  const firstMs = run.lines.find((line) => line.type === 'reading')?.t ?? 0;
  const fileFirstMs = rows[0]?.atMs ?? 0;
  const jitter = offBetween(run.stamps, 0, Number.POSITIVE_INFINITY);
  for (const [sensor, stretches] of Object.entries(curve.sensors)) {
    expect(stretches).toHaveLength(1);
    const ofSensor = rows.filter((row) => row.sensor === sensor);
    const points = stretches.flat();
    expect(Math.max(...points.map(([, celsius]) => celsius))).toBe(fromFile.summary.peakC[sensor]);
    for (const [atMs, celsius] of points) {
      const dueMs = atMs - firstMs + fileFirstMs;
      const near = ofSensor.filter((row) => dueMs - row.atMs >= jitter.least && dueMs - row.atMs <= jitter.most);
      expect(near.map((row) => row.celsius)).toContain(celsius);
    }
  }
  expect(Object.keys(curve.sensors).sort()).toEqual(Object.keys(fromFile.summary.peakC).sort());
}

/** What a person reads on the page: the alerts' words, the last figure, and the curve told in a table. */
export function expectSamePage(run: PlayedRun): void {
  const { page, stages, standing, rows } = run;
  expect(page.complaints).toEqual([]);
  const lastC = rows.slice(-5).map((row) => Math.round(row.celsius ?? Number.NaN));
  expect(lastC).toContain(Number.parseInt(page.figures, 10));
  const last = [...new Map(stages.map((stage) => [stage.id, stage])).values()];
  expect(standing.map(({ id, phase, priority }) => `${id} ${phase} ${priority}`).sort()).toEqual(
    last.map(({ id, phase, priority }) => `${id} ${phase} ${priority}`).sort(),
  );
  // The first line tells the worst that stands, and its card then gives the figures behind it.
  for (const { message } of standing) expect([page.sentence, ...page.cards].join('\n')).toContain(message);
  expect(page.cards).toHaveLength(standing.length);
  const past = [...new Map(run.recorded.map((stage) => [stage.id, stage])).values()];
  expect(page.pastAlerts).toHaveLength(past.length);
  for (const [i, { message }] of past.entries()) expect(page.pastAlerts[i]).toContain(message);
  const firstMs = run.lines.find((line) => line.type === 'reading')?.t ?? 0;
  const sensors = [...new Set(rows.map((row) => row.sensor))];
  const compared = page.table.flatMap(({ time, measured }) => {
    // The page was looked at a little after the last reading: its last round minute may lie beyond the record.
    const atMs = minuteWithin(time, run.curve.fromMs, run.curve.toMs + LOOKED_LATER_MS);
    if (atMs > run.curve.toMs) return [];
    const sinceFirstMs = atMs - firstMs;
    return measured.flatMap((shown, i) =>
      shown === '–' ? [] : [{ shown: Number.parseInt(shown, 10), sensor: sensors[i] ?? '', sinceFirstMs }],
    );
  });
  expect(compared.length).toBeGreaterThan(4);
  for (const { shown, sensor, sinceFirstMs } of compared) {
    const atMs = (rows[0]?.atMs ?? 0) + sinceFirstMs;
    const near = rows.filter((row) => row.sensor === sensor && Math.abs(row.atMs - atMs) <= 5000);
    const celsius = near.map((row) => row.celsius ?? Number.NaN);
    expect(shown).toBeGreaterThanOrEqual(Math.floor(Math.min(...celsius)));
    expect(shown).toBeLessThanOrEqual(Math.ceil(Math.max(...celsius)));
  }
}

const LOOKED_LATER_MS = 5 * 60_000;

/** The instant of a time of day, as the wall of this machine tells it, within a firing of less than a day. */
function minuteWithin(time: string, fromMs: number, toMs: number): number {
  const [hour = 0, minute = 0] = time.split(':').map(Number);
  for (let atMs = Math.ceil(fromMs / 60_000) * 60_000; atMs <= toMs; atMs += 60_000) {
    const wall = new Date(atMs);
    if (wall.getHours() === hour && wall.getMinutes() === minute) return atMs;
  }
  throw new Error(`${time} is not within the firing`);
}
