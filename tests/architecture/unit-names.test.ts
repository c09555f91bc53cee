import { describe, expect, it } from 'vitest';
import { sourceFiles } from './source-files.ts';

/** Units as names end in them. */
const UNIT = /(C|Mv|Ms|S|CPerH|PerH|PerS|Mm|MPa|J|Minutes|Min|Ratio|Count)$/;
/** Counts, indices and what interfaces of the outside fix. */
const PLAIN = new Set([
  'segment',
  'nextNumber',
  'rank',
  'count',
  'readings',
  'rejected',
  'missing',
  'minutes',
  'index',
  // Fixed by what the outside may rely on.
  'celsius',
  'forecast',
  // A unit of its own.
  'baud',
  // The version of the live messages, a line's number in the record, and a seal's.
  'v',
  'seal',
  'line',
  'lines',
  'actLines',
  // Times as fast as real time.
  'speed',
  // Of Modbus: an instrument's number on its line, a register's number, and registers as they came.
  'unit',
  'register',
  'words',
  // Of a register: where it stands, and what makes a figure of it in the unit that is declared beside it.
  'place',
  'scale',
  'offset',
  'bit',
  'noValue',
  // A number in a line or in registers whose unit nobody has told yet.
  'figure',
  // A share without a unit, named for what it measures.
  'relative',
  'meanSquare',
  // Of the look ahead: sums under weights, and indices of the distances that are looked at.
  'sums',
  'squares',
  'worse',
  'all',
  'untouched',
  'look',
  'looked',
]);

/** Where any parameter is meant at once, its unit stands in the parameter's own name; indices and weights have none. */
const ANY_PARAMETER: ReadonlySet<string> = new Set(
  [
    'fit-kiln: value low high logs',
    'fit-problem: before after sigma offset blockFrom',
    'heat-evidence: value',
    'kiln-model: settingPower',
    'kiln-parameters: middle sigma',
    'kiln-traits: value half',
    'look-ahead: at',
    'recorded-firing: ratio',
    'search: from cost',
    'spread: logs',
  ].flatMap((entry) => {
    const [file = '', names = ''] = entry.split(': ');
    return names.split(' ').map((name) => `daemon/core/kiln-model/${file}.ts ${name}`);
  }),
);

interface NumberField {
  readonly path: string;
  readonly name: string;
}

/** `readonly name?: number | null | undefined;` in an interface, `name: z.number()…` in a schema. */
function numberFields(): NumberField[] {
  const files = [...sourceFiles('daemon/core', ['.ts']), ...sourceFiles('daemon/wire', ['.ts'])];
  return files.flatMap(({ path, text }) => {
    const typed = text.matchAll(/\breadonly (\w+)\??: (?:readonly )?number\b/g);
    const wired = text.matchAll(/^\s*(\w+): z\.(?:number|int)\(/gm);
    return [...typed, ...wired].map(([, name = '']) => ({ path, name }));
  });
}

const isAnyParameter = (name: string, path: string): boolean => ANY_PARAMETER.has(`${path} ${name}`);

describe('numbers in core and on the wire', () => {
  const fields = numberFields();

  it('are found at all', () => {
    expect(fields.length).toBeGreaterThan(80);
  });

  it('carry their unit at the end of their name', () => {
    const bare = fields.filter(({ name, path }) => !UNIT.test(name) && !PLAIN.has(name) && !isAnyParameter(name, path));
    expect(bare).toEqual([]);
  });
});
