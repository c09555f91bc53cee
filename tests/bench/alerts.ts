/**
 * `npm run bench -- alerts`: every firing of the corpus goes through core, and what was said is held against what really
 * went wrong. Two sets: one to tune the rules with, and one of fresh numbers.
 *
 *   npm run bench -- alerts                               both, the fresh ones with the others beside
 *   npm run bench -- alerts tuning --only 'the couple slips'   some of one set, each alert told (a fault or a kind)
 *   npm run bench -- alerts tuning --numbers 12,40
 *   npm run bench -- alerts tuning --every 10             a tenth, for a quick look
 *   --watcher thresholds, or line, scores a plain watcher instead of Spyhole: how hard the corpus is
 *   --json FILE keeps all results; --than FILE names what became better or worse since they were kept
 *   --at-best says what could be on time at best: each late one is held against the same firing without its fault
 *   --list tells each alert, --plot FILE.svg draws, --workers 2 takes both cores
 */
import { fork } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import { CORPUS_SIZE, corpusFault } from '../../simulators/corpus.ts';
import { faults as catalogue } from '../../simulators/faults/catalogue.ts';
import { CAUSES } from '../../simulators/sensor-faults.ts';
import { atBestTable, soundOf } from './alerts-at-best.ts';
import type { BandCounts } from './alerts-bands.ts';
import { changesSince } from './alerts-changes.ts';
import {
  type CorpusFiring,
  corpusFiring,
  corpusVersion,
  effectsOf,
  type FiringFacts,
  forgetOldVersions,
} from './alerts-corpus.ts';
import { hearFiring, type Told } from './alerts-feed.ts';
import { type AlertOptions, FIRST_NUMBER, readOptions, type SetName, type Watcher } from './alerts-options.ts';
import { plot } from './alerts-plot.ts';
import { listFiring, report } from './alerts-report.ts';
import { hearRival } from './alerts-rival-feed.ts';
import { type FiringScore, type Meant, scoreFiring } from './alerts-score.ts';
import type { ScoredSet } from './alerts-sums.ts';
import type { Built } from './built.ts';

/** All that is known of one firing once it was heard; the rows are left out. */
export interface FiringResult {
  readonly facts: FiringFacts;
  readonly meant: Meant;
  readonly told: readonly Told[];
  readonly score: FiringScore;
  readonly watchedS: number;
  readonly readings: number;
  readonly bands: BandCounts;
}

export async function benchAlerts(built: Built, args: readonly string[]): Promise<string> {
  const options = readOptions(args);
  const fromMs = performance.now();
  forgetOldVersions();
  const sets: ScoredSet[] = [];
  for (const name of options.sets)
    sets.push({ name, results: await hearAll(built, numbersOf(name, options), options) });
  if (options.json !== null) writeFileSync(options.json, `${JSON.stringify(sets)}\n`);
  if (options.plot !== null) writeFileSync(options.plot, plot(sets));
  const [first, beside] = sets;
  if (first === undefined) return '';
  const lists = options.list ? sets.flatMap(({ results }) => results.map(listFiring)) : [];
  const tookS = Math.round((performance.now() - fromMs) / 1000);
  const changes = options.than === null ? [] : [changesSince(keptResults(options.than), sets)];
  const best = options.atBest ? sets.map((set) => bestOf(built, set)) : [];
  return [...lists, report(first, beside), ...best, ...changes, `Took ${tookS} s.`].join('\n');
}

function bestOf(built: Built, set: ScoredSet): string {
  const version = corpusVersion();
  return atBestTable(set, (number) => soundOf(built, corpusFiring(built, number, version)));
}

/** @throws Error with one sentence */
function keptResults(file: string): readonly ScoredSet[] {
  try {
    return JSON.parse(readFileSync(file, 'utf8')) as readonly ScoredSet[];
  } catch {
    throw new Error(`${file} holds no kept results: write them with --json FILE first.`);
  }
}

/** Takes a share evenly, in step with nothing: each fourth number of the corpus is a quiet one. */
const GOLDEN_RATIO = (Math.sqrt(5) - 1) / 2;

