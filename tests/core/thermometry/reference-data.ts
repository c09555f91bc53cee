/** The published thermocouple data of tests/data/thermocouple, each file with its own provenance. */
import { readFileSync } from 'node:fs';
import type { CoupleLetter } from '../../../daemon/core/thermometry/its90-coefficients.ts';

export const LETTERS: readonly CoupleLetter[] = ['B', 'E', 'J', 'K', 'N', 'R', 'S', 'T'];

const read = (name: string): string =>
  readFileSync(new URL(`../../data/thermocouple/${name}`, import.meta.url), 'utf8');

export function readJson<Shape>(name: string): Shape {
  return JSON.parse(read(name));
}

export interface TablePoint {
  readonly celsius: number;
  /** As printed, with three decimals. */
  readonly emfMv: string;
}

export function emfTable(letter: CoupleLetter): TablePoint[] {
  const [, ...lines] = read(`emf_table_${letter}.csv`).trim().split('\n');
  return lines.map((line) => {
    const [celsius, emfMv = ''] = line.trim().split(',');
    return { celsius: Number(celsius), emfMv };
  });
}

interface AcceptanceCase {
  readonly id: string;
  readonly input: unknown;
  readonly expected: unknown;
}

/** @throws RangeError where there is no case of that number */
export function acceptanceCase<Input, Expected>(id: string): { readonly input: Input; readonly expected: Expected } {
  const found = readJson<{ cases: AcceptanceCase[] }>('acceptance-cases.json').cases.find((c) => c.id === id);
  if (found === undefined) throw new RangeError(`no acceptance case ${id}`);
  return { input: found.input as Input, expected: found.expected as Expected };
}
