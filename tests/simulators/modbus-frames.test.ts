import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { crc16, crcBytes } from '../../simulators/modbus/crc.ts';
import {
  exceptionPdu,
  type Request,
  rtuFrame,
  rtuReader,
  tcpFrame,
  tcpReader,
  valuesPdu,
} from '../../simulators/modbus/frames.ts';

const SEED = 20_261_125;
const hex = (text: string): Uint8Array => Uint8Array.from(Buffer.from(text.replace(/ /g, ''), 'hex'));
const inWords = (requests: readonly Request[]): string[] => requests.map((r) => Buffer.from(r.frame).toString('hex'));

const readPdu = fc
  .tuple(fc.constantFrom(3, 4), fc.integer({ min: 0, max: 0xffff }), fc.integer({ min: 0, max: 0xffff }))
  .map(([code, from, count]) => Uint8Array.of(code, from >> 8, from & 0xff, count >> 8, count & 0xff));
const unit = fc.integer({ min: 0, max: 255 });
const rtuRead = fc.tuple(unit, readPdu).map(([u, pdu]) => rtuFrame(u, pdu));
const tcpRead = fc.tuple(fc.integer({ min: 0, max: 0xffff }), unit, readPdu).map(([t, u, pdu]) => tcpFrame(t, u, pdu));
const noise = fc.uint8Array({ maxLength: 20 });

/** The bytes in pieces, cut anywhere. */
function pieces(bytes: Uint8Array, cuts: readonly number[]): Uint8Array[] {
  const at = [0, ...cuts.map((cut) => cut % (bytes.length + 1)).sort((a, b) => a - b), bytes.length];
  return at.slice(1).map((end, i) => bytes.subarray(at[i], end));
}

describe('the check sum of a serial frame', () => {
  it("is the standard's own example: 02 07 is followed by 41 12", () => {
    // Modbus over Serial Line V1.02, appendix B, from memory.
    expect(crcBytes(hex('02 07'))).toEqual([0x41, 0x12]);
    expect(crc16(hex('02 07'))).toBe(0x1241);
  });

  it('is 4B37 over the nine digits by which check sums are compared', () => {
    expect(crc16(Buffer.from('123456789'))).toBe(0x4b37);
  });

  it('sees every single changed bit', () => {
    const bytes = hex('01 03 00 00 00 0A');
    for (let bit = 0; bit < bytes.length * 8; bit++) {
      const changed = Uint8Array.from(bytes);
      changed[bit >> 3] = (changed[bit >> 3] ?? 0) ^ (1 << (bit & 7));
      expect(crc16(changed)).not.toBe(crc16(bytes));
    }
  });
});

describe('frames made of replies', () => {
  it("hold the standard's own example: three registers from 107 on", () => {
    // Modbus Application Protocol V1.1b3, 6.3, from memory.
    expect(valuesPdu(3, [0x022b, 0, 0x64])).toEqual(hex('03 06 02 2B 00 00 00 64'));
    expect(exceptionPdu(1, 2)).toEqual(hex('81 02'));
  });

  it('carry unit and check on a line, transaction and length on TCP', () => {
    expect(rtuFrame(1, hex('03 00 00 00 0A'))).toEqual(hex('01 03 00 00 00 0A C5 CD'));
    expect(tcpFrame(0x1501, 0xff, hex('03 00 04 00 01'))).toEqual(hex('15 01 00 00 00 06 FF 03 00 04 00 01'));
  });
});

describe('requests on a serial line', () => {
  it('are the same however the bytes are cut on their way', () => {
    fc.assert(
      fc.property(
        fc.array(fc.oneof(rtuRead, noise), { maxLength: 6 }),
        fc.array(fc.nat(), { maxLength: 8 }),
        (parts, cuts) => {
          const bytes = Uint8Array.of(...parts.flatMap((part) => [...part]));
          const [whole, cut] = [rtuReader(), rtuReader()];
          expect(inWords(pieces(bytes, cuts).flatMap((piece) => cut.push(piece)))).toEqual(inWords(whole.push(bytes)));
        },
      ),
      { seed: SEED, numRuns: 500 },
    );
  });

  it('are found behind noise and behind half a request, without waiting for silence', () => {
    fc.assert(
      fc.property(noise, rtuRead, fc.integer({ min: 1, max: 7 }), rtuRead, (before, half, length, request) => {
        const found = rtuReader().push(Uint8Array.of(...before, ...half.subarray(0, length), ...request));
        expect(inWords(found)).toEqual(inWords([{ unit: 0, pdu: request, frame: request }]));
      }),
      { seed: SEED, numRuns: 500 },
    );
  });

  it('are never made of noise, and noise does not end the slave', () => {
    fc.assert(
      fc.property(fc.array(fc.uint8Array({ maxLength: 300 }), { maxLength: 5 }), (parts) => {
        const reader = rtuReader();
        for (const part of parts) expect(reader.push(part).length + reader.silence().length).toBe(0);
      }),
      { seed: SEED, numRuns: 1000 },
    );
  });

  it('of a function with a length that nobody knows end with the silence after them', () => {
    const strange = rtuFrame(1, hex('2B 0E 01 00'));
    const reader = rtuReader();
    expect(reader.push(strange)).toEqual([]);
    expect(inWords(reader.silence())).toEqual(['012b0e01007077']);
  });

  it('broken off by a silence are over: the second half alone is no request', () => {
    const request = hex('01 03 00 00 00 0A C5 CD');
    const reader = rtuReader();
    reader.push(request.subarray(0, 4));
    expect(reader.silence()).toEqual([]);
    expect(reader.push(request.subarray(4))).toEqual([]);
  });

  it('that write are heard by their byte count, so that they can be refused', () => {
    const write = rtuFrame(1, hex('10 00 01 00 02 04 00 0A 01 02'));
    expect(rtuReader().push(write)).toHaveLength(1);
  });
});

describe('requests on TCP', () => {
  it('are the same however the bytes are cut on their way, each with its transaction', () => {
    fc.assert(
      fc.property(fc.array(tcpRead, { maxLength: 6 }), fc.array(fc.nat(), { maxLength: 8 }), (frames, cuts) => {
        const reader = tcpReader();
        const bytes = Uint8Array.of(...frames.flatMap((frame) => [...frame]));
        const found = pieces(bytes, cuts).flatMap((piece) => reader.push(piece) ?? []);
        expect(inWords(found)).toEqual(frames.map((frame) => Buffer.from(frame).toString('hex')));
        expect(found.map((r) => r.transaction)).toEqual(frames.map((f) => (f[0] ?? 0) * 256 + (f[1] ?? 0)));
      }),
      { seed: SEED, numRuns: 500 },
    );
  });

  it('that are no Modbus are told, so that the connection can be closed', () => {
    expect(tcpReader().push(Buffer.from('GET / HTTP/1.1\r\n'))).toBeNull();
    expect(tcpReader().push(hex('00 01 00 00 00 01 01'))).toBeNull();
  });

  it('of noise never end the slave', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 600 }), (bytes) => {
        const found = tcpReader().push(bytes);
        expect(found === null || found.every((r) => r.pdu.length >= 1)).toBe(true);
      }),
      { seed: SEED, numRuns: 1000 },
    );
  });
});
