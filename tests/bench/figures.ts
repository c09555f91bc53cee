/** Figures of many measurements, and tables of them in plain text. */

/** @param share 0.5 for the median, 0.99 for the value that 99 of 100 stay under; nearest rank */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(Math.floor(share * sorted.length), sorted.length - 1)] ?? Number.NaN;
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] ?? Number.NaN;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? upper) + upper) / 2;
}

export function rms(errors: readonly number[]): number {
  return Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
}

/** Three digits that count. */
export function figure(value: number): string {
  if (!Number.isFinite(value)) return '–';
  if (value === 0) return '0';
  const decimals = Math.max(2 - Math.floor(Math.log10(Math.abs(value))), 0);
  return value.toFixed(Math.min(decimals, 3));
}

/** Columns side by side: the first to the left, the others to the right. */
export function table(title: string, head: readonly string[], rows: readonly (readonly string[])[]): string {
  const all = [head, ...rows];
  const widths = head.map((_, column) => Math.max(...all.map((row) => (row[column] ?? '').length)));
  const line = (row: readonly string[]): string =>
    row
      .map((cell, column) => (column === 0 ? cell.padEnd(widths[column] ?? 0) : cell.padStart(widths[column] ?? 0)))
      .join('  ')
      .trimEnd();
  return ['', title, line(head), widths.map((width) => '-'.repeat(width)).join('  '), ...rows.map(line), ''].join('\n');
}
