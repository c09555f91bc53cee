import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { parseTime, type RejectedRow, type Row, readRows } from '../../daemon/config/rows.ts';
import { ConfigError } from '../../daemon/errors.ts';

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-rows-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

async function rowsOf(text: string | Uint8Array): Promise<(Row | RejectedRow)[]> {
  const path = join(dir, 'R.csv');
  writeFileSync(path, text);
  const rows: (Row | RejectedRow)[] = [];
  for await (const row of readRows(path)) rows.push(row);
  return rows;
}

const START = Date.UTC(2026, 2, 14, 13, 52);

describe('a recorded curve', () => {
  it('gives its rows in order, the temperature as the text it was', async () => {
    const rows = await rowsOf(
      '\uFEFFtime,sensor,celsius,lid\r\n2026-03-14T13:52:00Z,top,648.50,closed\r\n2026-03-14T14:52:01.5+01:00,"low, left",,\r\n\r\n2026-03-14T13:52:02Z,top,E1\r\n2026-03-14T13:52:03Z,,,open\r\n',
    );
    expect(rows).toEqual([
      { kind: 'row', atMs: START, sensor: 'top', celsius: '648.50', lid: 'closed', line: 2 },
      { kind: 'row', atMs: START + 1500, sensor: 'low, left', celsius: '', line: 3 },
      { kind: 'row', atMs: START + 2000, sensor: 'top', celsius: 'E1', line: 5 },
      { kind: 'row', atMs: START + 3000, sensor: '', celsius: '', lid: 'open', line: 6 },
    ]);
  });

  it('counts a garbled row as rejected, says what is wrong with it, and goes on', async () => {
    const rows = await rowsOf(`time,sensor,celsius
2026-03-14T13:52:00Z,top,648
2026-03-14T13:5
2026-03-14 soon,top,649
2099-03-14T13:52:02Z,top,649
2026-03-14T13:52:02Z,,649
2026-03-14T13:52:02Z,top,649,5
2026-03-14T13:52:03Z,top,650
`);
    expect(rows.map((r) => r.kind)).toEqual(['row', 'rejected', 'rejected', 'rejected', 'rejected', 'rejected', 'row']);
    const faults = rows.flatMap((r) => (r.kind === 'rejected' ? [r.fault] : []));
    expect(faults.map((f) => f.where.replace(dir, ''))).toEqual([3, 4, 5, 6, 7].map((n) => `/R.csv line ${n}`));
    expect(faults.map((f) => f.what)).toEqual([
      'found 1 column',
      'found the time "2026-03-14 soon"',
      'found the time "2099-03-14T13:52:02Z", more than a week after the row before',
      'names no sensor',
      'found 4 columns',
    ]);
  });

  it.each([
    ['an empty file', '', 'is empty'],
    ['another header', 'time,celsius,sensor\n', 'the header is "time,celsius,sensor"'],
    ['no row at all', 'time,sensor,celsius\n', 'holds no row'],
    ['a first row without a time', 'time,sensor,celsius\n12:00,top,20\n', 'found the time "12:00"'],
    ['a first time without an offset', 'time,sensor,celsius\n2026-03-14T13:52:00,top,20\n', 'found the time'],
  ])('cannot be replayed with %s', async (_, text, what) => {
    const reading = rowsOf(text);
    await expect(reading).rejects.toBeInstanceOf(ConfigError);
    await expect(reading).rejects.toThrow(what);
  });

  it('is said to be missing, or a folder', async () => {
    const next = (path: string) => readRows(path).next();
    await expect(next(join(dir, 'none.csv'))).rejects.toThrow(`${join(dir, 'none.csv')}: the file: is not there`);
    await expect(next(dir)).rejects.toThrow('is a folder');
  });

  it('of 50,000 rows is read through, and may be left in the middle', async () => {
    const lines = Array.from(
      { length: 50_000 },
      (_, i) => `${new Date(START + i * 1000).toISOString()},top,${i / 100}`,
    );
    const rows = await rowsOf(`time,sensor,celsius\n${lines.join('\n')}\n`);
    expect(rows).toHaveLength(50_000);
    expect(rows.at(-1)).toMatchObject({ atMs: START + 49_999_000, celsius: '499.99', line: 50_001 });
    for await (const row of readRows(join(dir, 'R.csv'))) if (row.line > 3) break;
  });
});

describe('an instant', () => {
  it.each([
    ['2000-01-01T00:00:19.500Z', Date.UTC(2000, 0, 1, 0, 0, 19, 500)],
    ['2000-02-29T23:30-0230', Date.UTC(2000, 2, 1, 2, 0)],
    ['2000-01-01 00:00:00+00:00', Date.UTC(2000, 0, 1)],
    ['2000-01-01T00:00:00.1239Z', Date.UTC(2000, 0, 1, 0, 0, 0, 124)],
  ])('%s is understood', (text, atMs) => {
    expect(parseTime(text)).toBe(atMs);
  });

  it.each([
    '2000-02-30T00:00:00Z',
    '2000-01-01T25:00:00Z',
    '2000-01-01T00:60:00Z',
    '2000-01-01',
    '946684800',
    '',
    '2000-13-01T00:00:00Z',
  ])('%s is none', (text) => {
    expect(parseTime(text)).toBeUndefined();
  });
});
