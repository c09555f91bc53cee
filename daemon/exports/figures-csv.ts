/** The figures of a firing as a table: each number stands alone in its cell, its unit at the head of its column. */
import type { FigureNumbers } from '../wire/figure-rows.ts';
import { type Cell, csvRow } from './csv.ts';
import { type FiringReport, wallTime, zoneName } from './firing-report.ts';

/** Which number stands in which column. */
const COLUMNS: readonly (readonly [head: string, of: Exclude<keyof FigureNumbers, 'atMs'>])[] = [
  ['°C', 'celsius'],
  ['give or take °C', 'uncertaintyC'],
  ['minutes', 'minutes'],
  ['minutes by the clock', 'clockMinutes'],
  ['minutes planned', 'plannedMinutes'],
  ['up °C/h', 'heatCPerH'],
  ['down °C/h', 'coolCPerH'],
  ['count', 'count'],
];

type FiguresOf = Pick<FiringReport, 'figures' | 'utcOffsetMinutes' | 'detail'>;

/** The rows are those of the report, which says in the last column how they read there. */
export function figuresCsv({ figures, utcOffsetMinutes, detail }: FiguresOf): string {
  const times = ['min since the start', `time (${zoneName(utcOffsetMinutes)})`];
  const rows: Cell[][] = [['figure', ...COLUMNS.map(([head]) => head), ...times, 'as the report says it']];
  for (const { label, value, numbers } of figures) {
    const { atMs } = numbers;
    const time = atMs === undefined ? null : wallTime(atMs, utcOffsetMinutes);
    const sinceMin = atMs === undefined ? null : Math.round((atMs - detail.startedAtMs) / 6000) / 10;
    rows.push([label, ...COLUMNS.map(([, of]) => numbers[of] ?? null), sinceMin, time, value]);
  }
  return `\uFEFF${rows.map(csvRow).join('')}`;
}
