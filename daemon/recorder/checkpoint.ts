/**
 * Checkpoints (R5): now and then the recorder signs how many lines a file has, the hash of all of them and that of the
 * last. On the page and in sentences for people a checkpoint is called a seal.
 */
import { isUtf8 } from 'node:buffer';
import { canonicalLine } from './canonical.ts';
import type { ChainEnd } from './hash-chain.ts';
import type { Recordable } from './recorder.ts';
import type { Handover, Signer } from './signing.ts';

/** Where a chained file stands, with the SHA-256 of all its lines, newlines included. */
export interface Stand extends ChainEnd {
  readonly prefix: string;
}

export interface Checkpoint extends Stand {
  /** The firing's id, or `ledger`. */
  readonly origin: string;
  readonly atMs: number;
  /** From 1: a checkpoint that was taken out is missed. */
  readonly number: number;
  readonly publicKey: string;
  readonly handovers: readonly Handover[];
  /** What was signed. */
  readonly text: string;
  readonly signature: string;
}

/** A checkpoint file as it was found. */
export interface CheckpointsFound {
  readonly checkpoints: readonly Checkpoint[];
  /** Length in bytes of the lines in `checkpoints`. */
  readonly wholeBytes: number;
  /** Bytes after the last newline: one that was not written to its end. */
  readonly tornBytes: number;
  /** The first line that is none, if any; `checkpoints` ends before it. */
  readonly unreadable: number | null;
}

export const NO_CHECKPOINTS: CheckpointsFound = { checkpoints: [], wholeBytes: 0, tornBytes: 0, unreadable: null };

export const LEDGER_ORIGIN = 'ledger';

export interface CheckpointParts {
  readonly origin: string;
  readonly stand: Stand;
  readonly atMs: number;
  readonly number: number;
}

/** One line of `checkpoints.jsonl`, with its newline. Line 4 of the text is what `head -n N record.jsonl | sha256sum` says. */
export function checkpointLine(of: CheckpointParts, signer: Signer): Buffer {
  const { origin, number, atMs } = of;
  const { lines, prefix, head } = of.stand;
  const time = new Date(atMs).toISOString();
  const text = `${['spyhole record v2', origin, lines, prefix, head, time, number].join('\n')}\n`;
  const line = {
    handovers: signer.handovers.map(({ from, to, t, signature }) => ({ from, to, t, signature })),
    key: signer.publicKey,
    signature: signer.sign(text),
    text,
  };
  return Buffer.from(`${canonicalLine(line)}\n`);
}

const textShape =
  /^spyhole record v2\n([0-9A-Za-z-]{1,64})\n(\d{1,15})\n([0-9a-f]{64})\n([0-9a-f]{64})\n([^\n]+)\n(\d{1,15})\n$/;

/** Reads a checkpoint file. Signatures are not checked here. */
export function readCheckpoints(bytes: Buffer): CheckpointsFound {
  const checkpoints: Checkpoint[] = [];
  let from = 0;
  for (let to = bytes.indexOf(0x0a); to >= 0; to = bytes.indexOf(0x0a, from)) {
    const raw = bytes.subarray(from, to);
    const checkpoint = isUtf8(raw) ? readCheckpoint(raw.toString('utf8')) : null;
    if (checkpoint === null) {
      return { checkpoints, wholeBytes: from, tornBytes: 0, unreadable: checkpoints.length + 1 };
    }
    checkpoints.push(checkpoint);
    from = to + 1;
  }
  return { checkpoints, wholeBytes: from, tornBytes: bytes.length - from, unreadable: null };
}

function readCheckpoint(line: string): Checkpoint | null {
  let value: Partial<{ handovers: unknown; key: unknown; signature: unknown; text: unknown }> | null;
  try {
    value = JSON.parse(line) as typeof value;
    // Any other spelling of the same was not written by the recorder.
    if (canonicalLine(value as Recordable) !== line) return null;
  } catch {
    return null;
  }
  const { handovers, key, signature, text } = value ?? {};
  if (typeof key !== 'string' || typeof signature !== 'string' || typeof text !== 'string') return null;
  const [, origin, lines, prefix, head, time, number] = textShape.exec(text) ?? [];
  const atMs = Date.parse(time ?? '');
  if (origin === undefined || prefix === undefined || head === undefined || !Number.isFinite(atMs)) return null;
  if (!Array.isArray(handovers) || !handovers.every(isHandover)) return null;
  const counts = { lines: Number(lines), number: Number(number) };
  return { origin, ...counts, prefix, head, atMs, publicKey: key, handovers, text, signature };
}

function isHandover(value: unknown): value is Handover {
  const { from, to, t, signature } = Object(value) as Partial<Handover>;
  return typeof from === 'string' && typeof to === 'string' && Number.isSafeInteger(t) && typeof signature === 'string';
}
