/** How fast simulated kilns run, what the whole corpus takes, and whether it comes out as it did elsewhere. */
import { readFileSync, writeFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import type { FiringScenario } from '../../simulators/firing-scenario.ts';
import { fingerprintOf } from '../support/corpus-fingerprint.ts';
import type { Built } from './built.ts';
import { figure, median, table } from './figures.ts';

const FINGERPRINTS = fileURLToPath(new URL('../data/corpus-fingerprints.txt', import.meta.url));
const PASSES = 5;

/** Every kind of kiln once, with one reading a second. */
const KILNS = ['quiet-gas', 'quiet-electric'] as const;

export async function benchSimulator(built: Built): Promise<string> {
  return table(
    'simulated kilns: a whole firing with couples, painter and truth, steps of 1 s, one reading a second',
    ['kiln', 'firing', 'took', 'times real time', 'a step', 'beside it: 100 square roots'],
    KILNS.map((name) => speedRow(built, name)),
  );
}

export async function benchCorpus(built: Built): Promise<string> {
  return table('the corpus', ['', 'figure'], runCorpus(built));
}

function speedRow(built: Built, name: string): string[] {
  const scenario = built.scenarioFile.readScenario(name);
  const everySecond: FiringScenario = { ...scenario, instrument: { sampleS: 1 } };
  const tookMs: number[] = [];
  let firedS = 0;
  for (let pass = 0; pass < PASSES; pass++) {
    const fromMs = performance.now();
    firedS = fire(built, everySecond).firedS;
    tookMs.push(performance.now() - fromMs);
  }
  const took = median(tookMs);
  return [
    name,
    `${figure(firedS / 3600)} h`,
    `${figure(took)} ms`,
    String(Math.round((firedS * 1000) / took)),
    `${figure((took * 1000) / firedS)} µs`,
    `${figure(rootsUs())} µs`,
  ];
}

function rootsUs(): number {
  const fromMs = performance.now();
  let sum = 0;
  for (let i = 0; i < 1_000_000; i++) sum += Math.sqrt(i + sum);
  // The sum is used, so that the loop is not left out.
  return ((performance.now() - fromMs) * 1000) / 10_000 + (sum < 0 ? 1 : 0);
}

function fire(built: Built, scenario: FiringScenario): { readonly firedS: number; readonly print: string } {
  const firing = built.scenario.liveFiring(scenario);
  const print = fingerprintOf(firing);
  return { firedS: (firing.atMs() - scenario.startedAtMs) / 1000, print };
}

function runCorpus(built: Built): string[][] {
  const size = built.corpus.CORPUS_SIZE;
  const known = readFileSync(FINGERPRINTS, 'utf8').trimEnd().split('\n');
  const differ: number[] = [];
  const prints: string[] = [];
  let firedS = 0;
  let tenthMb = 0;
  const fromMs = performance.now();
  for (let number = 1; number <= size; number++) {
    const fired = fire(built, built.corpus.corpusScenario(number));
    firedS += fired.firedS;
    prints.push(`${number} ${fired.print}`);
    if (known[number - 1] !== `${number} ${fired.print}`) differ.push(number);
    if (number === Math.round(size / 10)) tenthMb = residentMb();
  }
  const tookS = (performance.now() - fromMs) / 1000;
  const endMb = residentMb();
  const out = process.env.CORPUS_OUT;
  if (out !== undefined) writeFileSync(out, `${prints.join('\n')}\n`);
  const others = differ.length === 0 ? 'none' : `${differ.length}: ${differ.slice(0, 12).join(', ')}`;
  return [
    [
      `${size} firings, ${Math.round(firedS / 3600)} h`,
      `${figure(tookS)} s, ${Math.round(firedS / tookS)} times real time`,
    ],
    ['otherwise than in tests/data/corpus-fingerprints.txt', others],
    ['resident after a tenth', `${figure(tenthMb)} MB`],
    ['resident at the end', `${figure(endMb)} MB (${endMb > tenthMb ? '+' : ''}${figure(endMb - tenthMb)})`],
  ];
}

function residentMb(): number {
  return process.memoryUsage().rss / 1_048_576;
}
