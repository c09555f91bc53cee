import { execFile } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readingsCsv } from '../../daemon/exports/csv.ts';
import { figuresCsv } from '../../daemon/exports/figures-csv.ts';
import type { FiringDetail } from '../../daemon/wire/live-messages.ts';
import { needs, pathOf } from '../support/debian.ts';

const run = promisify(execFile);
const startedAtMs = Date.UTC(2026, 10, 25, 9);
const NASTY = [
  '=1+1',
  '+1+1',
  '-2+3',
  '@SUM(A1)',
  '\t=1+1',
  'x;=1+1',
  'x\t=1+1',
  'x"\n=1+1',
  '=HYPERLINK("http://a","b")',
];

const readings = [
  { celsius: 20.026, raw: '20.026' },
  { celsius: -12.3, raw: '-12.3' },
  { celsius: 1074, raw: '1,074' },
  { celsius: null, raw: '' },
  ...NASTY.map((raw) => ({ celsius: null, raw })),
].map((reading, i) => ({
  ...reading,
  atMs: startedAtMs + i * 500,
  sensor: i === 1 ? '=shelf' : 'shelf',
  uncertaintyC: reading.celsius === null ? null : 2.5,
  quality: 'good',
  reason: '',
  lid: '',
  line: i + 2,
}));

const figures = [
  { label: 'Peak, shelf', value: '664.0 °C', numbers: { celsius: 664, uncertaintyC: 7.1, atMs: startedAtMs + 90_000 } },
  { label: '=Peak', value: '-12.3 °C', numbers: { celsius: -12.3 } },
  { label: 'Steepest, 20 °C to 100 °C', value: 'up 540 °C/h', numbers: { heatCPerH: 540, coolCPerH: 72 } },
];

interface Cell {
  readonly type: string;
  readonly value: string;
  readonly formula: string | undefined;
}

/** How the spreadsheet understands a table: the plain way, and with everything switched on that it might take amiss. */
const WAYS = {
  'as it opens by itself': 'CSV:44,34,76,1',
  'at semicolons and tabs too, dates looked for, formulas run':
    'CSV:44/59/9,34,76,1,,0,false,true,false,false,false,-1,true',
};

describe.runIf(needs('soffice'))('a table in a spreadsheet', () => {
  let dir: string;
  const opened = new Map<string, readonly (readonly Cell[])[]>();

  beforeAll(async () => {
    dir = await mkdtemp(join(tmpdir(), 'spyhole-spreadsheet-'));
    await writeFile(join(dir, 'readings.csv'), [...readingsCsv(readings, startedAtMs)].join(''));
    const report = { figures, utcOffsetMinutes: 60, detail: { startedAtMs } as FiringDetail };
    await writeFile(join(dir, 'figures.csv'), figuresCsv(report));
    for (const [way, filter] of Object.entries(WAYS)) {
      const profile = `-env:UserInstallation=file://${dir}/profile`;
      const how = ['--headless', profile, `--infilter=${filter}`, '--convert-to', 'fods', '--outdir', dir];
      await run(pathOf('soffice'), [...how, join(dir, 'readings.csv'), join(dir, 'figures.csv')]);
      for (const name of ['readings', 'figures']) {
        opened.set(`${name} ${way}`, cellsOf(await readFile(join(dir, `${name}.fods`), 'utf8')));
      }
    }
  }, 120_000);
  afterAll(() => rm(dir, { recursive: true }));

  const column = (table: string, head: string): readonly Cell[] => {
    const [heads, ...rows] = opened.get(table) ?? [];
    const at = heads?.findIndex(({ value }) => value === head) ?? -1;
    expect(at, `${head} in ${table}`).toBeGreaterThanOrEqual(0);
    return rows.map((row) => row[at] ?? { type: '', value: '', formula: undefined });
  };
  const numbers = (table: string, head: string): readonly (number | null)[] =>
    column(table, head).map(({ type, value }) => (type === 'float' ? Number(value) : null));

  it.each(Object.keys(WAYS))('has its numbers as numbers, %s', (way) => {
    const table = `readings ${way}`;
    expect(numbers(table, '°C')).toEqual(readings.map(({ celsius }) => celsius));
    expect(numbers(table, 's since the start')).toEqual(readings.map((_, i) => i / 2));
    expect(numbers(table, 'line of the record')).toEqual(readings.map(({ line }) => line));
    expect(numbers(`figures ${way}`, '°C')).toEqual([664, -12.3, null]);
    expect(numbers(`figures ${way}`, 'give or take °C')).toEqual([7.1, null, null]);
    expect(numbers(`figures ${way}`, 'up °C/h')).toEqual([null, null, 540]);
    expect(numbers(`figures ${way}`, 'min since the start')).toEqual([1.5, null, null]);
  });

  it.each(Object.keys(WAYS))('runs no formula, and keeps each text in its cell, %s', (way) => {
    for (const name of ['readings', 'figures']) {
      const cells = opened.get(`${name} ${way}`)?.flat() ?? [];
      expect(cells.length).toBeGreaterThan(20);
      expect(cells.filter(({ formula }) => formula !== undefined)).toEqual([]);
    }
    const table = opened.get(`readings ${way}`) ?? [];
    expect(table).toHaveLength(readings.length + 1);
    expect(new Set(table.map((row) => row.length)).size).toBe(1);
    expect(column(`readings ${way}`, 'as received').filter(({ value }) => value.includes('=1+1'))).toHaveLength(5);
    expect(column(`readings ${way}`, 'sensor')[1]?.value).toBe('&apos;=shelf');
  });
});

/** The cells of a flat OpenDocument sheet, row by row; what is repeated empty at the edges is left out. */
function cellsOf(xml: string): Cell[][] {
  const rows = [...xml.matchAll(/<table:table-row\b[^>]*?(?:\/>|>(.*?)<\/table:table-row>)/gs)].map(
    ([, inner]) => inner ?? '',
  );
  const table = rows.map((row) =>
    [...row.matchAll(/<table:table-cell\b([^>]*?)(?:\/>|>(.*?)<\/table:table-cell>)/gs)].flatMap(
      ([, words = '', inner = '']) => {
        const told = (name: string): string | undefined => new RegExp(`\\b${name}="([^"]*)"`).exec(words)?.[1];
        const text = [...inner.matchAll(/<text:p>(.*?)<\/text:p>/gs)].map(([, line]) => line).join('\n');
        const cell = {
          type: told('office:value-type') ?? '',
          value: told('office:value') ?? text,
          formula: told('table:formula'),
        };
        return Array.from({ length: Number(told('table:number-columns-repeated') ?? 1) }, () => cell);
      },
    ),
  );
  return table.filter((row) => row.some(({ type }) => type !== ''));
}
