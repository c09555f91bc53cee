/**
 * The chain of a record (requirements R3, R4): each line is canonical JSON with its number `n` and, in `prev`, the
 * SHA-256 of the bytes of the line before it without their newline. Checking hashes the bytes as written.
 */
import { isUtf8 } from 'node:buffer';
import { hash } from 'node:crypto';
import { RecordError } from '../errors.ts';
import { canonicalLine } from './canonical.ts';
import type { Entry, Line, Recordable } from './recorder.ts';

/** What the first line names as the line before it. */
export const noLine = '0'.repeat(64);

const newline = 0x0a;

/** Where a chain stands: the number of its last line, and the hash of that line's bytes. */
export interface ChainEnd {
  readonly lines: number;
  readonly head: string;
}

export interface Link extends ChainEnd {
  /** The lines as bytes, each with its newline. */
  readonly bytes: Buffer;
}

/** A file taken line by line, as far as its chain is whole. */
export interface Walk extends ChainEnd {
  readonly content: readonly Line[];
  /** Where each line ends in bytes, its newline included. */
  readonly ends: readonly number[];
  /** Length in bytes of the whole lines. */
  readonly wholeBytes: number;
  /** Bytes after the last newline: a line that was not written to its end. */
  readonly tornBytes: number;
  /** The first thing that is wrong, if any; `content` ends before it. */
  readonly broken: { readonly line: number; readonly sentence: string } | null;
}

/** OK = whole and closed; INCOMPLETE = nothing wrong in what is there, but the end is missing; BAD = altered. */
export type Verdict = 'OK' | 'INCOMPLETE' | 'BAD';

export interface ChainCheck extends ChainEnd {
  readonly verdict: Verdict;
  /** The line that was altered, where the verdict is BAD. */
  readonly line?: number;
  readonly sentence: string;
}

/** What may stand behind the closing line: words about the firing, which change nothing that was recorded. */
const AFTERWORDS: ReadonlySet<string> = new Set(['note', 'correction', 'sign-off', 'recovered']);

/** SHA-256 as 64 hexadecimal digits. */
export function sha256(bytes: Uint8Array): string {
  return hash('sha256', bytes, 'hex');
}

/**
 * Writes entries as the lines that follow `end`.
 *
 * @throws RecordError `not-recordable` for an entry that cannot be written, see `canonicalLine`
 */
export function linkLines(entries: readonly Entry[], end: ChainEnd): Link {
  let { lines, head } = end;
  const parts: Buffer[] = [];
  for (const entry of entries) {
    if ('n' in entry || 'prev' in entry) {
      throw new RecordError(
        'not-recordable',
        '$: the fields "n" and "prev" of a line are given by the recorder alone.',
      );
    }
    lines += 1;
    const bytes = Buffer.from(`${canonicalLine({ ...entry, n: lines, prev: head })}\n`);
    head = sha256(bytes.subarray(0, -1));
    parts.push(bytes);
  }
  return { bytes: Buffer.concat(parts), lines, head };
}

/** Reads the lines of a record or a ledger and stops at the first that does not fit. */
export function walkChain(bytes: Uint8Array): Walk {
  const buffer = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const content: Line[] = [];
  const ends: number[] = [];
  let head = noLine;
  let from = 0;
  for (let to = buffer.indexOf(newline); to >= 0; to = buffer.indexOf(newline, from)) {
    const raw = buffer.subarray(from, to);
    const number = content.length + 1;
    const line = readLine(raw, number);
    if (typeof line === 'string') return stop({ line: number, sentence: line });
    const misfit = whyNotNext(line, number, head, () => followerFits(buffer, to + 1, sha256(raw)));
    if (misfit) return stop(misfit);
    content.push(line);
    head = sha256(raw);
    from = to + 1;
    ends.push(from);
  }
  return stop(null);

  function stop(broken: Walk['broken']): Walk {
    const tornBytes = buffer.length - 1 - buffer.lastIndexOf(newline);
    return { content, ends, lines: content.length, head, wholeBytes: from, tornBytes, broken };
  }
}

/** Says of a record's bytes whether they are what the recorder wrote, and where not. */
export function checkChain(bytes: Uint8Array): ChainCheck {
  return judgeRecord(walkChain(bytes));
}

