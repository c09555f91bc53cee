/** What the record costs: written through the whole path from MQTT, checked, opened on the page, searched. */
import { mkdirSync, openSync, readFileSync, writeFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { connectAsync } from 'mqtt';
import { linkLines, noLine } from '../../daemon/recorder/hash-chain.ts';
import type { Entry } from '../../daemon/recorder/recorder.ts';
import type { FiringRow, SnapshotMessage } from '../../daemon/wire/live-messages.ts';
import { mosquitto } from '../support/mosquitto.ts';
import type { Built } from './built.ts';
import { figure, median, table } from './figures.ts';
import { longFiring } from './long-firing.ts';
import { recordUnfinished } from './recorded-firing.ts';
import { spawnWatch, TOPIC, withFolder } from './spawned-watch.ts';

const BURST = 60_000;
const STEP = 500;
/** By a clock so much faster the readings lie a quarter of a second apart, and core judges nearly each; else four a second. */
const FAST_CLOCK = 3600;
const GIVEN_UP_MS = 60_000;
const READING = Buffer.from('"type":"reading"');
const FIRINGS = 5000;
const PASSES = 5;

export async function benchRecord(built: Built): Promise<string> {
  return `${await benchWriting()}${await benchChecking(built)}${await benchSearch(built)}`;
}

/** As many readings as the broker hands on, published as fast as it takes them. */
async function benchWriting(): Promise<string> {
  const { perSecond, perCpuSecond, lines } = await withFolder((dir) => writeFromMqtt(dir, 1));
  const judged = await withFolder((dir) => writeFromMqtt(dir, FAST_CLOCK));
  const texts = lines.map((line) => `${line}\n`);
  const rawMs = await withFolder(async (dir) => {
    const file = openSync(join(dir, 'raw'), 'w');
    return timed(() => {
      for (const text of texts) writeSync(file, text);
    });
  });
  const entries = lines.map((line): Entry => {
    const { n: _n, prev: _prev, ...entry } = JSON.parse(line);
    return entry;
  });
  const chainMs = timed(() => linkLines(entries, { lines: 0, head: noLine }));
  const rate = (ms: number): number => (texts.length / ms) * 1000;
  return table(
    `record, written: ${BURST} readings from MQTT through core onto the disk`,
    ['', 'readings a second', 'ratio to the whole path'],
    [
      ['the whole path', figure(perSecond), '1'],
      ['the whole path, for each second of processor time', figure(perCpuSecond), figure(perCpuSecond / perSecond)],
      ['the whole path where each is judged', figure(judged.perSecond), figure(judged.perSecond / perSecond)],
      [
        'the same, for each second of processor time',
        figure(judged.perCpuSecond),
        figure(judged.perCpuSecond / perSecond),
      ],
      ['the chain alone, in memory', figure(rate(chainMs)), figure(rate(chainMs) / perSecond)],
      ['the same lines appended to a file, bare', figure(rate(rawMs)), figure(rate(rawMs) / perSecond)],
    ],
  );
}

interface Written {
  readonly perSecond: number;
  readonly perCpuSecond: number;
  readonly lines: readonly string[];
}

/** Counts the readings in a record that grows; each byte is looked at once. */
function readingCounter(record: string): () => number {
  let count = 0;
  let looked = 0;
  return () => {
    const bytes = readFileSync(record).subarray(looked);
    const whole = bytes.subarray(0, bytes.lastIndexOf(0x0a) + 1);
    for (let at = whole.indexOf(READING); at >= 0; at = whole.indexOf(READING, at + READING.length)) count += 1;
    looked += whole.length;
    return count;
  };
}

async function writeFromMqtt(dir: string, speed: number): Promise<Written> {
  const broker = await mosquitto({ isQuiet: true });
  const watch = await spawnWatch({ brokerUrl: broker.url, speed }, dir);
  try {
    await watch.post('/api/firings', { kiln: 'bench-kiln', by: 'bench' });
    const { kilns } = (await watch.get('/api/state')) as SnapshotMessage;
    const id = kilns[0]?.firing?.id ?? '';
    const client = await connectAsync(broker.url);
    const record = join(dir, 'firings', id, 'record.jsonl');
    const recorded = readingCounter(record);
    // The watch may not have reached the broker yet: what is published before is lost.
    while (recorded() === 0) {
      await client.publishAsync(TOPIC, '20');
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
    const before = recorded();
    const cpuFromS = watch.cpuS();
    const fromMs = performance.now();
    // The broker drops what nobody takes, so few bursts are ever under way.
    for (let sent = 0; sent < BURST; ) {
      for (const end = sent + STEP; sent < end; sent += 1) client.publish(TOPIC, (20 + (sent % 600) / 100).toFixed(2));
      while (recorded() - before < sent - STEP) {
        await new Promise((resolve) => setTimeout(resolve, 2));
        if (performance.now() - fromMs > GIVEN_UP_MS)
          throw new Error(`Only ${recorded() - before} of ${sent} readings came.`);
      }
    }
    while (recorded() - before < BURST && performance.now() - fromMs < GIVEN_UP_MS) {
      await new Promise((resolve) => setTimeout(resolve, 2));
    }
    const seconds = (performance.now() - fromMs) / 1000;
    const cpuS = watch.cpuS() - cpuFromS;
    await client.endAsync();
    const lines = readFileSync(record, 'utf8').split('\n').slice(0, -1);
    return { perSecond: BURST / seconds, perCpuSecond: BURST / cpuS, lines };
  } finally {
    await watch.stop();
    await broker.stop();
  }
}

async function benchChecking(built: Built): Promise<string> {
  return withFolder(async (dir) => {
    const firing = longFiring(built, Date.UTC(2025, 4, 12, 20, 30));
    await recordUnfinished(built, dir, firing);
    const store = built.recorder.fileRecordStore(dir);
    const [unfinished] = await store.unfinished();
    const t = firing.messages.at(-1)?.atMs ?? 0;
    await unfinished?.recorder.close({ type: 'close', t, by: 'bench', why: 'the bench is over' });
    await store.release();
    const id = unfinished?.recorder.firingId ?? '';
    const path = join(dir, 'firings', id, 'record.jsonl');
    const checkMs: Taken[] = [];
    const livedMs: Taken[] = [];
    const openMs: Taken[] = [];
    const bareMs: Taken[] = [];
    for (let pass = 0; pass < PASSES; pass += 1) {
      checkMs.push(
        await taken(async () =>
          built.examine.examine(id, await built.examine.readRecordFound(path), { isLivedAgain: false }),
        ),
      );
      livedMs.push(await taken(async () => built.examine.examine(id, await built.examine.readRecordFound(path), {})));
      openMs.push(
        await taken(async () => {
          const archive = new built.archive.Archive(store, built.derived.derivedFiles(dir), () => []);
          await archive.detail(id);
          await archive.curve(id, 1200);
        }),
      );
      bareMs.push(
        await taken(async () =>
          readFileSync(path, 'utf8')
            .split('\n')
            .slice(0, -1)
            .map((line) => JSON.parse(line)),
        ),
      );
    }
    const cpu = (times: readonly Taken[]): number => median(times.map(({ cpuMs }) => cpuMs));
    const row = (what: string, times: readonly Taken[]): string[] => [
      what,
      `${figure(median(times.map(({ ms }) => ms)))} ms`,
      `${figure(cpu(times))} ms`,
      figure(cpu(times) / cpu(bareMs)),
    ];
    return table(
      `record, read: a firing of 12 h at 1 Hz; medians of ${PASSES}`,
      ['', 'time', 'processor time', 'ratio to JSON.parse of its lines'],
      [
        row('chain and signatures checked', checkMs),
        row('the same, and lived again', livedMs),
        row('opened for the page: figures and curve', openMs),
      ],
    );
  });
}

async function benchSearch(built: Built): Promise<string> {
  return withFolder(async (dir) => {
    const row = firingRow();
    for (let i = 0; i < FIRINGS; i += 1) {
      const id = `2025${String(i).padStart(8, '0')}-kiln`;
      const folder = join(dir, 'firings', id);
      mkdirSync(folder, { recursive: true });
      writeFileSync(join(folder, 'record.jsonl'), '');
      const haystack = `kiln ${i}\nmatt, 3 mm\nvalve mark ${i % 9}\n${'a note of some length on how it went. '.repeat(8)}${i % 250 === 0 ? 'crack' : ''}`;
      const value = { row: { ...row, id, startedAtMs: row.startedAtMs + i * 60_000 }, haystack };
      writeFileSync(
        join(folder, 'summary.json'),
        JSON.stringify({ version: built.derived.DERIVED_VERSION, recordBytes: 0, value }),
      );
    }
    const archive = new built.archive.Archive(
      built.recorder.fileRecordStore(dir),
      built.derived.derivedFiles(dir),
      () => [],
    );
    const firstMs = await timedAsync(() => archive.rows({ limit: 60 }));
    let found = 0;
    const times: Taken[] = [];
    for (let pass = 0; pass < 20; pass += 1) {
      times.push(
        await taken(async () => {
          found = (await archive.rows({ text: 'crack valve', limit: 60 })).length;
        }),
      );
    }
    return table(
      `record, searched: ${FIRINGS} firings, ${found} found`,
      ['', 'time'],
      [
        ['the first list after the start', `${figure(firstMs)} ms`],
        ['a search by words, median', `${figure(median(times.map(({ ms }) => ms)))} ms`],
        ['a search by words, slowest of 20', `${figure(Math.max(...times.map(({ ms }) => ms)))} ms`],
        ['a search by words, median of its processor time', `${figure(median(times.map(({ cpuMs }) => cpuMs)))} ms`],
      ],
    );
  });
}

function firingRow(): FiringRow {
  return {
    id: '',
    kiln: 'kiln',
    kilnName: 'Kiln',
    scheduleName: 'Matt, 3 mm',
    startedAtMs: Date.UTC(2015, 0, 1),
    endedAtMs: Date.UTC(2015, 0, 1, 9),
    peakC: { shelf: 660 },
    readings: 43_200,
    alerts: { overshoot: 1 },
    sketch: Array.from({ length: 60 }, (_, i): [number, number] => [Date.UTC(2015, 0, 1) + i * 600_000, 20 + i * 10]),
    utcOffsetMinutes: 0,
    simulated: false,
  };
}

function timed(work: () => unknown): number {
  const fromMs = performance.now();
  work();
  return performance.now() - fromMs;
}

interface Taken {
  readonly ms: number;
  /** Of this process: on a busy machine the figure to look at. */
  readonly cpuMs: number;
}

async function taken(work: () => Promise<unknown>): Promise<Taken> {
  const cpu = process.cpuUsage();
  const ms = await timedAsync(work);
  const { user, system } = process.cpuUsage(cpu);
  return { ms, cpuMs: (user + system) / 1000 };
}

async function timedAsync(work: () => Promise<unknown>): Promise<number> {
  const fromMs = performance.now();
  await work();
  return performance.now() - fromMs;
}
