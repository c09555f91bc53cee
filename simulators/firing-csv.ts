/** A simulated firing as `time,sensor,celsius[,lid]`: an empty celsius is no valid value. */
import type { ScenarioRow } from './firing-scenario.ts';

export function csvHeader(withLid: boolean): string {
  return withLid ? 'time,sensor,celsius,lid\n' : 'time,sensor,celsius\n';
}

export function csvLine(row: ScenarioRow): string {
  const celsius = row.celsius === null ? '' : `${row.celsius}`;
  const lid = row.lid === undefined ? '' : `,${row.lid}`;
  return `${new Date(row.atMs).toISOString()},${row.sensor},${celsius}${lid}\n`;
}

export function toCsv(rows: readonly ScenarioRow[]): string {
  return csvHeader(rows[0]?.lid !== undefined) + rows.map(csvLine).join('');
}
