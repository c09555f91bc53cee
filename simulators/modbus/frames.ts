/**
 * Modbus frames as bytes: requests found in what comes over a line or a connection, replies put into frames. Pure.
 * Modbus Application Protocol V1.1b3; Modbus over Serial Line V1.02; Modbus Messaging on TCP/IP V1.0b.
 */
import { crcBytes } from './crc.ts';

/** A request or a reply without unit number, check sum or header: function code and data. */
export type Pdu = Uint8Array;

export interface Request {
  readonly unit: number;
  readonly pdu: Pdu;
  /** As it came, whole. */
  readonly frame: Uint8Array;
  /** On TCP only: what the reply must repeat. */
  readonly transaction?: number;
}

/** A serial frame is at most 256 bytes long. */
const MAX_RTU_BYTES = 256;
/** Unit, function code, check sum. */
const MIN_RTU_BYTES = 4;
const HEADER_BYTES = 7;
/** The header's length field counts unit and PDU; a PDU has at most 253 bytes. */
const MAX_TCP_LENGTH = 254;

export function rtuFrame(unit: number, pdu: Pdu): Uint8Array {
  const body = Uint8Array.of(unit, ...pdu);
  return Uint8Array.of(...body, ...crcBytes(body));
}

export function tcpFrame(transaction: number, unit: number, pdu: Pdu): Uint8Array {
  const length = pdu.length + 1;
  return Uint8Array.of(transaction >>> 8, transaction & 0xff, 0, 0, length >>> 8, length & 0xff, unit, ...pdu);
}

/** `function, byte count, values`, high byte first. */
export function valuesPdu(functionCode: number, words: readonly number[]): Pdu {
  return Uint8Array.of(functionCode, words.length * 2, ...words.flatMap((word) => [(word >>> 8) & 0xff, word & 0xff]));
}

export function exceptionPdu(functionCode: number, code: number): Pdu {
  return Uint8Array.of((functionCode | 0x80) & 0xff, code);
}

export interface RtuReader {
  /** The requests that these bytes complete. */
  push(bytes: Uint8Array): Request[];
  /**
   * The line has been silent for longer than between two bytes of a frame. What is left is dropped; it is a request
   * where its check sum says so: of a function whose length we don't know.
   */
  silence(): Request[];
}

/**
 * Finds requests by length and check sum at any place in the stream, so noise before one and half ones do no harm.
 * Looks after each byte whether a frame ends just there: how the bytes were cut on their way changes nothing.
 */
export function rtuReader(): RtuReader {
  let waiting: number[] = [];
  const take = (from: number): Request => {
    const frame = Uint8Array.from(waiting.slice(from));
    waiting = [];
    return { unit: frame[0] ?? 0, pdu: frame.subarray(1, -2), frame };
  };
  function endsHere(): Request | undefined {
    for (let from = 0; from + MIN_RTU_BYTES <= waiting.length; from++) {
      if (requestBytes(waiting, from) === waiting.length - from && isSound(waiting, from)) return take(from);
    }
    return undefined;
  }
  return {
    push(bytes) {
      const requests: Request[] = [];
      for (const byte of bytes) {
        waiting.push(byte);
        if (waiting.length > MAX_RTU_BYTES) waiting.shift();
        const request = endsHere();
        if (request !== undefined) requests.push(request);
      }
      return requests;
    },
    silence() {
      const whole = waiting.length >= MIN_RTU_BYTES && isSound(waiting, 0);
      if (whole) return [take(0)];
      waiting = [];
      return [];
    },
  };
}

/** Bytes of the request that would begin here, its check sum included; undefined where its function has no known length. */
function requestBytes(bytes: readonly number[], from: number): number | undefined {
  const counted = (at: number): number | undefined => bytes[from + at];
  switch (bytes[from + 1]) {
    case 1:
    case 2:
    case 3:
    case 4:
    case 5:
    case 6:
    case 8:
      return 8;
    case 7:
    case 11:
    case 12:
    case 17:
      return 4;
    case 15:
    case 16:
      return 9 + (counted(6) ?? MAX_RTU_BYTES);
    case 22:
      return 10;
    case 23:
      return 13 + (counted(10) ?? MAX_RTU_BYTES);
    default:
      return undefined;
  }
}

function isSound(bytes: readonly number[], from: number): boolean {
  const [low, high] = crcBytes(Uint8Array.from(bytes.slice(from, -2)));
  return bytes.at(-2) === low && bytes.at(-1) === high;
}

export interface TcpReader {
  /** The requests that these bytes complete; null where they are no Modbus: the connection can only be closed. */
  push(bytes: Uint8Array): Request[] | null;
}

export function tcpReader(): TcpReader {
  let waiting = new Uint8Array(0);
  return {
    push(bytes) {
      waiting = Uint8Array.of(...waiting, ...bytes);
      const requests: Request[] = [];
      while (waiting.length >= HEADER_BYTES) {
        const [high = 0, low = 0, protocolHigh, protocolLow, lengthHigh = 0, lengthLow = 0, unit = 0] = waiting;
        const length = lengthHigh * 256 + lengthLow;
        if (protocolHigh !== 0 || protocolLow !== 0 || length < 2 || length > MAX_TCP_LENGTH) return null;
        const wholeBytes = HEADER_BYTES - 1 + length;
        if (waiting.length < wholeBytes) break;
        const frame = waiting.slice(0, wholeBytes);
        requests.push({ unit, pdu: frame.subarray(HEADER_BYTES), frame, transaction: high * 256 + low });
        waiting = waiting.slice(wholeBytes);
      }
      return requests;
    },
  };
}
