/**
 * The built daemon, fed over a real terminal, is killed at a random sync of its disk, and what it had not synced is
 * dropped; then it is started again, and so on. What it had acknowledged must be there each time.
 */
import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { examine, judgeLedger, readLedgerFound, readRecordFound } from '../../daemon/runtime/examine.ts';
import type { SnapshotMessage } from '../../daemon/wire/live-messages.ts';
import { serialDevice } from '../../simulators/serial-device.ts';
import { runBuilt, startBuiltWatch } from './built-daemon.ts';
import { holdingDisk } from './holding-disk.ts';
import { type LiveViewer, liveViewer } from './live-viewer.ts';
import { terminalPair } from './terminal-pair.ts';

export interface KillTrial {
  readonly kills: number;
  /** Readings and notes that were acknowledged, and those of them that were gone afterwards. */
  readonly acknowledged: number;
  readonly lost: readonly string[];
  /** What the checker found altered, if anything. */
  readonly altered: readonly string[];
  readonly firings: number;
  /** The checker's code for the whole folder once the daemon has run on and stopped by itself. */
  readonly verifyCode: number | null;
  readonly verifySaid: string;
}

const SPEED = 60;
/** A line each 4 ms is 250 a second: some reach the disk together, some alone. */
const LINE_REAL_MS = 4;
/** Syncs until the kill: a start has about twenty, each reading one or less. */
const MOST_SYNCS = 70;
/** A firing is ended after so many kills, so that beginnings and ends are hit as well. */
const KILLS_OF_A_FIRING = 8;

const plan = {
  name: 'Warm-up',
  toleranceC: 6,
  segments: [
    { kind: 'ramp', toC: 100, rateCPerH: 2400 },
    { kind: 'hold', minutes: 600 },
  ],
};

export async function tryKills(kills: number, seed: number): Promise<KillTrial> {
  const dir = await mkdtemp(join(tmpdir(), 'spyhole-kills-'));
  const pair = await terminalPair(dir);
  const device = serialDevice(`${pair.port}-far-end`, ['middle']);
  let said = 0;
  const speaking = setInterval(() => {
    said += 1;
    // A saw of a hundred degrees: no two lines near each other are alike.
    device.write([{ atMs: 0, sensor: 'middle', celsius: 20 + (said % 900) / 10 }]);
  }, LINE_REAL_MS);
  try {
    const disk = await holdingDisk(dir);
    const config = join(dir, 'spyhole.yaml');
    await writeFile(config, configText(pair.port));
    const args = ['--config', config, '--data', disk.folder];
    const random = seededRandom(seed);
    const shown: Shown = { readings: new Map(), notes: new Set() };
    const lost = new Set<string>();
    const altered: string[] = [];
    for (let kill = 1; kill <= kills; kill += 1) {
      const env = disk.env(1 + Math.floor(random.next() * MOST_SYNCS), Math.floor(random.next() * 2));
      await liveUntilKilled(args, env, shown, kill % KILLS_OF_A_FIRING === 0);
      await disk.dropTheRest();
      for (const one of await missing(disk.folder, shown)) lost.add(one);
      altered.push(...(await wrongs(disk.folder)).map((sentence) => `after kill ${kill}: ${sentence}`));
    }
    const last = await startBuiltWatch(args);
    await last.stop();
    const verified = await runBuilt(['verify', '--all', '--data', disk.folder]);
    return {
      kills,
      acknowledged: [...shown.readings.values()].reduce((sum, lines) => sum + lines.size, shown.notes.size),
      lost: [...lost],
      altered,
      firings: shown.readings.size,
      verifyCode: verified.code,
      verifySaid: verified.stdout,
    };
  } finally {
    clearInterval(speaking);
    device.close();
    await pair.unplug();
    await rm(dir, { recursive: true, force: true });
  }
}

/** What was acknowledged: temperatures by firing and line, and notes by their text. */
interface Shown {
  readonly readings: Map<string, Map<number, number | null>>;
  readonly notes: Set<string>;
}

