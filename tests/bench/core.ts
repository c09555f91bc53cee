/** What one reading costs in core, and a whole recorded curve through the command line. */
import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import type { RawMessage } from '../../daemon/core/inputs.ts';
import { type Built, spyholeJs } from './built.ts';
import { figure, median, table } from './figures.ts';
import { LONG_FIRING_S, type LongFiring, longFiring } from './long-firing.ts';
import { SENSOR, withFolder } from './spawned-watch.ts';

const PASSES = 5;
const REPLAYS = 3;

export async function benchCore(built: Built): Promise<string> {
  const firing = longFiring(built, Date.UTC(2025, 4, 12, 20, 30));
  const count = firing.messages.length;
  const lines = firing.messages.map((message) => JSON.stringify(message));
  const stepMs: number[] = [];
  const parseMs: number[] = [];
  for (let pass = 0; pass < PASSES; pass++) {
    stepMs.push(timed(() => runThrough(built, firing)));
    parseMs.push(timed(() => parseAll(lines)));
  }
  const { commandMs, bareMs } = await withFolder(async (dir) => timeReplay(dir, firing));
  const stepUs = (median(stepMs) * 1000) / count;
  const parseUs = (median(parseMs) * 1000) / count;
  const command = median(commandMs);
  const bare = median(bareMs);
  return table(
    `core: ${LONG_FIRING_S / 3600} h of one sensor at 1 Hz, ${count} readings on whole seconds, beside which no tick is judged; medians of ${PASSES} passes, ${REPLAYS} replays`,
    ['', 'figure', 'beside it', 'beside it', 'ratio'],
    [
      [
        'a reading, decode to alerts',
        `${figure(stepUs)} µs`,
        'JSON.parse of its line',
        `${figure(parseUs)} µs`,
        figure(stepUs / parseUs),
      ],
      [
        'spyhole replay of the whole CSV',
        `${figure(command)} ms`,
        'node: read and split it',
        `${figure(bare)} ms`,
        figure(command / bare),
      ],
    ],
  );
}

function timed(work: () => unknown): number {
  const fromMs = performance.now();
  work();
  return performance.now() - fromMs;
}

function runThrough(built: Built, { kiln, schedule, startedAtMs, messages }: LongFiring): number {
  const { passTime, step } = built.step;
  let state = built.state.beginFiring(kiln, schedule, startedAtMs);
  let said = 0;
  for (const message of messages) {
    const passed = passTime(state, message.atMs);
    const stepped = step(passed.state, message);
    state = stepped.state;
    said += passed.events.length + stepped.events.length;
  }
  if (state.readingCount < messages.length * 0.99) throw new Error(`Core took ${state.readingCount} readings only.`);
  return said;
}

function parseAll(lines: readonly string[]): number {
  let sumC = 0;
  for (const line of lines) sumC += Number((JSON.parse(line) as RawMessage).text);
  return sumC;
}

function timeReplay(dir: string, { schedule, messages }: LongFiring): { commandMs: number[]; bareMs: number[] } {
  const scheduleFile = join(dir, 'schedule.json');
  const readingsFile = join(dir, 'readings.csv');
  const rows = messages.map((m) => `${new Date(m.atMs).toISOString()},${SENSOR},${m.text}`);
  writeFileSync(scheduleFile, JSON.stringify(schedule));
  writeFileSync(readingsFile, `time,sensor,celsius\n${rows.join('\n')}\n`);
  const bareLoop = `
    let sumC = 0;
    for (const row of require('fs').readFileSync(process.argv[1], 'utf8').split('\\n').slice(1)) {
      const [time, , celsius] = row.split(',');
      sumC += Date.parse(time) + Number(celsius);
    }`;
  const commandMs: number[] = [];
  const bareMs: number[] = [];
  for (let i = 0; i < REPLAYS; i++) {
    commandMs.push(
      timed(() => run([spyholeJs, 'replay', '--schedule', scheduleFile, '--readings', readingsFile, '--json'])),
    );
    bareMs.push(timed(() => run(['-e', bareLoop, readingsFile])));
  }
  return { commandMs, bareMs };
}

function run(args: readonly string[]): void {
  const { status, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  if (status !== 0) throw new Error(`node ${args.slice(0, 2).join(' ')} ended with ${status}: ${stderr}`);
}
