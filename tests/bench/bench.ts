/**
 * `npm run bench`: how fast, how small, how right. Each figure stands beside a bare one of the same run, since another
 * machine, or this one on another day, is faster or slower as a whole.
 *
 *   npm run bench                  everything but the recorded sets
 *   npm run bench -- NAME          one of them: core, start, latency, memory, page, record, modbus, parsers, endless-line,
 *                                  simulator, thermometry; or what is not done
 *                                  unasked: corpus, unplugs, restarts, record-damage, record-kills (some minutes), memory-hour (an hour)
 *   npm run bench -- alerts        what the alerts are worth over the simulator's corpus; see alerts.ts for its options
 *   npm run bench -- --data DIR    the forecast, the alerts and fitted models on a folder of recorded sets
 */
import { availableParallelism, cpus, loadavg } from 'node:os';
import { needs } from '../support/debian.ts';
import { benchAlerts, workForAlerts } from './alerts.ts';
import { type Built, loadBuilt, whyStale } from './built.ts';
import { benchCore } from './core.ts';
import { benchEndlessLine } from './endless-line.ts';
import { benchFit } from './fit.ts';
import { benchForecast } from './forecast.ts';
import { benchLatency } from './latency.ts';
import { benchMemory, benchMemoryHour } from './memory.ts';
import { benchModbus } from './modbus.ts';
import { benchPage } from './page.ts';
import { benchParsers } from './parsers.ts';
import { benchRecord } from './record.ts';
import { benchDamage } from './record-damage.ts';
import { benchKills } from './record-kills.ts';
import { benchCorpus, benchSimulator } from './simulator.ts';
import { benchStart } from './start.ts';
import { benchThermometry } from './thermometry.ts';
import { benchRestarts, benchUnplugs } from './unplugs.ts';

interface Bench {
  readonly run: (built: Built) => Promise<string>;
  /** What it needs of the machine. */
  readonly isPossible: () => boolean;
}

const BENCHES: Readonly<Record<string, Bench>> = {
  core: { run: benchCore, isPossible: () => true },
  start: { run: benchStart, isPossible: () => needs('mosquitto', 'chromium') },
  latency: { run: benchLatency, isPossible: () => needs('mosquitto') },
  memory: { run: benchMemory, isPossible: () => needs('mosquitto') },
  page: { run: benchPage, isPossible: () => needs('chromium') },
  record: { run: benchRecord, isPossible: () => needs('mosquitto') },
  'endless-line': { run: benchEndlessLine, isPossible: () => needs('socat') },
  parsers: { run: benchParsers, isPossible: () => true },
  modbus: { run: benchModbus, isPossible: () => true },
  simulator: { run: benchSimulator, isPossible: () => true },
  thermometry: { run: benchThermometry, isPossible: () => true },
};

/** What takes too long to be done unasked. */
const ON_REQUEST: Readonly<Record<string, Bench>> = {
  corpus: { run: benchCorpus, isPossible: () => true },
  'alerts-worker': { run: workForAlerts, isPossible: () => true },
  unplugs: { run: benchUnplugs, isPossible: () => needs('socat') },
  restarts: { run: benchRestarts, isPossible: () => needs('mosquitto') },
  'record-damage': { run: benchDamage, isPossible: () => true },
  'record-kills': { run: benchKills, isPossible: () => needs('gcc', 'socat') },
  'memory-hour': { run: benchMemoryHour, isPossible: () => needs('mosquitto') },
};

const USAGE = `Write npm run bench, or npm run bench -- NAME with one of ${Object.keys({ ...BENCHES, ...ON_REQUEST }).join(', ')}, alerts, or npm run bench -- --data DIR.`;

/** @returns the exit code */
export async function main(args: readonly string[], load: (url: string) => Promise<unknown>): Promise<number> {
  try {
    return await measure(args, load);
  } catch (error) {
    console.error(error instanceof Error ? error.message : String(error));
    return 2;
  }
}

async function measure(args: readonly string[], load: (url: string) => Promise<unknown>): Promise<number> {
  const [first, dataDir] = args;
  const isData = first === '--data' && dataDir !== undefined;
  const isAlerts = first === 'alerts';
  const names = args.length === 0 ? Object.keys(BENCHES) : args;
  const chosen = isData || isAlerts ? [] : names.map((name) => BENCHES[name] ?? ON_REQUEST[name]);
  if (chosen.includes(undefined)) throw new Error(USAGE);
  const built = await loadBuilt(load);
  const stale = whyStale();
  if (stale !== null) console.log(stale);
  if (first !== 'alerts-worker') console.log(conditions());
  if (isAlerts) console.log(await benchAlerts(built, args.slice(1)));
  if (isData) console.log(benchForecast(built, dataDir), benchFit(dataDir));
  for (const bench of chosen) if (bench?.isPossible() === true) console.log(await bench.run(built));
  return 0;
}

function conditions(): string {
  const load = loadavg()[0]?.toFixed(1) ?? '?';
  const cpu = cpus()[0]?.model ?? 'unknown processor';
  return `Node ${process.version}, ${availableParallelism()} cores (${cpu}), load ${load} before it began.`;
}
