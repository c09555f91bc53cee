/** The verdict on one record, or on the ledger: chain, seals, what is noted of it elsewhere, and whether it can be lived again. */
import { readFile } from 'node:fs/promises';
import { dirname } from 'node:path';
import { type CheckpointsFound, NO_CHECKPOINTS, readCheckpoints } from '../recorder/checkpoint.ts';
import { errorCode, realDisk } from '../recorder/disk.ts';
import { type ChainCheck, type Walk, walkChain } from '../recorder/hash-chain.ts';
import { faultVerdict, judgeLedgerSeals, judgeSealedRecord, type SealedCheck } from '../recorder/judge-seals.ts';
import { groupedFingerprint } from '../recorder/key-ring.ts';
import {
  type LedgerEntry,
  ledgerEntries,
  type PutBack,
  putBacks,
  type StampNoted,
  sealsPath,
  stampsNoted,
} from '../recorder/ledger.ts';
import { photoBytes, photoPath } from '../recorder/photo-files.ts';
import type { Line } from '../recorder/recorder.ts';
import { findStamps, type StampFound } from '../recorder/stamp-files.ts';
import { photoOf } from './afterwords.ts';
import { type LivedAgain, liveAgain } from './lived-again.ts';

/** A record as it was found. */
export interface RecordFound {
  readonly bytes: Buffer;
  readonly walk: Walk;
  readonly seals: CheckpointsFound | null;
  /** The firing closed before this one, and its last head, as the first line names them. */
  readonly follows: { readonly firing: string; readonly head: string } | null;
  readonly photos: readonly PhotoFound[];
  readonly stamps: readonly StampFound[];
}

/** A photograph that a line names, as the file of that name was found. */
export interface PhotoFound {
  readonly line: number;
  readonly path: string;
  readonly is: 'sound' | 'changed' | 'missing';
}

/** A ledger as it was found. */
export interface LedgerFound {
  readonly bytes: Buffer;
  readonly walk: Walk;
  readonly seals: CheckpointsFound;
  readonly entries: readonly LedgerEntry[];
}

export interface Examination extends SealedCheck {
  readonly livedAgain: LivedAgain | null;
}

export interface Held {
  /** Fingerprint of the key that whoever asks knows, in small digits without spaces. */
  readonly knownKey?: string | undefined;
  /** The ledger beside the record, where it stands in a data folder. */
  readonly ledger?: LedgerFound | null;
  /** The head of this record that the next firing's first line names. */
  readonly followedBy?: string | undefined;
  /** Whether the watch is writing it now. */
  readonly isOn?: boolean;
  /** False spares living it again, which takes seconds of a long firing. */
  readonly isLivedAgain?: boolean;
}

/** Reads a record and its seals. A record that is not there counts as empty. Rejects with the system's own error. */
export async function readRecordFound(path: string): Promise<RecordFound> {
  // The seals first: the lines that they count were there before them, also while the record grows.
  const seals = await readIfThere(sealsBeside(path));
  const bytes = (await readIfThere(path)) ?? Buffer.alloc(0);
  const walk = walkChain(bytes);
  const checkpoints = seals === null ? null : readCheckpoints(seals);
  return {
    bytes,
    walk,
    seals: checkpoints,
    follows: followsOf(walk.content[0]),
    photos: await findPhotos(dirname(path), walk.content),
    stamps: await findStamps(realDisk, dirname(path), checkpoints ?? NO_CHECKPOINTS),
  };
}

async function findPhotos(folder: string, lines: readonly Line[]): Promise<readonly PhotoFound[]> {
  const found: PhotoFound[] = [];
  for (const line of lines) {
    const photo = photoOf(line);
    if (photo === null) continue;
    const bytes = await photoBytes(realDisk, folder, photo);
    const is = bytes === null ? 'missing' : bytes === 'changed' ? 'changed' : 'sound';
    found.push({ line: line.n, path: photoPath(photo), is });
  }
  return found;
}

