import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { checkSchedule } from '../../daemon/commands/check-schedule.ts';

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-check-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

function check(text: string | undefined): { code: number; lines: string[] } {
  const path = join(dir, 'trial.yaml');
  if (text !== undefined) writeFileSync(path, text);
  const lines: string[] = [];
  return { code: checkSchedule(path, (line) => lines.push(line.replace(`${dir}/`, ''))), lines };
}

describe('checking a schedule', () => {
  it('tells what it comes to, and asks about what looks odd', () => {
    const { code, lines } = check(`name: Matt
segments:
  - {kind: ramp, toC: 720, rateCPerH: 150, opening: propped, acts: [{when: {atC: 450}, do: close the vent, callMinutes: 5}]}
  - {kind: hold, minutes: 12}
  - {kind: ramp, toC: 50, rateCPerH: let-fall}
`);
    expect(code).toBe(0);
    expect(lines).toEqual([
      'Matt: 3 segments, peak 720 °C, no faults.',
      '1. to 720 °C, 150 °C/h, propped',
      '   at 450 °C: close the vent, called 5 min before',
      '2. hold 12 min',
      '3. to 50 °C, let it fall',
      'It goes to 720 °C; glass paint is usually fired at 620 to 680. Is it meant?',
    ]);
  });

  it('names every fault on a line of its own', () => {
    const { code, lines } = check('name: Matt\nsegments:\n  - {kind: ramp, toC: 660}\n  - {kind: hold}\n');
    expect(code).toBe(1);
    expect(lines).toEqual([
      'trial.yaml: segments[0].rateCPerH (line 3): is missing; write a number of °C per hour above 0, or flat-out, or let-fall.',
      'trial.yaml: segments[1].minutes (line 4): is missing; write its minutes, a number above 0.',
    ]);
  });

  it('says in one sentence that the file is not there', () => {
    expect(check(undefined)).toEqual({ code: 2, lines: ['trial.yaml: the file: is not there; correct the path.'] });
  });
});
