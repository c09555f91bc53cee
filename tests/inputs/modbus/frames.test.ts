import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { crc16 } from '../../../daemon/inputs/modbus/crc16.ts';
import {
  type Found,
  type Framing,
  type Question,
  type ReplyReader,
  rtuFraming,
  tcpFraming,
} from '../../../daemon/inputs/modbus/frames.ts';
import { exceptionPdu, rtuFrame, tcpFrame, valuesPdu } from '../../../simulators/modbus/frames.ts';

const hex = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex');
const bytesOf = (text: string): Uint8Array => Uint8Array.from(Buffer.from(text.replaceAll(' ', ''), 'hex'));
const question: Question = { unit: 17, functionCode: 3, address: 107, registerCount: 3 };
const TRANSACTION = 513;

function reading(framing: Framing, asked: Question | null = question): ReplyReader {
  const reader = framing.reader();
  reader.expect(asked, TRANSACTION);
  return reader;
}

/** @param cuts where the bytes are cut on their way */
function pushed(
  framing: Framing,
  bytes: Uint8Array,
  cuts: readonly number[] = [],
  asked: Question | null = question,
): Found[] {
  const reader = reading(framing, asked);
  const places = [...new Set(cuts.map((cut) => cut % (bytes.length + 1)))].sort((a, b) => a - b);
  return [0, ...places].flatMap((from, i) => reader.push(bytes.subarray(from, places[i] ?? bytes.length)));
}

describe('a question', () => {
  it('is put into a serial frame with its check low byte first', () => {
    // The example of the standard's own text, unit 17, registers 108 to 110; the check as published with it (from memory).
    expect(hex(rtuFraming.frame(question, 0))).toBe('1103006b00037687');
  });

  it('is put into a network frame with its number', () => {
    expect(hex(tcpFraming().frame(question, TRANSACTION))).toBe('0201000000061103006b0003');
  });

  it('has the check that the simulated slave, reckoned another way, expects', () => {
    const anyBytes = fc.uint8Array({ maxLength: 256 });
    fc.assert(
      fc.property(anyBytes, (bytes) => {
        const frame = rtuFrame(bytes[0] ?? 0, bytes.subarray(1));
        const body = Uint8Array.of(bytes[0] ?? 0, ...bytes.subarray(1));
        expect(frame.at(-2)).toBe(crc16(body) & 0xff);
        expect(frame.at(-1)).toBe(crc16(body) >>> 8);
      }),
      { seed: 3, numRuns: 2000 },
    );
  });
});

const words = fc.array(fc.nat(0xffff), { minLength: 3, maxLength: 3 });
const cuts = fc.array(fc.nat(300), { maxLength: 8 });
const framings = [
  { name: 'a serial line', framing: rtuFraming, frame: (unit: number, pdu: Uint8Array) => rtuFrame(unit, pdu) },
  {
    name: 'the network',
    framing: tcpFraming(),
    frame: (unit: number, pdu: Uint8Array) => tcpFrame(TRANSACTION, unit, pdu),
  },
];