/** `record.jsonl` has `checkpoints.jsonl` beside it; a record of another name, its own name with that end. */
function sealsBeside(path: string): string {
  if (path.endsWith('/record.jsonl')) return path.replace(/record\.jsonl$/, 'checkpoints.jsonl');
  return `${path.replace(/\.jsonl$/, '')}.checkpoints.jsonl`;
}

/** null where there is none. Rejects with the system's own error. */
export async function readLedgerFound(dataDir: string): Promise<LedgerFound | null> {
  // As of a record: the seals first.
  const seals = readCheckpoints((await readIfThere(sealsPath(dataDir))) ?? Buffer.alloc(0));
  const bytes = await readIfThere(`${dataDir}/ledger.jsonl`);
  if (bytes === null) return null;
  const walk = walkChain(bytes);
  return { bytes, walk, seals, entries: ledgerEntries(walk.content) };
}

/** Everything that can be said of one record. `name` is the firing's id where the record stands in a data folder. */
export function examine(name: string, found: RecordFound, held: Held): Examination {
  const sealed = judgeSealedRecord(found.bytes, found.walk, found.seals, held.knownKey);
  const onGoing = held.isOn === true ? sayThatItIsOn(found.walk, sealed) : sealed;
  const noted = held.ledger ? compareNoted(name, found, onGoing, held.ledger, held.followedBy) : onGoing;
  const pictured = judgePhotos(found.photos, vouch(name, found, noted, held));
  const vouched = judgeStamps(found.stamps, stampsOf(name, held.ledger), pictured);
  if (vouched.verdict === 'BAD' || found.walk.lines === 0 || held.isLivedAgain === false)
    return { ...vouched, livedAgain: null };
  return judgeLife(vouched, liveAgain(found.walk.content));
}

/** A seal is set each ten minutes; a record that is older and has none has lost them. */
const FIRST_SEAL_MS = 660_000;

/**
 * That the end of a firing that is still on is not there yet is as it should be. What was sealed and is gone, or was
 * altered, keeps its own words.
 */
function sayThatItIsOn({ lines, content }: Walk, check: SealedCheck): SealedCheck {
  const isOpen = lines > 0 && !content.some((line) => line.type === 'close');
  if (check.verdict !== 'INCOMPLETE' || !isOpen || check.isCut === true) return check;
  const { sealedLines } = check;
  if (sealedLines === 0 && (content[lines - 1]?.t ?? 0) - (content[0]?.t ?? 0) > FIRST_SEAL_MS) return check;
  const whole = lines === 1 ? 'line 1 stands as it was written' : `lines 1 to ${lines} stand as they were written`;
  const sealed =
    sealedLines === 0
      ? 'its first seal is set within ten minutes'
      : sealedLines === lines
        ? 'all of them are signed'
        : `signed up to line ${sealedLines}, the rest within ten minutes`;
  const sentence = `So far OK: the firing is on and its record is being written; ${whole}, ${sealed}.`;
  return { ...check, sentence, isGoingOn: true };
}

/** A record of the first format carries no seals; where a key is known, only a signed ledger can vouch for it. */
function vouch(name: string, found: RecordFound, check: SealedCheck, held: Held): SealedCheck {
  if (check.verdict !== 'OK' || check.signedBy !== null) return check;
  const { knownKey, ledger } = held;
  if (knownKey === undefined) {
    return {
      ...check,
      sentence: `${check.sentence} It was written before records were signed: it fits itself${ledger ? ' and the ledger' : ''}.`,
    };
  }
  const line = ledger?.walk.content.findLast((one) => one.firing === name && isWordOfEnd(one.type));
  const seals = ledger ? judgeLedgerSeals(ledger.bytes, ledger.walk, ledger.seals, knownKey) : null;
  const isSigned =
    seals !== null &&
    seals.fault === null &&
    seals.isByKnownKey === true &&
    line !== undefined &&
    line.n <= seals.sealedLines;
  if (isSigned && line.head === found.walk.head) {
    return {
      ...check,
      sentence: `${check.sentence} It was written before records were signed; the ledger, signed with the key you know, names its last line.`,
    };
  }
  return {
    ...check,
    verdict: 'INCOMPLETE',
    sentence: `${check.sentence} It is not signed, so the key you know says nothing of it.`,
  };
}

