/** `npm run simulate` as it is typed: its files, what the replay makes of them, and a sentence for each mistake. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { builtMain } from '../support/built-daemon.ts';

const simulateJs = fileURLToPath(new URL('../../dist/simulators/simulate.js', import.meta.url));
const dir = mkdtempSync(join(tmpdir(), 'spyhole-simulate-'));
afterAll(() => rmSync(dir, { recursive: true, force: true }));

function run(script: string, ...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [script, ...args], { encoding: 'utf8' });
  return { status, stdout, stderr };
}

const simulate = (...args: string[]) => run(simulateJs, ...args);
const json = (name: string) => JSON.parse(readFileSync(join(dir, name), 'utf8'));

describe('npm run simulate', () => {
  it('writes the readings, the plan, the kiln and the truth, and the replay reads them', () => {
    const out = join(dir, 'late.csv');
    const { status, stdout } = simulate('nobody-comes', '--out', out);
    expect(status).toBe(0);
    expect(stdout).toMatch(/^nobody-comes: \d+ readings in .*late\.csv.*\n {2}overshoot from 2025-05-12T13:.*harm at/);
    const csv = readFileSync(out, 'utf8').trimEnd().split('\n');
    expect(csv[0]).toBe('time,sensor,celsius');
    const truth = json('late.truth.json');
    expect(Object.keys(truth).sort()).toEqual(['faults', 'glassC']);
    expect(truth.glassC).toHaveLength(csv.length - 1);
    expect(truth.faults).toHaveLength(1);
    expect(truth.faults[0]).toEqual({
      class: 'overshoot',
      onset: expect.stringMatching(/^2025-05-12T1[34]:\d\d:\d\d\.000Z$/),
      harm: expect.stringMatching(/^2025-05-12T14:\d\d:\d\d\.000Z$/),
      ends: expect.stringMatching(/^2025-05-12T14:\d\d:\d\d\.000Z$/),
    });
    const replayed = run(
      builtMain(),
      ...['replay', '--schedule', join(dir, 'late.schedule.json'), '--kiln', join(dir, 'late.kiln.json')],
      ...['--readings', out, '--json'],
    );
    expect(replayed.stderr).toBe('');
    expect(replayed.status).toBe(0);
    const said = replayed.stdout
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(said.find((line) => line.alert === 'overshoot')?.phase).toBe('foreseen');
    expect(said.at(-1).summary.readings).toBe(csv.length - 1);
  });

  it('writes the lid where there is a switch', () => {
    expect(simulate('door-opened', '--out', join(dir, 'door.csv')).status).toBe(0);
    const csv = readFileSync(join(dir, 'door.csv'), 'utf8');
    expect(csv.split('\n')[0]).toBe('time,sensor,celsius,lid');
    expect(csv).toMatch(/,open\n/);
  });

  it('fires a scenario file of one’s own, and another seed of it', () => {
    const own = join(dir, 'own.yaml');
    const plan = { name: 'up', segments: [{ kind: 'ramp', toC: 200, rateCPerH: 200 }] };
    const kiln = { id: 'k', name: 'K', heat: 'electric', closure: 'lid', sensors: [{ name: 'a', letter: 'K' }] };
    const scenario = { name: 'own', what: 'Own.', seed: 1, startsAt: '2025-05-12T09:00:00Z', endsAfterH: 3, kiln };
    const rest = {
      schedule: plan,
      plant: { is: 'studio electric' },
      couples: [{ sensor: 'a' }],
      instrument: { sampleS: 30 },
    };
    writeFileSync(own, JSON.stringify({ ...scenario, ...rest }));
    expect(simulate(own, '--out', join(dir, 'a.csv')).status).toBe(0);
    expect(simulate(own, '--out', join(dir, 'b.csv'), '--seed', '1').status).toBe(0);
    expect(simulate(own, '--out', join(dir, 'c.csv'), '--seed', '2').status).toBe(0);
    const [a, b, c] = ['a', 'b', 'c'].map((name) => readFileSync(join(dir, `${name}.csv`), 'utf8'));
    expect(a).toBe(b);
    expect(a).not.toBe(c);
  });

  it('writes a part of the corpus into a folder', () => {
    const { status } = simulate('--corpus', join(dir, 'corpus'), '--from', '7', '--count', '2');
    expect(status).toBe(0);
    expect(readdirSync(join(dir, 'corpus')).filter((name) => /^\d+\.csv$/.test(name))).toEqual(['007.csv', '008.csv']);
  });

  it('says nothing of a reader that goes away', () => {
    const command = `"${process.execPath}" "${simulateJs}" quiet-gas --out "${join(dir, 'gone.csv')}" | true`;
    expect(spawnSync('sh', ['-c', command], { encoding: 'utf8' }).stderr).toBe('');
  });

  it('lists the scenarios that come along and the faults by name', () => {
    const { stdout, status } = simulate('--list');
    expect(status).toBe(0);
    expect(stdout).toMatch(/^ {2}late-hand +660 ± 6/m);
    expect(stdout).toMatch(/^ {2}heat-lost +the wind blows the flame out/m);
  });

  it.each([
    [[], /^Name a scenario, or write --list/],
    [['no-such', '--out', 'x.csv'], /^no-such: there is no such scenario file/],
    [['quiet-gas'], /^Say where to: --out X\.csv/],
    [['9999', '--out', 'x.csv'], /^SCENARIO: found "9999"; write a whole number from 1 to/],
    [
      ['quiet-gas', '--out', join(dir, 'nowhere', 'x.csv')],
      /cannot be written \(ENOENT\); name a folder that is there/,
    ],
    [
      ['quiet-gas', '--mqtt', 'mqtt://127.0.0.1:1', '--speed', '0'],
      /^--speed: found "0"; write a whole number from 1 to 3600/,
    ],
    [['quiet-gas', '--modbus-tcp', 'here'], /^--modbus-tcp: write HOST:PORT/],
    [['quiet-gas', '--serial', join(dir, 'no-port')], /no-port/],
    [['quiet-gas', '--faster'], /unknown option '--faster'/],
  ])('answers %j with one sentence and code 2', (args, sentence) => {
    const { status, stderr } = simulate(...args);
    expect(stderr).toMatch(sentence);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
    expect(status).toBe(2);
    expect(existsSync('x.csv')).toBe(false);
  });
});
