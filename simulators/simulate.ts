/**
 * `npm run simulate`: fires a scenario and writes what an instrument would have shown, or plays it behind a real
 * interface. SCENARIO is a file, the name of one that comes along, or the number of one of the corpus.
 */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { Command, CommanderError } from 'commander';
import { DaemonError } from '../daemon/errors.ts';
import { CORPUS_SIZE, corpusScenario } from './corpus.ts';
import { faults } from './faults/catalogue.ts';
import type { FiringScenario } from './firing-scenario.ts';
import { playLive } from './play-live.ts';
import { readScenario, shippedScenarios } from './scenario-file.ts';
import { type Written, writeFiring } from './write-firing.ts';

interface Options {
  readonly out?: string;
  readonly seed?: string;
  readonly serial?: string;
  readonly modbusRtu?: string;
  readonly modbusTcp?: string;
  readonly mqtt?: string;
  readonly speed?: string;
  readonly list?: boolean;
  readonly corpus?: string;
  readonly from?: string;
  readonly count?: string;
}

const print = (line: string): void => void process.stdout.write(`${line}\n`);

function wholeNumber(text: string, option: string, least: number, most: number): number {
  const value = Number(text);
  if (Number.isInteger(value) && value >= least && value <= most) return value;
  throw new DaemonError('usage', `${option}: found "${text}"; write a whole number from ${least} to ${most}.`);
}

function scenarioOf(named: string, seed: string | undefined): FiringScenario {
  const scenario = /^\d+$/.test(named)
    ? corpusScenario(wholeNumber(named, 'SCENARIO', 1, CORPUS_SIZE))
    : readScenario(named);
  return seed === undefined ? scenario : { ...scenario, seed: wholeNumber(seed, '--seed', 0, 2 ** 31) };
}

function listAll(): void {
  print('Scenarios that come along:');
  for (const { name, what } of shippedScenarios()) print(`  ${name.padEnd(28)} ${what}`);
  print(`\nThe corpus: numbers 1 to ${CORPUS_SIZE}.\n\nFaults, by what they should bring:`);
  for (const [name, fault] of Object.entries(faults)) {
    print(`  ${(fault.brings ?? 'nothing').padEnd(18)} ${name.padEnd(28)} ${fault.what}`);
  }
}

function sayWritten(named: string, { files, rows, faults: found }: Written): void {
  print(`${named}: ${rows} readings in ${files.join(', ')}`);
  for (const fault of found) {
    print(
      `  ${fault.class} from ${fault.onset}, ${fault.harm === null ? 'no harm' : `harm at ${fault.harm}`}, ends ${fault.ends}`,
    );
  }
}

function writeCorpus(dir: string, options: Options): void {
  const from = wholeNumber(options.from ?? '1', '--from', 1, CORPUS_SIZE);
  const count = wholeNumber(options.count ?? `${CORPUS_SIZE - from + 1}`, '--count', 1, CORPUS_SIZE - from + 1);
  mkdirSync(dir, { recursive: true });
  for (let number = from; number < from + count; number++) {
    const name = String(number).padStart(3, '0');
    sayWritten(name, writeFiring(corpusScenario(number), join(dir, `${name}.csv`)));
  }
}

async function simulate(named: string | undefined, options: Options): Promise<void> {
  if (options.list === true) return listAll();
  if (options.corpus !== undefined) return writeCorpus(options.corpus, options);
  if (named === undefined) {
    throw new DaemonError('usage', 'Name a scenario, or write --list to see those that come along.');
  }
  const scenario = scenarioOf(named, options.seed);
  const { out, serial, modbusRtu, modbusTcp, mqtt } = options;
  if (out !== undefined) return sayWritten(named, writeFiring(scenario, out));
  const speed = wholeNumber(options.speed ?? '1', '--speed', 1, 3600);
  const behind = { serial, modbusRtu, modbusTcp, mqtt };
  if (Object.values(behind).every((address) => address === undefined)) {
    throw new DaemonError('usage', 'Say where to: --out X.csv, or --serial, --modbus-rtu, --modbus-tcp or --mqtt.');
  }
  await playLive(scenario, behind, speed, print);
}

async function main(): Promise<number> {
  const program = new Command('npm run simulate --')
    .description('Fires a simulated kiln: into files, or behind a real interface.')
    .argument('[scenario]', 'a scenario file, the name of one that comes along, or a number of the corpus')
    .option('--out <file>', 'X.csv; also writes X.schedule.json, X.kiln.json, X.truth.json and X.acts.csv')
    .option('--seed <number>', 'another seed than its own')
    .option('--serial <path>', 'prints lines into this (pseudo-)terminal')
    .option('--modbus-rtu <path>', 'answers as Modbus units on this (pseudo-)terminal')
    .option('--modbus-tcp <host:port>', 'answers as Modbus units on this port')
    .option('--mqtt <url>', 'publishes to this broker')
    .option('--speed <number>', 'how many times faster than real time, 1 to 3600 (1)')
    .option('--list', 'the scenarios that come along, and the faults by name')
    .option('--corpus <folder>', 'writes the corpus into this folder')
    .option('--from <number>', 'begin the corpus here')
    .option('--count <number>', 'and write so many')
    .exitOverride()
    .configureOutput({
      writeErr: (text) =>
        process.stderr.write(
          `${text
            .trim()
            .replace(/^error: /, '')
            .replace(/\n(?=\(Did you mean)/, ' ')}\n`,
        ),
    });
  program.action((named: string | undefined, options: Options) => simulate(named, options));
  try {
    await program.parseAsync();
    return 0;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
    process.stderr.write(`${error instanceof DaemonError ? error.message : `It failed: ${String(error)}`}\n`);
    return 2;
  }
}

// A reader that went away (`… | head`) is no failure.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit(0);
});

process.exitCode = await main();