function isWordOfEnd(type: string): boolean {
  return type === 'closed' || type === 'amended';
}

/** The power may go, or a copy be taken, between a photograph and its line; but nothing lays other bytes in its place. */
function judgePhotos(photos: readonly PhotoFound[], check: SealedCheck): SealedCheck {
  if (check.verdict === 'BAD' || photos.length === 0) return check;
  const changed = photos.find(({ is }) => is === 'changed');
  if (changed !== undefined) {
    const { line, path } = changed;
    return {
      ...check,
      verdict: 'BAD',
      line,
      sentence: `The photograph of line ${line} was changed: ${path} is another.`,
    };
  }
  const missing = photos.filter(({ is }) => is === 'missing');
  const [first] = missing;
  if (first !== undefined) {
    const others = missing.length > 1 ? `, and ${missing.length - 1} more` : '';
    const sentence = `${check.sentence} The photograph of line ${first.line} is missing: ${first.path}${others}.`;
    return { ...check, verdict: 'INCOMPLETE', sentence };
  }
  const count = photos.length === 1 ? 'Its photograph is the one' : `Its ${photos.length} photographs are those`;
  return { ...check, sentence: `${check.sentence} ${count} that the record names.` };
}

function stampsOf(name: string, ledger: LedgerFound | null | undefined): readonly StampNoted[] {
  return stampsNoted(ledger?.walk.content ?? []).filter(({ firing }) => firing === name);
}

/** As with photographs: what the ledger names may be missing from a copy, but nothing lays other bytes in its place. */
function judgeStamps(stamps: readonly StampFound[], noted: readonly StampNoted[], check: SealedCheck): SealedCheck {
  if (check.verdict === 'BAD') return check;
  for (const { path, seal, says, sha256, isOfMissingSeal } of stamps) {
    if (isOfMissingSeal) continue;
    // The last line about a seal counts: a power cut between file and line has it asked for again.
    const named = noted.findLast((one) => one.seal === seal);
    if (says !== null && (named === undefined || named.sha256 === sha256)) continue;
    const sentence = `The time authority's stamp of seal ${seal} was changed: ${path} is not what it gave.`;
    return { ...check, verdict: 'BAD', sentence };
  }
  const early = stamps.find(({ isOfMissingSeal }) => isOfMissingSeal);
  if (early !== undefined) {
    const sentence = `A time authority has stamped seal ${early.seal}, which is missing: so is the end of the record. ${check.sentence}`;
    return { ...check, verdict: 'INCOMPLETE', sentence };
  }
  const missing = noted.find(({ seal }) => !stamps.some((one) => one.seal === seal));
  if (missing !== undefined) {
    const sentence = `${check.sentence} The time authority's stamp of seal ${missing.seal} is missing, though line ${missing.n} of the ledger names it.`;
    return { ...check, verdict: 'INCOMPLETE', sentence };
  }
  return check;
}

/** What the last stamp says; empty where there is none. */
export function stampSentence({ stamps }: RecordFound): string {
  const last = stamps.at(-1);
  if (last?.says == null) return '';
  return `${last.says.authority} stamped seal ${last.seal} at ${utcMinute(last.says.atMs)}.`;
}

function judgeLife(check: SealedCheck, livedAgain: LivedAgain | null): Examination {
  if (livedAgain === null) return { ...check, livedAgain };
  const { alerts, isSame, isBySameCode, differsAtLine } = livedAgain;
  const count = alerts === 1 ? '1 alert' : `${alerts} alerts`;
  if (isSame) return { ...check, sentence: `${check.sentence} Lived again, it gives the same ${count}.`, livedAgain };
  if (!isBySameCode) {
    const sentence = `${check.sentence} It was written by another version of the program than this one, which would not have told the same ${count}.`;
    return { ...check, sentence, livedAgain };
  }
  const line = differsAtLine ?? undefined;
  const sentence = `Its lines stand as they were written, but lived again by the same program they give other alerts, first at line ${line}: the program did not say what stands there.`;
  return { ...check, verdict: 'BAD', ...(line !== undefined && { line }), sentence, livedAgain };
}

