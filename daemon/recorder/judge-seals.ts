/** Whether a file's lines are those that were signed: its checkpoints held against its bytes, and their keys against each other. */
import { createHash } from 'node:crypto';
import { type Checkpoint, type CheckpointsFound, LEDGER_ORIGIN } from './checkpoint.ts';
import { type ChainCheck, judgeRecord, type Verdict, type Walk } from './hash-chain.ts';
import { fingerprintOf, type Handover, handoverText, signatureChecker } from './signing.ts';

export interface SealFault {
  readonly line?: number;
  readonly sentence: string;
  /** Nothing is wrong in what is there, but lines at the end are missing that were signed for. */
  readonly isCut?: true;
}

export interface SealJudgement {
  /** What is wrong, and the first line that it touches where that is known. */
  readonly fault: SealFault | null;
  /** Lines that are signed for, and by how many checkpoints. */
  readonly sealedLines: number;
  readonly seals: number;
  /** Fingerprint of the key that signed last. */
  readonly signedBy: string | null;
  /** When it was signed last. */
  readonly sealedAtMs: number | null;
  /** Whether the last checkpoint is by the known key, or by one that it named. null where no key is known. */
  readonly isByKnownKey: boolean | null;
}

/**
 * @param bytes the file itself; `walk` was made of it and found no broken link
 * @param origin the firing's id or `ledger`; null where a record of the first format does not say
 * @param knownKey a fingerprint, in small digits without spaces
 */
export function judgeSeals(
  bytes: Buffer,
  walk: Walk,
  found: CheckpointsFound,
  origin: string | null,
  knownKey?: string,
): SealJudgement {
  const isSigned = signatureChecker();
  const prefixes = prefixHasher(bytes, walk);
  let last: Checkpoint | null = null;
  const faultOf = (checkpoint: Checkpoint, number: number): SealJudgement['fault'] => {
    const sealedLines = last?.lines ?? 0;
    const { lines, text, publicKey, signature } = checkpoint;
    if (!isSigned(publicKey, text, signature)) {
      return { sentence: `Seal ${number} is not what its key signed: it was changed after it was written.` };
    }
    if (origin !== null && checkpoint.origin !== origin) {
      return { sentence: `Seal ${number} belongs to another record, ${checkpoint.origin}.` };
    }
    if (checkpoint.number !== number)
      return { sentence: `Seal ${number} is missing: seal ${checkpoint.number} stands in its place.` };
    if (lines < sealedLines)
      return { sentence: `Seal ${number} stands out of order: it counts fewer lines than the one before.` };
    if (last !== null && publicKey !== last.publicKey && !leadsTo(last.publicKey, checkpoint, isSigned)) {
      const sentence = `From line ${sealedLines + 1} on it is signed with another key, which the one before did not name.`;
      return { line: sealedLines + 1, sentence };
    }
    if (lines > walk.lines) {
      const missing =
        walk.lines + 1 === lines
          ? `Line ${lines} is missing, though it was`
          : `Lines ${walk.lines + 1} to ${lines} are missing, though they were`;
      return { line: walk.lines + 1, sentence: `${missing} signed for.`, isCut: true };
    }
    if (prefixes(lines) === checkpoint.prefix && headAt(walk, lines) === checkpoint.head) return null;
    if (lines === sealedLines)
      return { sentence: `Seal ${number} says otherwise of line ${lines} than the one before.` };
    const place =
      sealedLines + 1 === lines
        ? `Line ${lines} is not what was signed`
        : `Among lines ${sealedLines + 1} to ${lines} something is not what was signed`;
    return { line: sealedLines + 1, sentence: `${place}, and the links were made to fit.` };
  };
  let fault: SealJudgement['fault'] = null;
  for (const [index, checkpoint] of found.checkpoints.entries()) {
    fault = faultOf(checkpoint, index + 1);
    if (fault !== null) break;
    last = checkpoint;
  }
  if (fault === null && found.unreadable !== null) {
    fault = { sentence: `Seal ${found.unreadable} cannot be read: it was changed after it was written.` };
  }
  return {
    fault,
    sealedLines: last?.lines ?? 0,
    seals: last?.number ?? 0,
    signedBy: last === null ? null : fingerprintOf(last.publicKey),
    sealedAtMs: last?.atMs ?? null,
    isByKnownKey: knownKey === undefined ? null : last !== null && isKnown(knownKey, last, isSigned),
  };
}

