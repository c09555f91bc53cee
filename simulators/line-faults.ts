/** What a bad cable or a hurried board makes of its text lines, one fault to a name, repeatable by seed. */
import { type SeededRandom, seededRandom } from '../daemon/core/numbers/seeded-random.ts';

export interface LineFault {
  readonly sentence: string;
  /** The bytes that go out instead of this line; `endBytes` of them are the line's end. */
  distort(line: Buffer, endBytes: number, random: SeededRandom): Buffer;
}

/** By the name that the command line knows. */
export const lineFaults = {
  garbled: {
    sentence: 'Some bytes of the line arrive as other bytes.',
    distort(line, endBytes, random) {
      const garbled = Buffer.from(line);
      const changes = 1 + Math.floor(random.next() * 4);
      for (let i = 0; i < changes; i++) {
        const at = Math.floor(random.next() * Math.max(1, line.length - endBytes));
        garbled[at] = Math.floor(random.next() * 256);
      }
      return garbled;
    },
  },
  'lost-end': {
    sentence: "The line's end is lost: two lines arrive as one.",
    distort: (line, endBytes) => line.subarray(0, line.length - endBytes),
  },
  doubled: {
    sentence: 'The line is sent twice.',
    distort: (line) => Buffer.concat([line, line]),
  },
  cut: {
    sentence: 'The second half of the line is lost, its end arrives.',
    distort: (line, endBytes) => {
      const half = Math.floor((line.length - endBytes) / 2);
      return Buffer.concat([line.subarray(0, half), line.subarray(line.length - endBytes)]);
    },
  },
} as const satisfies Record<string, LineFault>;

export type LineFaultName = keyof typeof lineFaults;

/** Which lines go wrong: a fault, in what share of the lines. */
export interface LineTrouble {
  readonly fault: LineFaultName;
  /** 0 to 1. */
  readonly ratio: number;
}

/** Always two random numbers for a line, so that a rarer fault leaves the other lines as they were. */
export function distortLine(line: Buffer, endBytes: number, trouble: LineTrouble, random: SeededRandom): Buffer {
  const strikes = random.next() < trouble.ratio;
  const ownSeed = Math.floor(random.next() * 0x1_0000_0000);
  return strikes ? lineFaults[trouble.fault].distort(line, endBytes, seededRandom(ownSeed)) : line;
}
