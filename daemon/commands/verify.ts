/** `spyhole verify`: whether a record, or all records and the ledger, stand as the recorder wrote and signed them. */
import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, resolve } from 'node:path';
import { isBeingWritten } from '../recorder/data-lock.ts';
import { errorCode } from '../recorder/disk.ts';
import { firingsFolder } from '../recorder/file-recorder.ts';
import { isFiringId } from '../recorder/firing-id.ts';
import type { ChainCheck, Verdict, Walk } from '../recorder/hash-chain.ts';
import { putBacks } from '../recorder/ledger.ts';
import { FINGERPRINT_DIGITS } from '../recorder/signing.ts';
import {
  type Examination,
  examine,
  judgeLedger,
  type LedgerFound,
  type RecordFound,
  readLedgerFound,
  readRecordFound,
  signatureSentence,
  stampSentence,
} from '../runtime/examine.ts';

/** 0 well; 1 something was altered; 2 there is nothing to examine; 3 the end of a record is missing, or not written yet. */
export type VerifyCode = 0 | 1 | 2 | 3;

export interface VerifyOptions {
  /** The fingerprint that whoever asks knows from elsewhere, spaces and colons allowed. */
  readonly key?: string | undefined;
  /** A seal that whoever asks has kept: the hash of a line, as a report, the page Proof or an earlier check shows it. */
  readonly seal?: string | undefined;
}

type Print = (line: string) => void;

/**
 * Examines one record, or with `--all` each record of the data folder and the ledger.
 *
 * @param target a firing's folder, a record file, an id in the data folder, or `--all`
 * @param print takes one line for each thing examined
 * @param complain takes the sentence where the target is nothing that can be examined (code 2)
 */
export async function verify(
  target: string,
  dataDir: string,
  print: Print,
  complain: Print = print,
  options: VerifyOptions = {},
): Promise<VerifyCode> {
  try {
    const known: Known = { key: readFingerprint(options.key), seal: readSeal(options.seal) };
    if (target === '--all') return await verifyAll(dataDir, known, print);
    return await verifyOne(target, dataDir, known, print);
  } catch (error) {
    if (!(error instanceof NothingThere)) throw error;
    complain(error.message);
    return 2;
  }
}

/** The target is nothing that can be examined. */
class NothingThere extends Error {}

/** What whoever asks knows from elsewhere. */
interface Known {
  readonly key: string | undefined;
  readonly seal: string | undefined;
}

function readSeal(given: string | undefined): string | undefined {
  const digits = given?.replace(/\s/g, '').toLowerCase();
  if (given === undefined || digits === undefined || /^[0-9a-f]{64}$/.test(digits)) return digits;
  const right = 'write its 64 digits, as a report and the page Proof show them';
  throw new NothingThere(`--seal: ${JSON.stringify(given.slice(0, 80))} is no seal; ${right}.`);
}

/** The number of the line that a seal stands under; null where there is none. */
function lineUnder(seal: string, { content, head, lines }: Walk): number | null {
  if (head === seal) return lines;
  const next = content.findIndex((line) => line.prev === seal);
  return next > 0 ? next : null;
}

/** Where the owner has said why an older copy stands here, whoever misses a seal is told of it as well. */
function sayOfPutBacks(ledger: LedgerFound | null): string {
  const last = putBacks(ledger?.walk.content ?? []).at(-1);
  return last === undefined ? '' : ` Line ${last.n} of the ledger says that ${last.by} put one back: “${last.why}”.`;
}

/** A record that was cut, written anew or put back from an older copy fits itself, but not a seal that was kept. */
function sayOfSeal(seal: string, found: { readonly name: string; readonly line: number } | null): string {
  if (found !== null) return `OK  The seal you know: it stands under line ${found.line} of ${found.name}.`;
  return `BAD  The seal you know: no line here has it. What it was set under was changed or removed, or an older copy was put back. ${seal}`;
}

function readFingerprint(given: string | undefined): string | undefined {
  if (given === undefined) return undefined;
  const digits = given.replace(/[\s:]/g, '').toLowerCase();
  if (/^[0-9a-f]+$/.test(digits) && digits.length >= FINGERPRINT_DIGITS) return digits.slice(0, FINGERPRINT_DIGITS);
  const right = `write its ${FINGERPRINT_DIGITS} digits, as the page Proof and each report show them`;
  throw new NothingThere(`--key: ${JSON.stringify(given.slice(0, 80))} is no fingerprint; ${right}.`);
}

async function verifyOne(
  target: string,
  dataDir: string,
  { key: knownKey, seal }: Known,
  print: Print,
): Promise<VerifyCode> {
  const path = await findRecord(target, dataDir);
  const name = nameOf(path);
  // A record inside the data folder is also held against the ledger there.
  const isAtHome = dirname(dirname(path)) === resolve(firingsFolder(dataDir));
  const ledger = isAtHome ? await readLedger(dataDir) : null;
  const found = await readRecord(path);
  const isOn = isAtHome && (await isBeingWritten(dataDir, path));
  const check = examine(name, found, { knownKey, ledger, isOn });
  print(sentenceFor(name, check, knownKey, stampSentence(found)));
  if (seal === undefined) return codeOf([check.verdict]);
  const line = lineUnder(seal, found.walk);
  print(sayOfSeal(seal, line === null ? null : { name, line }));
  return codeOf([check.verdict, line === null ? 'BAD' : 'OK']);
}

