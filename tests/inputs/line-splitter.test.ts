import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { lineSplitter, MAX_LINE_BYTES } from '../../daemon/inputs/line-splitter.ts';

const SEED = 20260314;

function linesOf(...chunks: (string | Uint8Array)[]): string[] {
  const splitter = lineSplitter();
  return chunks.flatMap((chunk) => splitter.push(typeof chunk === 'string' ? Buffer.from(chunk) : chunk));
}

describe('lines from a serial port', () => {
  it.each(['\n', '\r', '\r\n'])('ends a line at %j', (end) => {
    expect(linesOf(`cut off${end}648.5${end}649${end}`)).toEqual(['648.5', '649']);
  });

  it('throws away the first line, since the port was opened in the middle of it', () => {
    expect(linesOf('73.4\n', '1074.0\n')).toEqual(['1074.0']);
  });

  it('gives a line once it is whole, however many pieces it came in', () => {
    expect(linesOf('\n6', '4', '8.', '5\r', '\n')).toEqual(['648.5']);
  });

  it('gives the same lines wherever the bytes are cut', () => {
    console.log(`seed ${SEED}`);
    const byte = fc.oneof(
      { weight: 4, arbitrary: fc.integer({ min: 0, max: 255 }) },
      { weight: 1, arbitrary: fc.constantFrom(10, 13) },
    );
    const piece = fc.oneof(
      { weight: 8, arbitrary: fc.array(byte, { maxLength: 60 }) },
      { weight: 1, arbitrary: fc.integer({ min: 4000, max: 9000 }).map((n) => new Array<number>(n).fill(65)) },
    );
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 12 }), fc.array(fc.integer({ min: 0, max: 20_000 })), (pieces, cuts) => {
        const bytes = Uint8Array.from(pieces.flat());
        const places = [0, ...cuts.map((c) => c % (bytes.length + 1)).sort((a, b) => a - b), bytes.length];
        const chunks = places.slice(1).map((to, i) => bytes.subarray(places[i], to));
        expect(linesOf(...chunks)).toEqual(linesOf(bytes));
        expect(linesOf(...chunks).every((line) => Buffer.byteLength(line) <= 3 * MAX_LINE_BYTES)).toBe(true);
      }),
      { seed: SEED, numRuns: 500 },
    );
  });

  it('cuts an endless line at 4 kB and goes on with the next one', () => {
    const splitter = lineSplitter();
    splitter.push(Buffer.from('\n'));
    const given = Array.from({ length: 1000 }, () => splitter.push(Buffer.alloc(64, 'x'))).flat();
    expect(given).toEqual(['x'.repeat(MAX_LINE_BYTES)]);
    expect(splitter.push(Buffer.from('\n650\n'))).toEqual(['650']);
  });

  it('keeps a line whose bytes are no UTF-8', () => {
    expect(linesOf(Uint8Array.from([10, 54, 53, 48, 0xb0, 67, 10]))).toEqual(['650\uFFFDC']);
  });
});