/** What the ledger and the next firing's first line add to a record's own verdict. */
function compareNoted(
  name: string,
  found: RecordFound,
  check: SealedCheck,
  ledger: LedgerFound,
  followedBy: string | undefined,
): SealedCheck {
  if (check.verdict === 'BAD') return check;
  const { walk } = found;
  const entries = ledger.entries.filter((entry) => entry.firing === name);
  const opened = entries.find((entry) => entry.type === 'opened')?.head;
  const closed = entries.find((entry) => entry.type === 'closed')?.head ?? followedBy;
  const last = entries.findLast((entry) => entry.type !== 'opened')?.head;
  const bad = (sentence: string, line?: number): SealedCheck => ({
    ...check,
    verdict: 'BAD',
    sentence,
    ...(line !== undefined && { line }),
  });
  const isNoted = opened !== undefined || closed !== undefined;
  if (walk.lines === 0)
    return isNoted ? bad('Its record is missing or empty, though the ledger names the firing.') : check;
  if (opened !== undefined && opened !== headAt(walk, 1)) {
    return bad('Line 1 was changed after it was written: the ledger holds another seal of it.', 1);
  }
  const own = walk.content[0]?.firing;
  if (typeof own === 'string' && own !== name) return bad(`It is the record of another firing, ${own}.`, 1);
  const closeLine = walk.content.findIndex((line) => line.type === 'close') + 1;
  if (closed !== undefined && closeLine === 0) {
    return {
      ...check,
      verdict: 'INCOMPLETE',
      sentence: `The firing was closed once, so lines at its end are lost. ${check.sentence}`,
    };
  }
  const leftBy = putBacks(ledger.walk.content).find(({ leftOpen }) => leftOpen.includes(name));
  if (leftBy !== undefined && closeLine === 0 && check.verdict === 'INCOMPLETE') {
    const sentence = `Its end is not here: line ${leftBy.n} of the ledger says that the records were put back from an older copy. ${check.sentence}`;
    return { ...check, sentence };
  }
  const heads = walk.content.map((_, i) => headAt(walk, i + 1)).slice(Math.max(closeLine - 1, 0));
  const isElsewhere = (head: string | undefined): boolean => head !== undefined && !heads.includes(head);
  if (isElsewhere(closed)) {
    return bad(
      `Line ${closeLine}, the closing one, was changed after the firing was closed: another seal of it is noted.`,
      closeLine,
    );
  }
  if (isElsewhere(last) || isElsewhere(followedBy)) {
    return bad(
      'Words that were added after the close are missing or were changed: the ledger holds their seal.',
      walk.lines,
    );
  }
  if (check.verdict !== 'OK' || ledger.walk.broken) return check;
  if (!isNoted) return bad('The ledger does not name this firing, though it is over.');
  if (entries.some((entry) => entry.type === 'closed') && last === walk.head) return check;
  // Between a line of the record and the ledger's the power may go; a closed firing that was never opened is no such case.
  const what = entries.some((entry) => entry.type === 'closed')
    ? 'Words were added after the close'
    : 'The firing is closed';
  const sentence = `${what}, but the ledger does not say so yet: the watch adds that when it starts.`;
  return { ...check, verdict: 'INCOMPLETE', sentence };
}

function headAt(walk: Walk, line: number): string | undefined {
  return line === walk.lines ? walk.head : walk.content[line]?.prev;
}