async function verifyAll(dataDir: string, { key: knownKey, seal }: Known, print: Print): Promise<VerifyCode> {
  // The ledger first: whatever it names stands in the folder by then, also while the watch goes on.
  const ledger = await readLedger(dataDir);
  const ids = await firingIds(dataDir);
  if (ids.length === 0 && !ledger) {
    throw new NothingThere(
      `${dataDir}: there are no firings; give the folder that the watch records into with --data.`,
    );
  }
  const followers = new Map<string, { readonly firing: string; readonly head: string }>();
  const records: (readonly [id: string, check: Examination, stamp: string])[] = [];
  let mustBeSigned = false;
  let under: { readonly name: string; readonly line: number } | null = null;
  const look = (name: string, walk: Walk): void => {
    const line = seal === undefined ? null : lineUnder(seal, walk);
    if (line !== null) under = { name, line };
  };
  if (ledger !== null) look('the ledger', ledger.walk);
  // Newest first: whoever follows a firing was opened after it, and one record at a time is held in memory.
  for (const id of ids.toReversed()) {
    const found = await readRecord(recordPath(dataDir, id));
    if (found.follows !== null) followers.set(found.follows.firing, found.follows);
    mustBeSigned ||= found.seals !== null;
    look(id, found.walk);
    const isOn = await isBeingWritten(dataDir, recordPath(dataDir, id));
    const check = examine(id, found, { knownKey, ledger, followedBy: followers.get(id)?.head, isOn });
    records.push([id, check, stampSentence(found)]);
  }
  const verdicts: Verdict[] = [];
  const say = (name: string, check: ChainCheck | Examination, stamp?: string): void => {
    verdicts.push(check.verdict);
    print(sentenceFor(name, check, knownKey, stamp));
  };
  say('Ledger', judgeLedger(ledger, mustBeSigned, knownKey));
  for (const [id, check, stamp] of records.toReversed()) say(id, check, stamp);
  const named = [...(ledger?.entries ?? []).map((entry) => entry.firing), ...followers.keys()];
  for (const id of new Set(named)) {
    if (ids.includes(id)) continue;
    const isJustOpened = ledger?.entries.at(-1)?.firing === id && ledger.entries.at(-1)?.type === 'opened';
    const sentence = isJustOpened
      ? 'The ledger ends with the opening of this firing, but its record is missing: it was lost, or began as the folder was copied.'
      : 'The ledger or the next firing names this firing, but its record is missing.';
    say(id, { verdict: isJustOpened ? 'INCOMPLETE' : 'BAD', sentence, lines: 0, head: '' });
  }
  if (seal !== undefined) {
    print(under === null ? `${sayOfSeal(seal, under)}${sayOfPutBacks(ledger)}` : sayOfSeal(seal, under));
    verdicts.push(under === null ? 'BAD' : 'OK');
  }
  const count = (verdict: Verdict): number => verdicts.filter((one) => one === verdict).length;
  print(`${verdicts.length} examined: ${count('OK')} OK, ${count('BAD')} BAD, ${count('INCOMPLETE')} INCOMPLETE.`);
  return codeOf(verdicts);
}

function sentenceFor(
  name: string,
  check: ChainCheck | Examination,
  knownKey: string | undefined,
  stamp: string = '',
): string {
  const place = check.verdict === 'BAD' && check.line ? ` at line ${check.line}` : '';
  const seal = check.verdict === 'OK' ? ` Seal ${check.head}` : '';
  const signature = check.verdict === 'OK' && 'signedBy' in check ? signatureSentence(check, knownKey) : '';
  return `${check.verdict}${place}  ${name}: ${[check.sentence, signature, check.verdict === 'BAD' ? '' : stamp].filter(Boolean).join(' ')}${seal}`;
}

function codeOf(verdicts: readonly Verdict[]): VerifyCode {
  if (verdicts.includes('BAD')) return 1;
  return verdicts.includes('INCOMPLETE') ? 3 : 0;
}

/** The record file that a target means. An id comes first, since it cannot be a path that leads elsewhere. */
async function findRecord(target: string, dataDir: string): Promise<string> {
  const tried = [
    ...(isFiringId(target) ? [`${firingsFolder(dataDir)}/${target}/record.jsonl`] : []),
    `${target}/record.jsonl`,
    target,
  ];
  for (const path of tried) {
    if (await isFile(path)) return resolve(path);
  }
  throw new NothingThere(
    `${target}: there is no record; give a firing's folder, a record.jsonl, or the id of a firing in ${dataDir}.`,
  );
}

async function isFile(path: string): Promise<boolean> {
  try {
    return (await stat(path)).isFile();
  } catch {
    // Absent, or not to be reached: not this one.
    return false;
  }
}

async function readRecord(path: string): Promise<RecordFound> {
  try {
    // Within --all a firing without its record is a finding, judged like an emptied one.
    return await readRecordFound(path);
  } catch (error) {
    throw new NothingThere(`${path}: cannot be read (${errorCode(error)}); it must be a file that you may read.`);
  }
}

async function readLedger(dataDir: string): Promise<LedgerFound | null> {
  try {
    return await readLedgerFound(dataDir);
  } catch (error) {
    throw new NothingThere(
      `${dataDir}/ledger.jsonl: cannot be read (${errorCode(error)}); it must be a readable file.`,
    );
  }
}

function recordPath(dataDir: string, id: string): string {
  return `${firingsFolder(dataDir)}/${id}/record.jsonl`;
}

async function firingIds(dataDir: string): Promise<readonly string[]> {
  try {
    return (await readdir(firingsFolder(dataDir))).filter(isFiringId).sort();
  } catch (error) {
    if (errorCode(error) === 'ENOENT') return [];
    throw new NothingThere(`${dataDir}: cannot be read (${errorCode(error)}); it must be a folder that you may read.`);
  }
}

function nameOf(path: string): string {
  return basename(path) === 'record.jsonl' ? basename(dirname(path)) : basename(path);
}