export interface SealedCheck extends ChainCheck {
  readonly signedBy: string | null;
  readonly sealedAtMs: number | null;
  /** How many of the lines are signed for. */
  readonly sealedLines: number;
  /** Lines at the end are missing that were signed for. */
  readonly isCut?: true;
  /** The watch is writing it: that its end is not there yet is no fault. */
  readonly isGoingOn?: true;
}

/** The verdict on a record with its checkpoints; `found` is null where there is no such file. */
export function judgeSealedRecord(
  bytes: Buffer,
  walk: Walk,
  found: CheckpointsFound | null,
  knownKey?: string,
): SealedCheck {
  const check = judgeRecord(walk);
  const unsigned = { ...check, signedBy: null, sealedAtMs: null, sealedLines: 0 };
  if (check.verdict === 'BAD' || walk.lines === 0) return unsigned;
  const [first] = walk.content;
  const isOfFirstFormat = first?.version === 1;
  if (found === null || (found.checkpoints.length === 0 && found.unreadable === null)) {
    if (isOfFirstFormat) return unsigned;
    const sentence = `It carries no seals, so nobody has signed for it. ${check.sentence}`;
    return { ...unsigned, verdict: 'INCOMPLETE', sentence };
  }
  const origin = typeof first?.firing === 'string' ? first.firing : null;
  const seals = judgeSeals(bytes, walk, found, origin, knownKey);
  const { fault, sealedLines, signedBy, sealedAtMs, isByKnownKey } = seals;
  const sealed = { ...check, signedBy, sealedAtMs, sealedLines };
  if (fault !== null) return { ...sealed, verdict: faultVerdict(fault), ...fault };
  if (isByKnownKey === false) {
    const sentence = 'It is signed with a key that is not the one you know, and that yours did not name.';
    return { ...sealed, verdict: 'BAD', sentence };
  }
  if (sealedLines >= walk.lines) return sealed;
  const open =
    sealedLines + 1 === walk.lines ? `Line ${walk.lines} was` : `Lines ${sealedLines + 1} to ${walk.lines} were`;
  return { ...sealed, verdict: 'INCOMPLETE', sentence: `${check.sentence} ${open} written after the last seal.` };
}

/**
 * A copy taken while the watch runs may hold a seal that was set after the lines had been copied: its end is missing,
 * as it is where somebody cut it off. Neither is OK; who kept a seal or the ledger can tell them apart.
 */
export function faultVerdict(fault: SealFault): Verdict {
  return fault.isCut === true ? 'INCOMPLETE' : 'BAD';
}

/** The verdict on the ledger's checkpoints. */
export function judgeLedgerSeals(bytes: Buffer, walk: Walk, found: CheckpointsFound, knownKey?: string): SealJudgement {
  return judgeSeals(bytes, walk, found, LEDGER_ORIGIN, knownKey);
}

/** SHA-256 of the first lines of a file; asked for growing numbers, each byte is hashed once. */
function prefixHasher(bytes: Buffer, walk: Walk): (lines: number) => string {
  const running = createHash('sha256');
  let hashed = 0;
  return (lines) => {
    const end = lines === 0 ? 0 : (walk.ends[lines - 1] ?? hashed);
    running.update(bytes.subarray(hashed, end));
    hashed = end;
    return running.copy().digest('hex');
  };
}

function headAt(walk: Walk, lines: number): string | undefined {
  return lines === walk.lines ? walk.head : walk.content[lines]?.prev;
}

type SignatureCheck = ReturnType<typeof signatureChecker>;

/** Whether one key named the next, and so on to the checkpoint's. */
function leadsTo(key: string, checkpoint: Checkpoint, isSigned: SignatureCheck): boolean {
  let reached = key;
  for (const handover of checkpoint.handovers) {
    if (handover.from === reached && isGenuine(handover, isSigned)) reached = handover.to;
  }
  return reached === checkpoint.publicKey;
}

function isKnown(knownKey: string, checkpoint: Checkpoint, isSigned: SignatureCheck): boolean {
  if (fingerprintOf(checkpoint.publicKey) === knownKey) return true;
  const named = checkpoint.handovers.find(({ from }) => fingerprintOf(from) === knownKey);
  return named !== undefined && leadsTo(named.from, checkpoint, isSigned);
}

function isGenuine({ from, to, t, signature }: Handover, isSigned: SignatureCheck): boolean {
  return isSigned(from, handoverText(from, to, t), signature);
}
