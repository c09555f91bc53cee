/** That record, page and curve of a played run agree with what `replay` makes of the same file. */
import { expect } from 'vitest';
import type { AlertStage, PlayedRun } from './real-run.ts';

/** Both sets have a reading a second, and the ticks between are a second apart too: each may move an alert by one. */
const READING_AND_TICK_MS = 2000;

/**
 * The wire and the pace move the stamps, and a stamp may move an alert; so its time is held against the file with the
 * stamps as they came, and what is told, in which order, against the file as it is.
 */
export function expectAgreement(run: PlayedRun): void {
  const { stages, fromFile, fromFileAsStamped } = run;
  expect(stages.length).toBeGreaterThan(0);
  expect(stages.map(inOrder)).toEqual(fromFile.stages.map(inOrder));
  expect(stages.map(inOrder)).toEqual(fromFileAsStamped.stages.map(inOrder));
  const apartMs = stages.map(({ sinceFirstMs }, i) => sinceFirstMs - (fromFileAsStamped.stages[i]?.sinceFirstMs ?? 0));
  process.stdout.write(`alerts are told ${apartMs.join(', ')} ms apart from replay\n`);
  for (const ms of apartMs) expect(Math.abs(ms)).toBeLessThanOrEqual(READING_AND_TICK_MS);
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

/** Each point of the curve is a reading of the file, at the time of its record; the file's highest is the curve's. */
export function expectSameCurve({ curve, asStamped, fromFile }: PlayedRun): void {
  for (const [sensor, stretches] of Object.entries(curve.sensors)) {
    expect(stretches).toHaveLength(1);
    const points = stretches.flat();
    expect(Math.max(...points.map(([, celsius]) => celsius))).toBe(fromFile.summary.peakC[sensor]);
    const readings = new Set(
      asStamped.filter((row) => row.sensor === sensor).map(({ atMs, celsius }) => `${atMs} ${celsius}`),
    );
    expect(points.filter(([atMs, celsius]) => !readings.has(`${atMs} ${celsius}`))).toEqual([]);
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
