import { expect, test } from 'vitest';
import { csvRow } from '../../daemon/exports/csv.ts';

test('numbers stay numbers, and a text that would run as a formula gets a quote mark before it', () => {
  expect(csvRow([-12.3, '-12.3', '+4', null])).toBe('-12.3,-12.3,+4,\r\n');
  for (const formula of ['=cmd()', '+cmd', '-2+3', '@SUM(A1)', '\t=1', '\0x']) {
    expect(csvRow([formula]).replace(/^"/, '').startsWith("'")).toBe(true);
  }
});

test('a semicolon or a tab ends no cell, behind which a formula might begin', () => {
  expect(csvRow(['20.1;=1+1', '20.1\t=1+1'])).toBe('"20.1;=1+1","20.1\t=1+1"\r\n');
});

test('commas, quotes and line ends stand between quotes, as RFC 4180 has it', () => {
  expect(csvRow(['a,b', 'say "when"', 'two\nlines', 'plain'])).toBe('"a,b","say ""when""","two\nlines",plain\r\n');
});
