/**
 * Modbus as bytes: questions put into frames, answers found in what comes. Pure but for what a reader still keeps.
 * Modbus Application Protocol V1.1b3; Modbus over Serial Line V1.02; Modbus Messaging on TCP/IP V1.0b (from memory).
 *
 * An answer counts only if unit, function, byte count and check all fit the one open question (requirement C2). Frames are
 * found by their length and check, never by when their bytes came (C1): a program cannot see pauses of 1.5 characters.
 */
import { crc16 } from './crc16.ts';

/** Function 3 reads holding registers, 4 input registers. Nothing is ever written. */
export type ReadFunction = 3 | 4;

export interface Question {
  readonly unit: number;
  readonly functionCode: ReadFunction;
  /** As in the frame, from 0. */
  readonly address: number;
  readonly registerCount: number;
}

/** Why a whole and sound frame is no answer to the open question. */
export type Misfit = 'unit' | 'function' | 'byte-count' | 'number' | 'nobody-asked';

export type Found =
  | { readonly kind: 'words'; readonly words: readonly number[] }
  | { readonly kind: 'exception'; readonly code: number }
  | { readonly kind: 'misfit'; readonly misfit: Misfit }
  /** On TCP: what comes is no Modbus at all, and where the next frame begins cannot be known. */
  | { readonly kind: 'alien' };

export interface ReplyReader {
  /** From now on this question is open, and what came before is forgotten; with null, none is. */
  expect(question: Question | null, transaction: number): void;
  /** What these bytes complete, in order. */
  push(bytes: Uint8Array): Found[];
  /** Bytes that belong to no frame yet. */
  readonly restCount: number;
}

export interface Framing {
  frame(question: Question, transaction: number): Uint8Array;
  reader(): ReplyReader;
  /** The frames carry a number that tells whose answer it is. */
  readonly isNumbered: boolean;
}

/** The most registers that one question may ask for (V1.1b3, 6.3). */
export const MAX_REGISTERS = 125;
const MAX_RTU_BYTES = 256;
const HEADER_BYTES = 6;
/** Unit and at most 253 bytes of function and data. */
const MAX_TCP_LENGTH = 254;

function questionBytes({ unit, functionCode, address, registerCount }: Question): number[] {
  return [unit, functionCode, address >>> 8, address & 0xff, registerCount >>> 8, registerCount & 0xff];
}

export const rtuFraming: Framing = {
  isNumbered: false,
  frame(question) {
    const body = Uint8Array.from(questionBytes(question));
    const crc = crc16(body);
    return Uint8Array.of(...body, crc & 0xff, crc >>> 8);
  },
  reader: rtuReader,
};

function rtuReader(): ReplyReader {
  let question: Question | null = null;
  const rest = new Uint8Array(MAX_RTU_BYTES);
  let length = 0;

  function take(byte: number): Found | undefined {
    if (length === MAX_RTU_BYTES) {
      rest.copyWithin(0, 1);
      length -= 1;
    }
    rest[length] = byte;
    length += 1;
    const found = endsHere();
    if (found !== undefined) length = 0;
    return found;
  }

  /** Looked for after each byte at every possible beginning: noise before a frame does it no harm. */
  function endsHere(): Found | undefined {
    let other: Found | undefined;
    for (let from = 0; from + 5 <= length; from++) {
      if (answerBytes(rest, from) !== length - from || !isSound(from)) continue;
      const found = judge(rest.subarray(from, length - 2), question);
      if (found.kind !== 'misfit') return found;
      other ??= found;
    }
    return other;
  }

  function isSound(from: number): boolean {
    const crc = crc16(rest, from, length - 2);
    return rest[length - 2] === (crc & 0xff) && rest[length - 1] === crc >>> 8;
  }

  return {
    get restCount() {
      return length;
    },
    expect(next) {
      question = next;
      if (next !== null) length = 0;
    },
    push(bytes) {
      const all: Found[] = [];
      for (const byte of bytes) {
        const found = take(byte);
        if (found !== undefined) all.push(found);
      }
      return all;
    },
  };
}

/** How long an answer would be that begins here, with its check; undefined where none begins. */
function answerBytes(bytes: Uint8Array, from: number): number | undefined {
  const code = bytes[from + 1] ?? 0;
  if (code >= 0x80) return 5;
  if (code !== 3 && code !== 4) return undefined;
  const count = bytes[from + 2] ?? 0;
  return count % 2 === 0 && count > 0 ? 5 + count : undefined;
}

/** `unit, function, …` of a sound frame, beside the open question. */
function judge(answer: Uint8Array, question: Question | null): Found {
  if (question === null) return { kind: 'misfit', misfit: 'nobody-asked' };
  const [unit, code = 0, counted = 0] = answer;
  if (unit !== question.unit) return { kind: 'misfit', misfit: 'unit' };
  if (code === (question.functionCode | 0x80) && answer.length === 3) return { kind: 'exception', code: counted };
  if (code !== question.functionCode) return { kind: 'misfit', misfit: 'function' };
  if (counted !== question.registerCount * 2 || answer.length !== 3 + counted) {
    return { kind: 'misfit', misfit: 'byte-count' };
  }
  return { kind: 'words', words: wordsOf(answer.subarray(3)) };
}

/** High byte first. */
function wordsOf(data: Uint8Array): number[] {
  return Array.from({ length: data.length / 2 }, (_, i) => ((data[2 * i] ?? 0) << 8) | (data[2 * i + 1] ?? 0));
}

/** @param isEchoed false for a gateway that does not repeat the question's number (requirement C4) */
export function tcpFraming(isEchoed = true): Framing {
  return {
    isNumbered: isEchoed,
    frame(question, transaction) {
      const body = questionBytes(question);
      return Uint8Array.of(transaction >>> 8, transaction & 0xff, 0, 0, 0, body.length, ...body);
    },
    reader: () => tcpReader(isEchoed),
  };
}

function tcpReader(isEchoed: boolean): ReplyReader {
  let question: Question | null = null;
  let transaction = 0;
  let rest = new Uint8Array(0);
  let isLost = false;

  function* frames(): Generator<Found> {
    while (rest.length >= HEADER_BYTES) {
      const [high = 0, low = 0, protocolHigh, protocolLow, lengthHigh = 0, lengthLow = 0] = rest;
      const length = (lengthHigh << 8) | lengthLow;
      if (protocolHigh !== 0 || protocolLow !== 0 || length < 3 || length > MAX_TCP_LENGTH) {
        isLost = true;
        rest = new Uint8Array(0);
        yield { kind: 'alien' };
        return;
      }
      if (rest.length < HEADER_BYTES + length) return;
      const answer = rest.slice(HEADER_BYTES, HEADER_BYTES + length);
      rest = rest.slice(HEADER_BYTES + length);
      const hasNumber = !isEchoed || ((high << 8) | low) === transaction;
      yield hasNumber || question === null ? judge(answer, question) : { kind: 'misfit', misfit: 'number' };
    }
  }

  return {
    get restCount() {
      return rest.length;
    },
    expect(next, number) {
      question = next;
      transaction = number;
    },
    push(bytes) {
      if (isLost) return [];
      rest = Uint8Array.of(...rest, ...bytes);
      return [...frames()];
    },
  };
}
