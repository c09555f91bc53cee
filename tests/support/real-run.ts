/** A recorded run of a real heated plant, played into a watch that a person has started, with the page open. */
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { systemClock } from '../../daemon/runtime/clock.ts';
import type { AlertMessage, Curve, SnapshotMessage } from '../../daemon/wire/live-messages.ts';
import { type CsvRow, playRows, readingsOfCsv } from '../../simulators/play-csv.ts';
import { momentsOf } from '../../simulators/serial-device.ts';
import { desktop, launchBrowser, openPage } from './browser.ts';
import { runBuilt, startBuiltWatch } from './built-daemon.ts';
import { is, liveViewer } from './live-viewer.ts';
import { readRecord, recordFolder } from './record-check.ts';

/** How an alert stands in `replay --json` and, but for its time's form, in the record. */
export interface AlertStage {
  /** ms since the first reading. */
  readonly sinceFirstMs: number;
  readonly id: string;
  readonly alert: string;
  readonly phase: string;
  readonly priority: string;
  readonly message: string;
}

export interface ReplayedRun {
  readonly stages: readonly AlertStage[];
  readonly summary: {
    readonly peakC: Readonly<Record<string, number>>;
    readonly readings: number;
    readonly rejected: number;
    readonly holds: readonly { readonly inBandMinutes: number }[];
  };
}

export interface PlayedRun {
  readonly rows: readonly CsvRow[];
  /** The same rows with the times at which the watch had them, by its record. */
  readonly asStamped: readonly CsvRow[];
  readonly firingId: string;
  readonly lines: Awaited<ReturnType<typeof readRecord>>['lines'];
  readonly check: Awaited<ReturnType<typeof readRecord>>['check'];
  /** The record's alerts up to the last reading: what the hand or the silence afterwards made is left out. */
  readonly stages: readonly AlertStage[];
  readonly curve: Curve;
  /** The alerts that stood as the last reading had come. */
  readonly standing: readonly AlertMessage[];
  readonly log: string;
  /** What the page said as the last reading had come, and of the firing among the past ones. */
  readonly page: {
    readonly sentence: string;
    readonly cards: readonly string[];
    readonly figures: string;
    readonly pastAlerts: readonly string[];
    readonly table: readonly TableRow[];
    readonly complaints: readonly string[];
  };
  readonly verified: { readonly code: number | null; readonly stdout: string };
  /** The same rows, read by `replay` from the file. */
  readonly fromFile: ReplayedRun;
  /** The rows as stamped, read by `replay` from such a file. */
  readonly fromFileAsStamped: ReplayedRun;
  /** The record, lived again by `replay --firing`, as it prints it. */
  readonly fromRecord: readonly AlertStage[];
  /** All stages of the record, those after the last reading as well. */
  readonly recorded: readonly AlertStage[];
}

/** A row of the curve in words: a time of day, and what each sensor measured then. */
export interface TableRow {
  readonly time: string;
  readonly measured: readonly string[];
}

export interface RunPlan {
  readonly set: string;
  readonly schedule: object;
  /** The kiln's entry without its input; JSON is YAML too. */
  readonly kiln: { readonly id: string } & Readonly<Record<string, unknown>>;
  /** How many times faster than recorded. */
  readonly pace: number;
  /** Makes the wire, and says how it is configured. `dir` is the run's own folder. */
  wire(dir: string): Promise<Wire>;
}

export interface Wire {
  readonly input: object;
  /** The sentence of the log that says that the daemon listens to it. */
  readonly connected: RegExp;
  /** Called once the daemon listens, before the firing begins. */
  begin?(): Promise<void>;
  send(rows: readonly CsvRow[]): void;
  close(): Promise<void>;
}

export function realRunFile(set: string): string {
  return fileURLToPath(new URL(`../data/real-runs/${set}.csv`, import.meta.url));
}