/** The verdict on a record that has been read already. */
export function judgeRecord(walk: Walk): ChainCheck {
  const end = { lines: walk.lines, head: walk.head };
  if (walk.broken) return { verdict: 'BAD', ...walk.broken, ...end };
  const closeIndex = walk.content.findIndex((line) => line.type === 'close');
  const strange =
    closeIndex < 0 ? -1 : walk.content.findIndex((line, i) => i > closeIndex && !AFTERWORDS.has(line.type));
  if (strange >= 0) {
    const line = strange + 1;
    return { verdict: 'BAD', line, sentence: `Line ${line} was added after the firing had been closed.`, ...end };
  }
  const incomplete = (sentence: string): ChainCheck => ({ verdict: 'INCOMPLETE', sentence, ...end });
  if (walk.tornBytes > 0) {
    const bytes = walk.tornBytes === 1 ? '1 byte' : `${walk.tornBytes} bytes`;
    return incomplete(`Line ${walk.lines + 1} is torn off after ${bytes}; ${whole(walk.lines)}.`);
  }
  if (walk.lines === 0) return incomplete('The record is empty.');
  if (closeIndex < 0) {
    return incomplete(
      `The closing line is missing: the firing is not over, or the end was lost; ${whole(walk.lines)}.`,
    );
  }
  const last = closeIndex === walk.lines - 1 ? 'the closing line' : 'the words added after the close';
  return { verdict: 'OK', sentence: `${whole(walk.lines)}, from the opening to ${last}.`, ...end };
}

function whole(lines: number): string {
  if (lines === 0) return 'there is no whole line before it';
  return lines === 1 ? 'line 1 stands as it was written' : `lines 1 to ${lines} stand as they were written`;
}

/** The line as data, or why it cannot be one that the recorder wrote. */
function readLine(raw: Buffer, number: number): Line | string {
  const changed = 'it was changed or damaged after it was written';
  if (!isUtf8(raw)) return `Line ${number} holds bytes that are no text: ${changed}.`;
  const text = raw.toString('utf8');
  let value: Recordable;
  let canonical: string;
  try {
    value = JSON.parse(text) as Recordable;
    canonical = canonicalLine(value);
  } catch {
    // The recorder only writes lines that pass both, so the reason is the same whatever the fault of the text.
    return `Line ${number} cannot be read: ${changed}.`;
  }
  if (canonical !== text) return `Line ${number} is not written the way the recorder writes: ${changed}.`;
  return isLine(value) ? value : `Line ${number} lacks a part that each line has (n, prev, t, type): ${changed}.`;
}

function isLine(value: Recordable): value is Line {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) return false;
  const { n, prev, t, type } = value as Partial<Line>;
  return Number.isSafeInteger(n) && typeof prev === 'string' && Number.isSafeInteger(t) && typeof type === 'string';
}

/**
 * Why a readable line cannot stand at this place. If the link is broken, the line after it tells which of the two
 * was changed: where that one still fits, the line itself is as it was, so the line before it is the altered one.
 */
function whyNotNext(line: Line, number: number, head: string, isFollowed: () => boolean | null): Walk['broken'] {
  if (line.n > number)
    return { line: number, sentence: `Line ${number} is missing: line ${line.n} stands in its place.` };
  if (line.n < number) {
    return { line: number, sentence: `Line ${number} is missing or displaced: line ${line.n} stands in its place.` };
  }
  if (line.prev === head) return null;
  if (number === 1) return { line: 1, sentence: 'Line 1 names a line before it: it was changed after it was written.' };
  const fits = isFollowed();
  if (fits === false) return { line: number, sentence: `Line ${number} was changed after it was written.` };
  if (fits) return { line: number - 1, sentence: `Line ${number - 1} was changed after it was written.` };
  return {
    line: number - 1,
    sentence: `Line ${number - 1} was changed after it was written: it does not fit the last line, ${number}.`,
  };
}

/** Whether the line that begins at `from` names `head` as the line before it; null where there is no such line. */
function followerFits(buffer: Buffer, from: number, head: string): boolean | null {
  const to = buffer.indexOf(newline, from);
  if (to < 0) return null;
  const line = readLine(buffer.subarray(from, to), 0);
  return typeof line === 'string' ? null : line.prev === head;
}