function numbersOf(set: SetName, { numbers, only, every }: AlertOptions): number[] {
  const all = Array.from({ length: CORPUS_SIZE }, (_, i) => FIRST_NUMBER[set] + i);
  if (numbers !== null) return all.filter((n) => numbers.includes(n));
  const chosen = all.filter((n) => only === null || isMeant(n, only));
  return chosen.filter((_, i) => ((i + 1) * GOLDEN_RATIO) % 1 < 1 / every);
}

function isMeant(number: number, only: string): boolean {
  const name = corpusFault(number);
  if (name === null) return only === 'quiet';
  const fault = catalogue[name];
  return name === only || fault?.brings === only || fault?.looksLike === only;
}

async function hearAll(built: Built, numbers: readonly number[], options: AlertOptions): Promise<FiringResult[]> {
  const results =
    options.workers === 1 || numbers.length < 4
      ? hearHere(built, numbers, options.watcher)
      : await hearElsewhere(numbers, options);
  return results.sort((a, b) => a.facts.number - b.facts.number);
}

function hearHere(built: Built, numbers: readonly number[], watcher: Watcher): FiringResult[] {
  const version = corpusVersion();
  return numbers.map((number, i) => {
    tellProgress(i, numbers.length);
    return hearOne(built, { number, watcher }, version);
  });
}

/** On stderr, so that the report may go into a file. */
function tellProgress(done: number, of: number): void {
  if (process.stderr.isTTY) process.stderr.write(`\r${done} of ${of} firings `);
}

interface Asked {
  readonly number: number;
  readonly watcher: Watcher;
}

function hearOne(built: Built, { number, watcher }: Asked, version: string): FiringResult {
  const firing = corpusFiring(built, number, version);
  const meant = meantBy(firing.fault);
  const { told, watchedS, readings, bands } =
    watcher === 'spyhole' ? hearFiring(built, firing) : hearRival(watcher, firing);
  const facts = withoutRows(firing);
  return { facts, meant, told, score: scoreFiring(facts, meant, told, watchedS), watchedS, readings, bands };
}

function withoutRows({
  rows: _rows,
  edges: _edges,
  kiln: _kiln,
  schedule: _schedule,
  ...facts
}: CorpusFiring): FiringFacts {
  return facts;
}

export function meantBy(fault: string | null): Meant {
  const causes = effectsOf(fault).flatMap((e) => (e.on === 'couple' ? [CAUSES[e.fault.kind] ?? []].flat() : []));
  return { brings: fault === null ? null : (catalogue[fault]?.brings ?? null), causes };
}

/** Other processes take number after number; each is asked for the next when it has answered. */
async function hearElsewhere(
  numbers: readonly number[],
  { workers, watcher }: Pick<AlertOptions, 'workers' | 'watcher'>,
): Promise<FiringResult[]> {
  const left = [...numbers];
  const results: FiringResult[] = [];
  const run = fileURLToPath(new URL('./run.mjs', import.meta.url));
  const workOff = (): Promise<void> =>
    new Promise((resolve, reject) => {
      const worker = fork(run, ['alerts-worker']);
      const askNext = (): void => {
        const next = left.shift();
        if (next === undefined) worker.disconnect();
        else worker.send({ number: next, watcher } satisfies Asked);
      };
      worker.on('message', (result: FiringResult | 'ready') => {
        if (result !== 'ready') results.push(result);
        tellProgress(results.length, numbers.length);
        askNext();
      });
      worker.once('error', reject);
      worker.once('exit', (code) => (code === 0 ? resolve() : reject(new Error('A worker of the bench failed.'))));
    });
  await Promise.all(Array.from({ length: workers }, workOff));
  return results;
}

/** The other end of `hearElsewhere`. */
export async function workForAlerts(built: Built): Promise<string> {
  const version = corpusVersion();
  const { send } = process;
  if (send === undefined) throw new Error('alerts-worker is started by the bench itself: write alerts.');
  const tell = send.bind(process);
  await new Promise<void>((resolve) => {
    process.on('message', (asked: Asked) => tell(hearOne(built, asked, version)));
    process.once('disconnect', resolve);
    tell('ready');
  });
  return '';
}
