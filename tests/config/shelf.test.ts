import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readShelf, shippedSchedulesDir } from '../../daemon/config/shelf.ts';

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-shelf-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

const schedule = (name: string): string =>
  JSON.stringify({ name, segments: [{ kind: 'ramp', toC: 600, rateCPerH: 100 }] });

describe('the shelf of schedules', () => {
  it('goes on without a broken file, and says what is wrong with it', () => {
    writeFileSync(join(dir, 'good.yaml'), schedule('Good'));
    writeFileSync(join(dir, 'bad.yaml'), 'name: Bad\n');
    writeFileSync(join(dir, 'notes.txt'), 'no schedule');
    const shelf = readShelf([dir, join(dir, 'none')]);
    expect(shelf.schedules.map((s) => [s.key, s.schedule.name])).toEqual([['good', 'Good']]);
    expect(shelf.troubles).toEqual([
      `${join(dir, 'bad.yaml')}: segments: is missing; write a list of segments, the first a ramp.`,
      `${join(dir, 'none')}: this folder of schedules cannot be read; correct its path or make it.`,
    ]);
  });

  it("gives the workshop's own schedule the place of the one that came along", () => {
    const ours = join(dir, 'ours');
    mkdirSync(ours);
    cpSync(join(shippedSchedulesDir(), 'enamel.yaml'), join(dir, 'enamel.yaml'));
    writeFileSync(join(ours, 'enamel.json'), schedule('Our enamel'));
    expect(readShelf([dir, ours]).schedules.map((s) => s.schedule.name)).toEqual(['Our enamel']);
  });

  it('does not choose between two files of one name in one folder without a word', () => {
    writeFileSync(join(dir, 'a.json'), schedule('One'));
    writeFileSync(join(dir, 'a.yaml'), schedule('Two'));
    const shelf = readShelf([dir]);
    expect(shelf.schedules.map((s) => s.schedule.name)).toEqual(['One']);
    expect(shelf.troubles[0]).toContain('rename one of them');
  });
});
