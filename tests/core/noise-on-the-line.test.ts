/** Bad wires and sparks of the burner's lighter: some of what arrives still looks like a number. */
import { expect, test } from 'vitest';
import type { SampleEvent } from '../../daemon/core/events.ts';
import type { RawMessage } from '../../daemon/core/inputs.ts';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { lineSplitter } from '../../daemon/inputs/line-splitter.ts';
import { atS, begin, climbOfMatt, feed, kilnOf } from './feeding.ts';

const SECONDS = 6000;
const SPOILT_RATIO = 0.05;
/**
 * What a kiln may do at once (tracking/leap.ts), twice over: from the truth to a spoilt figure that is believed, and from
 * that to the next.
 */
const BELIEVED_DELTA_C = 60;

interface Heard {
  readonly message: RawMessage;
  readonly trueC: number;
}

/** One line a second; in some, never two in a row, bits are flipped, a byte is lost or comes twice. */
function noisyLines(seed: number): Heard[] {
  const random = seededRandom(seed);
  const splitter = lineSplitter();
  let wasSpoilt = false;
  splitter.push(Buffer.from('\n'));
  const below = (n: number): number => Math.floor(random.next() * n);
  const spoil = (line: Buffer): Buffer => {
    const at = below(line.length);
    const kind = below(3);
    if (kind === 0) return Buffer.concat([line.subarray(0, at), line.subarray(at + 1)]);
    if (kind === 1) return Buffer.concat([line.subarray(0, at + 1), line.subarray(at)]);
    const flipped = Buffer.from(line);
    flipped[at] = (flipped[at] ?? 0) ^ (1 << below(8));
    return flipped;
  };
  return Array.from({ length: SECONDS }, (_, s) => {
    const trueC = climbOfMatt(s);
    const line = Buffer.from(`${trueC.toFixed(1)}\n`);
    wasSpoilt = !wasSpoilt && random.next() < SPOILT_RATIO;
    const bytes = wasSpoilt ? spoil(line) : line;
    return splitter.push(bytes).map(
      (text): Heard => ({
        trueC,
        message: { kind: 'raw', atMs: atS(s), input: 'serial-1', text },
      }),
    );
  }).flat();
}

test.each([1, 2, 3, 4, 5])('a spoilt line that still looks like a number is not believed (seed %i)', (seed) => {
  const kiln = kilnOf({ decodings: { 'serial-1': { kind: 'columns', columns: ['shelf'] } } });
  const heard = noisyLines(seed);
  const trueCAt = new Map(heard.map(({ message, trueC }) => [message.atMs, trueC]));
  const { events } = feed(
    begin(null, kiln),
    heard.map(({ message }) => message),
  );
  const samples = events.filter((event): event is SampleEvent => event.type === 'reading');
  const good = samples.filter(({ quality }) => quality === 'good');
  const offBy = ({ celsius, atMs }: SampleEvent): number => Math.abs((celsius ?? 0) - (trueCAt.get(atMs) ?? 0));
  expect(good.filter((sample) => offBy(sample) > BELIEVED_DELTA_C)).toEqual([]);
  expect(samples.filter(({ quality }) => quality === 'suspect').length).toBeGreaterThan(50);
  expect(good.length).toBeGreaterThan(SECONDS * (1 - 2 * SPOILT_RATIO));
});
