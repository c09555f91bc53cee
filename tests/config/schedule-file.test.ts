import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { parseSchedule, readScheduleFile } from '../../daemon/config/schedule-file.ts';
import { askAbout } from '../../daemon/config/schedule-questions.ts';
import { UnreadableFileError } from '../../daemon/config/yaml-file.ts';
import { ConfigError, type Fault } from '../../daemon/errors.ts';

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-schedule-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

function faultsOf(read: () => unknown): readonly Fault[] {
  try {
    read();
  } catch (error) {
    if (error instanceof ConfigError) return error.faults;
    throw error;
  }
  return [];
}

function inFile(text: string): string {
  const path = join(dir, 'trial.yaml');
  writeFileSync(path, text);
  return path;
}

const faultsIn = (text: string): readonly Fault[] => faultsOf(() => readScheduleFile(inFile(text)));
const faultsWith = (...segments: unknown[]): readonly Fault[] =>
  faultsOf(() => parseSchedule({ name: 'x', segments }, 'x'));
const up = { kind: 'ramp', toC: 660, rateCPerH: 150 };

describe('a schedule file', () => {
  it('is read whole, from YAML and from JSON', () => {
    const schedule = {
      name: 'Trial',
      segments: [
        { ...up, opening: 'propped', acts: [{ when: { atC: 450 }, do: 'close the vent', callMinutes: 5 }] },
        { kind: 'hold', minutes: 12, acts: [{ when: 'end', do: 'heat off' }] },
        { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
      ],
      glass: 'soda-lime',
      plateMm: 3,
      toleranceC: 6,
      safeOpenC: 150,
      limits: [{ fromC: 100, toC: 450, maxCPerH: 300, why: 'the oil boils' }],
      waits: false,
      source: 'common practice, no source',
      notes: 'none',
    };
    expect(readScheduleFile(inFile(JSON.stringify(schedule)))).toEqual(schedule);
    const yaml =
      'name: Trial\nsegments:\n  - {kind: ramp, toC: 660, rateCPerH: flat-out}\n  - {kind: hold, minutes: 12}\n';
    expect(readScheduleFile(inFile(yaml))).toEqual({
      name: 'Trial',
      segments: [
        { kind: 'ramp', toC: 660, rateCPerH: 'flat-out' },
        { kind: 'hold', minutes: 12 },
      ],
    });
  });

  it('has every fault named at once, each with its line, what was found and what would be right', () => {
    const faults = faultsIn(`name: Trial
toleranceC: 0
thickness: 3
segments:
  - kind: ramp
    toC: 660
    rateCPerH: fast
  - kind: hold
    minutes: -5
    oppening: propped
  - kind: ramp
    toC: 660
    rateCPerH: 100
limits:
  - {fromC: 450, toC: 450, maxCPerH: 300, why: it boils}
`);
    expect(faults).toEqual([
      {
        where: 'segments[0].rateCPerH (line 7)',
        what: 'found "fast"',
        right: 'write a number of °C per hour above 0, or flat-out, or let-fall',
      },
      { where: 'segments[1].minutes (line 9)', what: 'found -5', right: 'write its minutes, a number above 0' },
      { where: 'segments[1].oppening (line 10)', what: 'unknown key "oppening"', right: 'write opening' },
      {
        where: 'toleranceC (line 2)',
        what: 'found 0',
        right: 'write how far it may be off the plan in °C, a number above 0',
      },
      { where: 'thickness (line 3)', what: 'unknown key "thickness"', right: 'write plateMm, in mm' },
      {
        where: 'segments[2].toC (line 12)',
        what: 'found 660, where it already is',
        right: 'write another temperature, or a hold instead of the ramp',
      },
      {
        where: 'limits[0].toC (line 15)',
        what: 'found 450',
        right: 'write another temperature than fromC (450): above it for the way up, below it for the way down',
      },
    ]);
  });

  it('says what is missing, and where', () => {
    expect(faultsIn('segments:\n  - kind: ramp\n    toC: 600\n')).toEqual([
      { where: 'name', what: 'is missing', right: 'write a name, up to 200 letters' },
      {
        where: 'segments[0].rateCPerH (line 2)',
        what: 'is missing',
        right: 'write a number of °C per hour above 0, or flat-out, or let-fall',
      },
    ]);
  });

  it.each([
    ['rate', 'write rateCPerH, in °C per hour'],
    ['rateCperH', 'write rateCPerH'],
    ['ratePerMinute', 'rates are in °C per hour: write rateCPerH with 60 times the number'],
    ['temperature', 'write toC, in °C'],
    ['toF', 'write toC, in °C'],
    ['colour', 'known here are kind, toC, rateCPerH, opening, acts'],
  ])('suggests the right key for %s', (key, right) => {
    expect(faultsWith({ ...up, [key]: 150 })).toEqual([
      { where: `segments[0].${key}`, what: `unknown key "${key}"`, right },
    ]);
  });

  it.each([
    ['begins with a hold', [{ kind: 'hold', minutes: 10 }], 'segments[0].kind'],
    ['has no segments', [], 'segments'],
    ['has a segment of no known kind', [{ kind: 'soak', minutes: 10 }], 'segments[0].kind'],
    ['has a segment that is a word', [up, 'hold'], 'segments[1]'],
    ['goes to a temperature in °F', [{ ...up, toC: 1450 }], 'segments[0].toC'],
    ['has a rate of 0', [{ ...up, rateCPerH: 0 }], 'segments[0].rateCPerH'],
    ['has a downward rate with a minus', [up, { kind: 'ramp', toC: 500, rateCPerH: -100 }], 'segments[1].rateCPerH'],
    ['lets it fall upwards', [up, { kind: 'ramp', toC: 700, rateCPerH: 'let-fall' }], 'segments[1].rateCPerH'],
    ['lets it fall from the room up', [{ ...up, rateCPerH: 'let-fall' }], 'segments[0].rateCPerH'],
    ['goes down flat out', [up, { kind: 'ramp', toC: 500, rateCPerH: 'flat-out' }], 'segments[1].rateCPerH'],
    ['holds no time', [up, { kind: 'hold', minutes: 0 }], 'segments[1].minutes'],
    [
      'calls an act the ramp never passes',
      [{ ...up, acts: [{ when: { atC: 700 }, do: 'x' }] }],
      'segments[0].acts[0].when.atC',
    ],
    [
      'calls an act away from the hold',
      [up, { kind: 'hold', minutes: 9, acts: [{ when: { atC: 450 }, do: 'x' }] }],
      'segments[1].acts[0].when.atC',
    ],
    ['calls an act at no moment', [{ ...up, acts: [{ when: 'later', do: 'x' }] }], 'segments[0].acts[0].when'],
    ['has an act that says nothing', [{ ...up, acts: [{ when: 'end', do: ' ' }] }], 'segments[0].acts[0].do'],
  ])('is refused where it %s', (_, segments, where) => {
    const faults = faultsWith(...segments);
    expect(faults.map((f) => f.where)).toEqual([where]);
    // In our words, not in those of the library that found it.
    expect(faults[0]?.right).toMatch(/write|begin with|must be heated/);
  });

  it('says what else is known beside the temperature of an act', () => {
    const acts = [{ when: { atC: 300, minute: 1 }, do: 'close the vent' }];
    expect(faultsWith({ ...up, acts })).toEqual([
      { where: 'segments[0].acts[0].when.minute', what: 'unknown key "minute"', right: 'known here are atC' },
    ]);
  });

  it('is refused where a key is written twice', () => {
    expect(faultsIn('name: a\nsegments: []\nname: b\n')).toEqual([
      { where: 'line 3', what: 'the key "name" is written twice', right: 'keep one of them' },
    ]);
  });

  it.each([
    ['a tab', 'name: a\nsegments:\n\t- kind: ramp\n', 'line 3', 'a tab is used to indent'],
    ['an open bracket', 'name: a\nsegments: [\n', 'line 3', 'a quote or bracket above is opened and never closed'],
    ['an open quote', 'name: "a\nsegments: []\n', 'line 3', 'a quote or bracket above is opened and never closed'],
    ['a colon too many', 'name: enamel: pink\nsegments: []\n', 'line 1', 'a value is followed by another key'],
    ['two documents', 'name: a\n---\nname: b\n', 'line 2', 'a second document begins'],
  ])('has a slip of YAML told in one sentence: %s', (_, text, where, what) => {
    expect(faultsIn(text).map((f) => [f.where, f.what])).toEqual([[where, what]]);
  });

  it('is told to be a list, empty, missing, or a folder', () => {
    expect(faultsIn('- 1\n')[0]).toMatchObject({ where: 'the file', what: 'found a list' });
    expect(faultsIn('')[0]).toMatchObject({ what: 'is empty' });
    expect(faultsOf(() => readScheduleFile(join(dir, 'none.yaml')))[0]?.what).toBe('is not there');
    expect(faultsOf(() => readScheduleFile(dir))[0]?.what).toBe('is a folder');
    expect(() => readScheduleFile(dir)).toThrow(UnreadableFileError);
  });
});

describe('what is asked about a schedule', () => {
  const asked = (more: object, ...segments: unknown[]): string[] =>
    askAbout(parseSchedule({ name: 'x', segments, ...more }, 'x'));
  const down = { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' };

  it('is nothing where all is usual', () => {
    expect(asked({}, up, { kind: 'hold', minutes: 12 }, down)).toEqual([]);
  });

  it.each([
    ['a peak above what glass paint is fired at', {}, [{ ...up, toC: 720 }, down], '720 °C'],
    ['a silver stain hotter than usual', { name: 'Silver stain' }, [{ ...up, toC: 600 }, down], 'silver stain'],
    [
      'a second hold just under the peak',
      {},
      [up, { kind: 'ramp', toC: 650, rateCPerH: 60 }, { kind: 'hold', minutes: 5 }, down],
      'only 10 °C under',
    ],
    ['an end that leaves it hot', {}, [up], 'ends at 660 °C'],
    ['a lid open where glass breaks', {}, [up, { ...down, opening: 'free' }], 'glass breaks easily'],
    [
      'a pace above the limits of the schedule itself',
      { limits: [{ fromC: 100, toC: 450, maxCPerH: 100, why: 'the oil boils' }] },
      [up, down],
      'the schedule itself allows 100',
    ],
  ])('is %s, and it is not refused', (_, more, segments, text) => {
    const questions = asked(more, ...segments);
    expect(questions).toHaveLength(1);
    expect(questions[0]).toContain(text);
  });

  it('asks of a fall only what counts for a fall', () => {
    const guided = { kind: 'ramp', toC: 400, rateCPerH: 150 };
    const medium = { fromC: 100, toC: 420, maxCPerH: 100, why: 'the medium smokes' };
    const climb = { fromC: 20, toC: 600, maxCPerH: 140, why: 'the shelf must keep up' };
    const fall = { fromC: 560, toC: 430, maxCPerH: 120, why: 'annealing' };
    const gentle = { kind: 'ramp', toC: 600, rateCPerH: 90 };
    expect(asked({ limits: [medium] }, gentle, guided, down)).toEqual([]);
    expect(asked({ limits: [climb, fall] }, gentle, guided, down)).toEqual([
      expect.stringContaining('between 560 and 430'),
    ]);
  });
});