export async function playRealRun(plan: RunPlan): Promise<PlayedRun> {
  const csv = realRunFile(plan.set);
  const rows = readingsOfCsv(await readFile(csv, 'utf8'));
  const dir = await mkdtemp(join(tmpdir(), 'spyhole-real-run-'));
  const files = { schedule: join(dir, 'plan.json'), kiln: join(dir, 'kiln.json'), config: join(dir, 'spyhole.yaml') };
  const dataDir = join(dir, 'data');
  const wire = await plan.wire(dir);
  await writeFile(files.schedule, JSON.stringify(plan.schedule));
  await writeFile(files.kiln, JSON.stringify(plan.kiln));
  const kilns = [{ ...plan.kiln, input: { ...wire.input, simulated: true } }];
  await writeFile(files.config, JSON.stringify({ clock: { speed: plan.pace }, kilns }));
  const browser = await launchBrowser();
  const watch = await startBuiltWatch(['--config', files.config, '--data', dataDir]);
  try {
    await watch.logged(wire.connected);
    const { page, complaints } = await openPage(browser, watch.url, desktop);
    await page.locator('h1').filter({ hasNotText: 'Asking' }).waitFor();
    const viewer = await liveViewer(watch.url);
    await wire.begin?.();
    const firingId = (await post(watch.url, '/api/firings', { kiln: plan.kiln.id, schedule: plan.schedule })).id;
    await playRows(momentsOf(rows), plan.pace, systemClock(), (moment) => wire.send(moment.rows)).done;
    await allHeard(viewer.messages, rows.length, () => viewer.heard(is('reading'), viewer.messages.length));
    const curve = (await (await fetch(`${watch.url}/api/firings/${firingId}/curve?points=4800`)).json()) as Curve;
    const cards = await page.locator('.alert-message, .alert-because, .past-words').allTextContents();
    const sentence = (await page.locator('h1').textContent()) ?? '';
    const { kilns } = (await (await fetch(`${watch.url}/api/state`)).json()) as SnapshotMessage;
    const standing = kilns[0]?.alerts ?? [];
    const figures = (await page.locator('.digits').first().textContent()) ?? '';
    await post(watch.url, `/api/firings/${firingId}/end`, { by: 'the test' });
    const past = await readPast(page, watch.url, firingId);
    // Once the watch has stopped the page complains with good reason.
    const soFar = [...complaints];
    await viewer.close();
    const { stderr } = await watch.stop();
    const { lines, check } = await readRecord(dataDir, firingId);
    const firstMs = lines.find((line) => line.type === 'reading')?.t ?? 0;
    const lastReading = lines.findLastIndex((line) => line.type === 'reading');
    const folder = recordFolder(dataDir, firingId);
    const stampedCsv = join(dir, 'as-stamped.csv');
    const asStamped = stampedRows(lines, rows);
    await writeFile(stampedCsv, csvOf(asStamped));
    const plannedArgs = ['--schedule', files.schedule, '--kiln', files.kiln, '--json'];
    const replayFile = async (readings: string) =>
      replayed(await runBuilt(['replay', '--readings', readings, ...plannedArgs]));
    const verified = await runBuilt(['verify', folder, '--data', dataDir]);
    return {
      rows,
      asStamped,
      firingId,
      lines,
      check,
      // An alert that a reading raised stands behind it in the record, with the reading's own time.
      stages: stagesOf(
        lines.filter((line, i) => i <= lastReading || line.t === lines[lastReading]?.t),
        firstMs,
      ),
      recorded: stagesOf(lines, firstMs),
      curve,
      log: stderr,
      standing,
      page: { sentence, cards, figures, ...past, complaints: soFar },
      verified: { code: verified.code, stdout: verified.stdout },
      fromFile: await replayFile(csv),
      fromFileAsStamped: await replayFile(stampedCsv),
      fromRecord: replayed(await runBuilt(['replay', '--firing', folder, '--json']), firstMs).stages,
    };
  } finally {
    await watch.kill();
    await browser.close();
    await wire.close();
    await rm(dir, { recursive: true, force: true });
  }
}

/** Waits until so many good readings of the record have come over the live feed. */
async function allHeard(
  messages: readonly { readonly type: string; readonly line?: unknown }[],
  wanted: number,
  next: () => Promise<unknown>,
): Promise<void> {
  const count = (): number => messages.filter((m) => m.type === 'reading' && typeof m.line === 'number').length;
  while (count() < wanted) await next();
}

async function post(url: string, path: string, body: object): Promise<{ id: string }> {
  const answer = await fetch(`${url}${path}`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', origin: url },
    body: JSON.stringify(body),
  });
  if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
  return (await answer.json()) as { id: string };
}

async function readPast(page: Page, url: string, firingId: string) {
  await page.goto(`${url}/#/firings/${encodeURIComponent(firingId)}`);
  await page.locator('.sheet.firing[aria-busy="false"]').waitFor();
  const pastAlerts = await page.locator('.past-alert').allTextContents();
  await page.locator('.curve-words summary').click();
  const table = await page
    .locator('.curve-words tbody tr')
    .evaluateAll((trs) => trs.map((tr) => [...tr.children].map((cell) => cell.textContent ?? '')));
  return { pastAlerts, table: table.map(([time = '', _planned, ...measured]) => ({ time, measured })) };
}

interface Said {
  readonly id: string;
  readonly alert: string;
  readonly phase: string;
  readonly priority: string;
  readonly message: string;
}

/** An alert as it begins, gets worse and is over, as `replay` tells it; what a person did with it is left out. */
function stagesOf(lines: PlayedRun['lines'], firstMs: number): AlertStage[] {
  const told = new Map<string, string>();
  return lines.flatMap((line) => {
    if (line.type !== 'alert') return [];
    const said = line as unknown as Said;
    const stage = `${said.phase} ${said.phase === 'over' ? '' : said.priority}`;
    if (told.get(said.id) === stage) return [];
    told.set(said.id, stage);
    return [stageOf(said, line.t - firstMs)];
  });
}

function stageOf({ id, alert, phase, priority, message }: Said, sinceFirstMs: number): AlertStage {
  return { sinceFirstMs, id, alert, phase, priority, message };
}

function replayed(
  ended: { readonly code: number | null; readonly stdout: string; readonly stderr: string },
  firstMs?: number,
) {
  if (ended.code !== 0) throw new Error(`replay ended with ${ended.code}: ${ended.stderr}`);
  const said = ended.stdout
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line));
  const { summary } = said.pop() as { summary: ReplayedRun['summary'] & { firstAt: string } };
  const from = firstMs ?? Date.parse(summary.firstAt);
  return { stages: said.map((one) => stageOf(one, Date.parse(one.at) - from)), summary };
}

/** The rows, each at the time that the record gives it. */
function stampedRows(lines: PlayedRun['lines'], rows: readonly CsvRow[]): CsvRow[] {
  const stampedMs = lines.filter((line) => line.type === 'reading').map((line) => line.t);
  // One line for each row, or for each moment where the wire carries all sensors in one.
  const moments = [...momentsOf(rows)].map((moment) => moment.rows);
  const sent = stampedMs.length === moments.length ? moments : rows.map((row) => [row]);
  return sent.flatMap((together, i) => together.map((row) => ({ ...row, atMs: stampedMs[i] ?? Number.NaN })));
}

function csvOf(rows: readonly CsvRow[]): string {
  const body = rows.map(({ atMs, sensor, celsius }) => `${new Date(atMs).toISOString()},${sensor},${celsius ?? ''}`);
  return ['time,sensor,celsius', ...body, ''].join('\n');
}
