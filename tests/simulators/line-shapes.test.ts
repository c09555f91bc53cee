import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { decodeRaw } from '../../daemon/core/reading/decode.ts';
import { lineSplitter } from '../../daemon/inputs/line-splitter.ts';
import { distortLine, lineFaults } from '../../simulators/line-faults.ts';
import { type LineShapeName, lineShapes, printLine, printStart } from '../../simulators/line-shapes.ts';

const columns = ['shelf', 'top', 'lid'];
const measured = {
  readings: [
    { sensor: 'top', celsius: null },
    { sensor: 'shelf', celsius: 648.25 },
  ],
  lid: 'open' as const,
};

describe('a line of a board', () => {
  it.each<[LineShapeName, string]>([
    ['semicolons', '648.25;;open\r\n'],
    ['commas', '648.25,,open\n'],
    ['tabs', '648.25\t\topen\r\n'],
    ['blanks', '648.25 --- open\r\n'],
    ['decimal-comma', '648,25;;open\r\n'],
    ['pairs', 'shelf=648.25 top=nan lid=open\r\n'],
    ['json', '{"shelf":648.25,"top":null,"lid":"open"}\n'],
    ['degree-sign', '648.25 °C;;open\r\n'],
    ['fahrenheit', '1198.9F;;open\r\n'],
    ['fahrenheit-unsaid', '1198.9;;open\r\n'],
    ['cr-only', '648.25;;open\r'],
  ])('of the shape %s is %j', (name, line) => {
    expect(printLine(lineShapes[name], columns, measured)).toBe(line);
  });

  it('may come behind the names of its columns, or behind the end of another one', () => {
    expect(printStart(lineShapes.header, columns, measured)).toBe('shelf;top;lid\r\n');
    expect(printStart(lineShapes['mid-line'], columns, measured)).toBe('48.25;;open\r\n');
    expect(printStart(lineShapes.semicolons, columns, measured)).toBe('');
  });

  it.each<LineShapeName>([
    'semicolons',
    'tabs',
    'blanks',
    'decimal-comma',
    'pairs',
    'degree-sign',
    'header',
    'cr-only',
    'mid-line',
  ])('of the shape %s gives the daemon the very temperature', (name) => {
    const shape = lineShapes[name];
    const bytes = Buffer.from(
      printStart(shape, ['shelf', 'lid'], measured) + printLine(shape, ['shelf', 'lid'], measured),
    );
    const splitter = lineSplitter();
    // The splitter throws away what it hears before the first end: here the end of a line before.
    splitter.push(Buffer.from('\n'));
    const decoded = splitter.push(bytes).map((text) =>
      decodeRaw(
        { kind: 'raw', atMs: 0, input: 'line', text },
        {
          kind: 'columns',
          columns: ['shelf', 'lid'],
        },
      ),
    );
    expect(decoded.at(-1)).toEqual({
      ok: true,
      readings: [
        { kind: 'temperature', sensor: 'shelf', temperatureC: 648.25 },
        { kind: 'lid', open: true },
      ],
    });
  });
});

describe('a line that goes wrong', () => {
  const line = Buffer.from('648.25;652.00\r\n');

  it('has other bytes, no end, comes twice or loses its second half', () => {
    const random = seededRandom(7);
    const garbled = lineFaults.garbled.distort(line, 2, random);
    expect(garbled).not.toEqual(line);
    expect(garbled.subarray(-2)).toEqual(line.subarray(-2));
    expect(lineFaults['lost-end'].distort(line, 2).toString()).toBe('648.25;652.00');
    expect(lineFaults.doubled.distort(line).toString()).toBe('648.25;652.00\r\n648.25;652.00\r\n');
    expect(lineFaults.cut.distort(line, 2).toString()).toBe('648.25\r\n');
  });

  it('goes wrong about as often as asked, the same lines for the same seed', () => {
    const struck = (seed: number, ratio: number): number[] => {
      const random = seededRandom(seed);
      return Array.from({ length: 1000 }, (_, i) => i).filter(
        () => distortLine(line, 2, { fault: 'doubled', ratio }, random).length > line.length,
      );
    };
    expect(struck(3, 0.1)).toEqual(struck(3, 0.1));
    expect(struck(3, 0.1).length).toBeGreaterThan(70);
    expect(struck(3, 0.1).length).toBeLessThan(130);
    // A rarer fault leaves the other lines as they were.
    expect(struck(3, 0.1)).toEqual(expect.arrayContaining(struck(3, 0.02)));
    expect(struck(3, 0)).toEqual([]);
  });
});