describe.each(framings)('an answer over $name (seed 11)', ({ framing, frame }) => {
  it('is found whole, however the bytes are cut on their way', () => {
    fc.assert(
      fc.property(words, cuts, (values, at) => {
        expect(pushed(framing, frame(17, valuesPdu(3, values)), at)).toEqual([{ kind: 'words', words: values }]);
      }),
      { seed: 11, numRuns: 3000 },
    );
  });

  it('is an exception by its own function only', () => {
    expect(pushed(framing, frame(17, exceptionPdu(3, 2)))).toEqual([{ kind: 'exception', code: 2 }]);
    expect(pushed(framing, frame(17, exceptionPdu(4, 2)))).toEqual([{ kind: 'misfit', misfit: 'function' }]);
  });

  it('of another unit, function or length gives no value, and says what does not fit', () => {
    expect(pushed(framing, frame(18, valuesPdu(3, [1, 2, 3])))).toEqual([{ kind: 'misfit', misfit: 'unit' }]);
    expect(pushed(framing, frame(17, valuesPdu(4, [1, 2, 3])))).toEqual([{ kind: 'misfit', misfit: 'function' }]);
    expect(pushed(framing, frame(17, valuesPdu(3, [1, 2])))).toEqual([{ kind: 'misfit', misfit: 'byte-count' }]);
    expect(pushed(framing, frame(17, valuesPdu(3, [1, 2, 3, 4])))).toEqual([{ kind: 'misfit', misfit: 'byte-count' }]);
    expect(pushed(framing, frame(17, valuesPdu(3, [1, 2, 3])), [], null)).toEqual([
      { kind: 'misfit', misfit: 'nobody-asked' },
    ]);
  });

  it('gives no value once any one of its bytes is another', () => {
    const whole = frame(17, valuesPdu(3, [648, 0, 651]));
    // What stands in the registers has no check on the network but TCP's own.
    const from = framing === rtuFraming ? whole.length : whole.length - 6;
    for (let at = 0; at < from; at++) {
      for (let to = 0; to < 256; to++) {
        if (whole[at] === to) continue;
        const spoilt = Uint8Array.from(whole);
        spoilt[at] = to;
        expect(pushed(framing, spoilt).filter((found) => found.kind === 'words' || found.kind === 'exception')).toEqual(
          [],
        );
      }
    }
  });

  it('is never made of noise', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), cuts, (noise, at) => {
        for (const found of pushed(framing, noise, at)) expect(found.kind).toMatch(/misfit|alien/);
      }),
      { seed: 11, numRuns: 5000 },
    );
  });
});

describe('an answer over a serial line', () => {
  it('is found behind noise, and behind the question that a two-wire adapter hears of itself', () => {
    const answer = rtuFrame(17, valuesPdu(3, [1, 2, 3]));
    const right = { kind: 'words', words: [1, 2, 3] };
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 20 }), cuts, (noise, at) => {
        expect(pushed(rtuFraming, Uint8Array.of(...noise, ...answer), at).at(-1)).toEqual(right);
      }),
      { seed: 5, numRuns: 3000 },
    );
    const echo = rtuFraming.frame(question, 0);
    expect(pushed(rtuFraming, Uint8Array.of(...echo, ...answer))).toEqual([right]);
  });

  it('is found behind a whole answer to something else, and both are seen', () => {
    const late = rtuFrame(17, valuesPdu(3, [9]));
    const answer = rtuFrame(17, valuesPdu(3, [1, 2, 3]));
    expect(pushed(rtuFraming, Uint8Array.of(...late, ...answer)).map((found) => found.kind)).toEqual([
      'misfit',
      'words',
    ]);
  });

  it('with a good check and a byte count that its data do not have is none', () => {
    const body = Uint8Array.of(17, 3, 8, 0, 1, 0, 2, 0, 3);
    const crc = crc16(body);
    expect(pushed(rtuFraming, Uint8Array.of(...body, crc & 0xff, crc >>> 8))).toEqual([]);
  });
});

describe('an answer over the network', () => {
  it('with an earlier number is late, and the right one is found behind it', () => {
    const late = tcpFrame(TRANSACTION - 1, 17, valuesPdu(3, [9, 9, 9]));
    const answer = tcpFrame(TRANSACTION, 17, valuesPdu(3, [1, 2, 3]));
    expect(pushed(tcpFraming(), Uint8Array.of(...late, ...answer))).toEqual([
      { kind: 'misfit', misfit: 'number' },
      { kind: 'words', words: [1, 2, 3] },
    ]);
  });

  it('from a gateway that never repeats the number is found where that is written down', () => {
    const answer = tcpFrame(0, 17, valuesPdu(3, [1, 2, 3]));
    expect(pushed(tcpFraming(false), answer)).toEqual([{ kind: 'words', words: [1, 2, 3] }]);
  });

  it('that is no Modbus ends the reading: where the next frame begins cannot be known', () => {
    for (const alien of ['HTTP/1.1 400 Bad Request\r\n', 'SSH-2.0-OpenSSH']) {
      expect(pushed(tcpFraming(), Buffer.from(alien))).toEqual([{ kind: 'alien' }]);
    }
    expect(pushed(tcpFraming(), bytesOf('0201 0000 00ff 11 03'))).toEqual([{ kind: 'alien' }]);
  });
});
