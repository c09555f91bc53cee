import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { rehearse } from '../../daemon/commands/rehearse.ts';
import { type FittedKiln, writeFittedKiln } from '../../daemon/config/fitted-kiln-file.ts';
import { ESTIMATED } from '../../daemon/core/kiln-model/fit-kiln.ts';
import { logsOf, PARAMETERS } from '../../daemon/core/kiln-model/kiln-parameters.ts';
import { madeKiln } from '../core/kiln-model/made-firing.ts';

const NOW = new Date(2026, 2, 15, 8, 0).getTime();
let dir: string;

beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'spyhole-rehearse-'));
  await writeFile(
    join(dir, 'matt.yaml'),
    [
      'name: Matt',
      'segments:',
      '  - {kind: ramp, toC: 450, rateCPerH: 200, opening: propped}',
      '  - {kind: ramp, toC: 660, rateCPerH: 150}',
      '  - {kind: hold, minutes: 15}',
      '  - {kind: ramp, toC: 50, rateCPerH: let-fall}',
      '',
    ].join('\n'),
  );
});
afterEach(() => rm(dir, { recursive: true, force: true }));

function own(powerCPerH = madeKiln.powerCPerH, told: 'told' | 'at-least' = 'told'): string {
  const estimate = { value: 1, low: 0.5, high: 2, told };
  const fitted: FittedKiln = {
    kiln: 'Gas kiln',
    software: 'spyhole 0.1.0',
    fittedAt: '2026-03-15T08:00:00.000Z',
    heat: 'gas',
    setting: 'valve',
    fullSetting: 10,
    roomC: 19,
    topC: 660,
    heatKnownRatio: 1,
    fitErrorC: 1,
    firings: [{ name: 'Matt', startedAt: '2026-03-14T09:00:00.000Z', peakC: 660, errorC: 1, firing: 'firings/a' }],
    numbers: Object.fromEntries(ESTIMATED.map((n) => [n, estimate])) as FittedKiln['numbers'],
    fit: {
      parameters: [...PARAMETERS],
      logs: logsOf({ ...madeKiln, powerCPerH }),
      logCovariance: PARAMETERS.map((_, i) => PARAMETERS.map((__, j) => (i === j ? 0.001 : 0))),
    },
  };
  const file = join(dir, 'own.yaml');
  writeFittedKiln(file, fitted);
  return file;
}

function said(options: Partial<Parameters<typeof rehearse>[0]> & { fitted: string }): string[] {
  const lines: string[] = [];
  rehearse({ schedule: join(dir, 'matt.yaml'), ...options }, (line) => lines.push(line), NOW);
  return lines;
}

test('a rehearsal tells when each segment ends, who must be there when, and when it can be opened', () => {
  const lines = said({ fitted: own(2200), starts: '09:00' });
  expect(lines[0]).toBe('Matt in Gas kiln, begun at 09:00:');
  expect(
    lines.some((l) =>
      /^\d\d:\d\d–\d\d:\d\d {2}come to turn down: at \d+, \d+ °C below 660; stand at the valve/.test(l),
    ),
  ).toBe(true);
  expect(lines.some((l) => /gas off first, damper after/.test(l))).toBe(true);
  expect(lines.some((l) => /^You can crack the door \(150 °C\) about \d\d:\d\d/.test(l))).toBe(true);
  expect(lines.some((l) => /^You can unload/.test(l))).toBe(true);
  expect(lines.some((l) => /can't climb|does not get/.test(l))).toBe(false);
});

test('a kiln that cannot follow is told so, and hedged where its heat is only a lower bound', () => {
  const sure = said({ fitted: own(1300) });
  expect(
    sure.some((l) =>
      /^Segment 2: from about \d+ it can't climb 150 °C\/h; it sinks to \d+ and comes .* late\.$/.test(l),
    ),
  ).toBe(true);
  const unsure = said({ fitted: own(1300, 'at-least') });
  expect(unsure.some((l) => /with the most heat that was ever seen of it/.test(l))).toBe(true);
});

test('as JSON it is one object whose instants are ISO 8601', () => {
  const [line = '', ...more] = said({ fitted: own(), starts: '09:00', json: true });
  const told = JSON.parse(line);
  expect(more).toEqual([]);
  expect(told.startedAt).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/);
  expect(told.segments).toHaveLength(4);
  expect(Date.parse(told.hands[0].from)).toBe(Date.parse(told.startedAt));
  expect(told.points.length).toBeGreaterThan(300);
});

test('a start before now is meant for tomorrow, and a start that is no time is refused', () => {
  expect(JSON.parse(said({ fitted: own(), starts: '07:00', json: true })[0] ?? '').startedAt).toBe(
    new Date(2026, 2, 16, 7).toISOString(),
  );
  expect(() => said({ fitted: own(), starts: '25:00' })).toThrow(/--starts: found "25:00"; write HH:MM/);
});