/** The verdict on the ledger. `mustBeSigned`: there are firings in it that were signed. */
export function judgeLedger(ledger: LedgerFound | null, mustBeSigned: boolean, knownKey?: string): ChainCheck {
  const none = { lines: 0, head: '' };
  if (!ledger) {
    return {
      verdict: 'BAD',
      sentence: 'The ledger is missing: ledger.jsonl, which names every firing, is not there.',
      ...none,
    };
  }
  const { walk, bytes, seals } = ledger;
  const end = { lines: walk.lines, head: walk.head };
  if (walk.broken) return { verdict: 'BAD', ...walk.broken, ...end };
  const judged = judgeLedgerSeals(bytes, walk, seals, knownKey);
  if (judged.fault !== null) return { verdict: faultVerdict(judged.fault), ...judged.fault, ...end };
  if (walk.tornBytes > 0) {
    return {
      verdict: 'INCOMPLETE',
      sentence: `Line ${walk.lines + 1} is torn off after ${walk.tornBytes} bytes.`,
      ...end,
    };
  }
  const restart = walk.content.find((line) => line.type === 'restarted');
  if (restart) {
    const sentence = `It was begun anew because the one before, kept as ${restart.aside}, had been altered or cut.`;
    return { verdict: 'BAD', line: 1, sentence, ...end };
  }
  const wanted = putBacks(walk.content);
  const rollback = walk.content.findLast((line) => line.type === 'rolled-back');
  if (rollback && !wanted.some(({ n }) => n > rollback.n)) {
    const sentence = `Line ${rollback.n} says that the records were put back from an older copy; what was recorded between is missing. If it was wanted, say so with spyhole put-back.`;
    return { verdict: 'INCOMPLETE', sentence, ...end };
  }
  const stands = ['Its lines stand as they were written.', ...wanted.map(putBackWords)].join(' ');
  if (judged.sealedLines === 0 && !mustBeSigned) {
    if (knownKey === undefined) return { verdict: 'OK', sentence: stands, ...end };
    return {
      verdict: 'INCOMPLETE',
      sentence: `${stands} It is not signed, so the key you know says nothing of it.`,
      ...end,
    };
  }
  if (judged.isByKnownKey === false) {
    const sentence = 'It is signed with a key that is not the one you know, and that yours did not name.';
    return { verdict: 'BAD', sentence, ...end };
  }
  if (judged.sealedLines < walk.lines) {
    const sentence = `${stands} Lines ${judged.sealedLines + 1} to ${walk.lines} await their seal: the watch adds it when it starts.`;
    return { verdict: 'INCOMPLETE', sentence, ...end };
  }
  return { verdict: 'OK', sentence: stands, ...end };
}

function putBackWords({ n, t, by, why }: PutBack): string {
  return `Line ${n}: ${by} put the records back from an older copy on purpose, ${utcMinute(t)}: “${why}”; what was recorded between is not here.`;
}

function utcMinute(atMs: number): string {
  return `${new Date(atMs).toISOString().slice(0, 16).replace('T', ' ')} UTC`;
}

/** Who signed, and what that proves to whoever asks. Empty where nobody did. */
export function signatureSentence(
  check: Pick<SealedCheck, 'signedBy' | 'sealedAtMs'>,
  knownKey: string | undefined,
): string {
  if (check.signedBy === null || check.sealedAtMs === null) return '';
  const when = utcMinute(check.sealedAtMs);
  const key = groupedFingerprint(check.signedBy);
  if (knownKey !== undefined) return `Signed ${when} with the key you know, or one that it named: ${key}.`;
  return `Signed ${when} with key ${key}: if this is the key you know, nobody has changed it since.`;
}

function followsOf(first: Line | undefined): RecordFound['follows'] {
  const follows = first?.follows;
  if (!follows || typeof follows !== 'object' || !('firing' in follows)) return null;
  return { firing: String(follows.firing), head: String(follows.head) };
}

async function readIfThere(path: string): Promise<Buffer | null> {
  try {
    return await readFile(path);
  } catch (error) {
    if (errorCode(error) === 'ENOENT') return null;
    throw error;
  }
}
