import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { readScenario, shippedScenarios } from '../../simulators/scenario-file.ts';

const dir = mkdtempSync(join(tmpdir(), 'spyhole-scenario-'));
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const good = `name: mine
what: a try
seed: 1
startsAt: 2025-05-12T09:00:00Z
endsAfterH: 12
kiln:
  id: kiln
  name: My kiln
  heat: gas
  closure: door
  sensors: [{ name: shelf, letter: K }]
schedule:
  name: up
  segments: [{ kind: ramp, toC: 600, rateCPerH: 150 }]
plant: { is: studio gas }
couples: [{ sensor: shelf, is: thick ceramic sheath }]
instrument: { sampleS: 5 }
`;

function written(change: (text: string) => string): string {
  const file = join(dir, 'scenario.yaml');
  writeFileSync(file, change(good));
  return file;
}

describe('scenario files', () => {
  it.each(shippedScenarios().map((s) => s.name))('%s comes along and can be fired', (name) => {
    const scenario = readScenario(name);
    expect(scenario.couples.map((c) => c.sensor)).toEqual(scenario.kiln.sensors.map((s) => s.name));
    expect(scenario.schedule.segments.length).toBeGreaterThan(0);
  });

  it('are said in a sentence each', () => {
    for (const { what } of shippedScenarios()) expect(what).toMatch(/^[A-Z0-9].*\.$/s);
  });

  it('give the painter the feel of this very kiln, and the couple the lags of its kind', () => {
    const { operator, couples } = readScenario(written((t) => t));
    expect(operator.holdMark).toBeGreaterThan(4);
    expect(operator.holdMark).toBeLessThan(9);
    expect(couples[0]?.lagS).toBeGreaterThanOrEqual(45);
    expect(couples[0]?.beadLagS).toBeGreaterThanOrEqual(50);
  });

  it.each([
    [
      'another key',
      (t: string) => t.replace('seed:', 'sede:'),
      /sede \(line 3\): unknown key "sede"; known here are name/,
    ],
    [
      'an unknown kiln',
      (t: string) => t.replace('studio gas', 'studio'),
      /plant.is \(line 15\).*found "studio"; write one of/,
    ],
    ['an unknown fault', (t: string) => `${t}happenings: [{ fault: rain }]\n`, /happenings\[0\]/],
    [
      'a figure the kiln has not',
      (t: string) => t.replace('{ is: studio gas }', '{ is: studio gas, change: { doors: 3 } }'),
      /plant.change.doors .*known here are chamber/,
    ],
    [
      'a word for a figure',
      (t: string) => t.replace('{ is: studio gas }', '{ is: studio gas, change: { fullPowerW: much } }'),
      /plant.change.fullPowerW .*found "much"; write a number/,
    ],
    [
      'the wrong heat',
      (t: string) => t.replace('heat: gas', 'heat: electric'),
      /kiln.heat .*write gas, as studio gas is heated/,
    ],
    [
      'a couple of no sensor',
      (t: string) => t.replace('sensor: shelf', 'sensor: top'),
      /couples\[0\].sensor .*the kiln's sensors are shelf/,
    ],
    [
      'a fault of the other heat',
      (t: string) => `${t}happenings: [{ fault: a fuse goes }]\n`,
      /happens to a kiln heated by electric/,
    ],
    ['a time that is none', (t: string) => t.replace('2025-05-12T09:00:00Z', 'noon'), /startsAt .*write a time as/],
  ])('say what is wrong and where: %s', (_what, change, sentence) => {
    expect(() => readScenario(written(change))).toThrow(sentence);
  });

  it('name several mistakes at once', () => {
    const file = written((t) => t.replace('seed: 1', 'seed: one').replace('sampleS: 5', 'sampleS: 0'));
    expect(() => readScenario(file)).toThrow(/seed.*\n.*sampleS/s);
  });

  it('are missed in one sentence', () => {
    expect(() => readScenario('no-such')).toThrow('no-such: there is no such scenario file; write --list');
  });
});
