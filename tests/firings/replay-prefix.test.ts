/** What is said never depends on what comes later: by the command that anybody runs, on simulated and on recorded rows. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { replay } from '../../daemon/commands/replay.ts';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { toCsv } from '../../simulators/firing-csv.ts';
import { fireScenario } from '../../simulators/firing-scenario.ts';
import { doorOpened, lateHand, silentLine } from '../support/scenarios.ts';

const folder = mkdtempSync(join(tmpdir(), 'spyhole-prefix-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function replayed(csv: string, schedule: Schedule, kiln?: object): Promise<string[]> {
  const file = (name: string, text: string): string => {
    const path = join(folder, name);
    writeFileSync(path, text);
    return path;
  };
  const lines: string[] = [];
  await replay(
    {
      schedule: file('plan.json', JSON.stringify(schedule)),
      readings: file('rows.csv', csv),
      json: true,
      ...(kiln !== undefined && { kiln: file('kiln.json', JSON.stringify(kiln)) }),
    },
    (line) => lines.push(line),
  );
  return lines;
}

function gasKiln(sensors: readonly string[]): object {
  return {
    id: 'gas-kiln',
    name: 'Gas kiln',
    heat: 'gas',
    closure: 'door',
    toleranceC: 6,
    sensors: sensors.map((name) => ({ name, letter: 'K' })),
  };
}

/** Cut at each alert, the row before and the row after, and anywhere. */
function cutsOf(rows: readonly string[], alerts: readonly string[], anywhere: number): number[] {
  const random = seededRandom(20_260_314);
  const cuts = new Set(Array.from({ length: anywhere }, () => 1 + Math.floor(random.next() * rows.length)));
  for (const line of alerts) {
    const at = (JSON.parse(line) as { at: string }).at;
    const next = rows.findIndex((row) => Date.parse(row.split(',')[0] ?? '') >= Date.parse(at));
    for (const n of [next - 1, next, next + 1, next + 2]) if (n > 0 && n <= rows.length) cuts.add(n);
  }
  return [...cuts];
}

async function expectPrefixes(
  csv: string,
  schedule: Schedule,
  kiln: object | undefined,
  anywhere: number,
): Promise<string[]> {
  const [header = '', ...rows] = csv.trimEnd().split('\n');
  const whole = (await replayed(csv, schedule, kiln)).slice(0, -1);
  for (const n of cutsOf(rows, whole, anywhere)) {
    const part = await replayed(`${[header, ...rows.slice(0, n)].join('\n')}\n`, schedule, kiln);
    expect(JSON.parse(part[part.length - 1] ?? '')).toHaveProperty('summary');
    expect([n, part.slice(0, -1)]).toEqual([n, whole.slice(0, part.length - 1)]);
  }
  return whole;
}

const kinds = (lines: readonly string[]): string[] =>
  lines.map((line) => {
    const { alert, phase } = JSON.parse(line) as { alert: string; phase: string };
    return `${alert} ${phase}`;
  });

describe('the output for the first rows is a prefix of the output for all of them', () => {
  it.each([
    ['nobody comes', lateHand({ comes: false })],
    ['a door with a switch', doorOpened({ lidSwitch: true })],
    ['a silent line', silentLine()],
  ] as const)('in a simulated firing: %s', async (_, scenario) => {
    const { rows } = fireScenario(scenario);
    // The hours in which it happens: those before and behind say nothing.
    const [fromMs, toMs] = [2, 5.25].map((hours) => scenario.startedAtMs + hours * 3_600_000) as [number, number];
    const csv = toCsv(rows.filter((r) => r.atMs >= fromMs && r.atMs <= toMs));
    const sensors = [...new Set(rows.map((r) => r.sensor))];
    const said = await expectPrefixes(csv, scenario.schedule, gasKiln(sensors), 12);
    expect(said.length).toBeGreaterThanOrEqual(2);
  });

  const recorded = (name: string): string =>
    readFileSync(new URL(`../data/real-runs/${name}.csv`, import.meta.url), 'utf8');

  it('in a recorded run of a furnace that overshot its programme', async () => {
    const schedule: Schedule = {
      name: 'To 650 at 30 a minute',
      toleranceC: 5,
      segments: [
        { kind: 'ramp', toC: 650, rateCPerH: 1800 },
        { kind: 'hold', minutes: 17 },
      ],
    };
    const said = await expectPrefixes(recorded('tga-sample-vs-reference-650'), schedule, undefined, 20);
    // Heat that stays on is what carries it over.
    expect(kinds(said).filter((kind) => /^(overshoot|uncontrolled-heat) happening$/.test(kind))).not.toEqual([]);
  });

  it('in a recorded run of two sensors without a kiln file: a sensor is known from its first row on', async () => {
    const schedule: Schedule = { name: 'To 50', segments: [{ kind: 'ramp', toC: 50, rateCPerH: 'flat-out' }] };
    await expectPrefixes(recorded('tclab-two-heaters'), schedule, undefined, 40);
  });
});