async function liveUntilKilled(
  args: readonly string[],
  env: Record<string, string>,
  shown: Shown,
  isToEnd: boolean,
): Promise<void> {
  const watch = await startBuiltWatch(args, env).catch(() => null);
  // Killed before it listened: nothing was acknowledged.
  if (watch === null) return;
  const died = new Promise<void>((resolve) => {
    watch.child.once('close', () => resolve());
    if (watch.child.signalCode !== null || watch.child.exitCode !== null) resolve();
  });
  const viewer = await liveViewer(watch.url).catch(() => null);
  // Its last question has no answer.
  const acts = viewer === null ? null : act(watch.url, viewer, shown, isToEnd).catch(() => undefined);
  await died;
  await acts;
  await viewer?.close();
  for (const message of viewer?.messages ?? []) {
    if (message.type !== 'reading' || message.line === null || message.firing === null) continue;
    const lines = shown.readings.get(message.firing) ?? new Map<number, number | null>();
    shown.readings.set(message.firing, lines.set(message.line, message.celsius));
  }
}

/** Begins a firing where none is on, and writes notes, as long as there is an answer. */
async function act(url: string, viewer: LiveViewer, shown: Shown, isToEnd: boolean): Promise<void> {
  const post = (path: string, body: object): Promise<Response> =>
    fetch(`${url}${path}`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', origin: url },
      body: JSON.stringify(body),
    });
  const { kilns } = viewer.messages[0] as SnapshotMessage;
  let firing = kilns[0]?.firing?.id;
  if (firing === undefined) {
    const answer = (await (await post('/api/firings', { kiln: 'kiln', schedule: plan })).json()) as { id: string };
    firing = answer.id;
    shown.readings.set(firing, shown.readings.get(firing) ?? new Map());
  }
  for (let count = 1; ; count += 1) {
    const text = `note ${count} of ${firing} at ${viewer.messages.length} with ${process.hrtime.bigint()}`;
    const answer = await post(`/api/firings/${firing}/notes`, { by: 'Hanna', text });
    if (!answer.ok) return;
    shown.notes.add(`${firing}\n${text}`);
    if (isToEnd && count === 5) {
      await post(`/api/firings/${firing}/end`, { by: 'Hanna' });
      // What is said of a closed firing stands under another line.
      return;
    }
  }
}

async function missing(dataDir: string, shown: Shown): Promise<string[]> {
  const lost: string[] = [];
  const notes = new Set<string>();
  for (const [firing, lines] of shown.readings) {
    const { walk } = await readRecordFound(join(dataDir, 'firings', firing, 'record.jsonl'));
    if (walk.lines === 0) lost.push(`the firing ${firing}`);
    for (const [number, celsius] of lines) {
      const line = walk.content[number - 1];
      if (line?.type !== 'reading' || Number(line.raw) !== celsius) lost.push(`line ${number} of ${firing}`);
    }
    for (const line of walk.content) if (line.deed === 'note') notes.add(`${firing}\n${Object(line.said).text}`);
  }
  for (const note of shown.notes) if (!notes.has(note)) lost.push(note);
  return lost;
}

async function wrongs(dataDir: string): Promise<string[]> {
  const ledger = await readLedgerFound(dataDir);
  const wrong: string[] = [];
  const judged = ledger === null ? null : judgeLedger(ledger, false);
  if (judged?.verdict === 'BAD') wrong.push(`the ledger: ${judged.sentence}`);
  for (const id of await readdir(join(dataDir, 'firings')).catch(() => [])) {
    if (id.startsWith('.')) continue;
    const found = await readRecordFound(join(dataDir, 'firings', id, 'record.jsonl'));
    // A firing whose opening the ledger does not name yet is held against it only after the next start.
    const isNamed = ledger?.entries.some((entry) => entry.firing === id && entry.type === 'closed') ?? false;
    const { verdict, sentence } = examine(id, found, isNamed ? { ledger } : {});
    if (verdict === 'BAD') wrong.push(`${id}: ${sentence}`);
  }
  return wrong;
}

function configText(port: string): string {
  const kiln = { id: 'kiln', name: 'Kiln', heat: 'gas', closure: 'door', sampleS: 60 };
  const input = { kind: 'serial', port, simulated: true };
  return JSON.stringify({
    clock: { speed: SPEED },
    kilns: [{ ...kiln, sensors: [{ name: 'middle', letter: 'K' }], input }],
  });
}
