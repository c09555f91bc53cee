/** `spyhole verify`: whether a record, or all records and the ledger, stand as the recorder wrote them. */
import { readdir, readFile, stat } from 'node:fs/promises';
import { basename, dirname, resolve } from 'node:path';
import { errorCode } from '../recorder/disk.ts';
import { firingsFolder } from '../recorder/file-recorder.ts';
import { isFiringId } from '../recorder/firing-id.ts';
import { type ChainCheck, judgeRecord, type Verdict, type Walk, walkChain } from '../recorder/hash-chain.ts';
import { type LedgerEntry, ledgerEntries } from '../recorder/ledger.ts';
import type { Line } from '../recorder/recorder.ts';

/** 0 well; 1 something was altered; 2 there is nothing to examine; 3 the end of a record is missing. */
export type VerifyCode = 0 | 1 | 2 | 3;

/** What is kept of a record once it has been read. */
interface Examined {
  readonly check: ChainCheck;
  /** Seal of the first line. */
  readonly firstHead: string;
  /** The firing closed before this one, and its last seal, as the first line names them. */
  readonly follows: { readonly firing: string; readonly head: string } | null;
}

/** Seals of a record that are noted elsewhere: in the ledger, or in the first line of the next firing. */
interface SealsElsewhere {
  readonly opened: string | undefined;
  readonly closed: string | undefined;
}

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
  print: (line: string) => void,
  complain: (sentence: string) => void = print,
): Promise<VerifyCode> {
  try {
    return target === '--all' ? await verifyAll(dataDir, print) : await verifyOne(target, dataDir, print);
  } catch (error) {
    if (!(error instanceof NothingThere)) throw error;
    complain(error.message);
    return 2;
  }
}

/** The target is nothing that can be examined. */
class NothingThere extends Error {}

async function verifyOne(target: string, dataDir: string, print: (line: string) => void): Promise<VerifyCode> {
  const path = await findRecord(target, dataDir);
  const name = nameOf(path);
  const examined = examine(await readRecord(path));
  // A record inside the data folder is also held against the ledger there.
  const isAtHome = dirname(dirname(path)) === resolve(firingsFolder(dataDir));
  const ledger = isAtHome ? await readLedger(dataDir) : null;
  const check = ledger ? compare(examined, sealsElsewhere(name, ledger, []), ledger) : examined.check;
  print(sentenceFor(name, check));
  return codeOf([check.verdict]);
}

async function verifyAll(dataDir: string, print: (line: string) => void): Promise<VerifyCode> {
  const ids = await firingIds(dataDir);
  const ledger = await readLedger(dataDir);
  if (ids.length === 0 && !ledger) {
    throw new NothingThere(
      `${dataDir}: there are no firings; give the folder that the watch records into with --data.`,
    );
  }
  const records = new Map<string, Examined>();
  for (const id of ids) records.set(id, examine(await readRecord(`${firingsFolder(dataDir)}/${id}/record.jsonl`)));

  const all = [...records.values()];
  const checks: (readonly [name: string, ChainCheck])[] = [['Ledger', judgeLedger(ledger)]];
  for (const [id, record] of records) checks.push([id, compare(record, sealsElsewhere(id, ledger, all), ledger)]);
  for (const id of missingFirings(records, ledger)) {
    checks.push([id, bad('The ledger or the next firing names this firing, but its record is missing.')]);
  }
  for (const [name, check] of checks) print(sentenceFor(name, check));
  const verdicts = checks.map(([, check]) => check.verdict);
  const count = (verdict: Verdict): number => verdicts.filter((one) => one === verdict).length;
  print(`${verdicts.length} examined: ${count('OK')} OK, ${count('BAD')} BAD, ${count('INCOMPLETE')} INCOMPLETE.`);
  return codeOf(verdicts);
}

function missingFirings(records: ReadonlyMap<string, Examined>, ledger: LedgerFound | null): readonly string[] {
  const named = (ledger?.entries ?? []).map((entry) => entry.firing);
  for (const { follows } of records.values()) if (follows) named.push(follows.firing);
  return [...new Set(named)].filter((id) => !records.has(id));
}

interface LedgerFound {
  readonly walk: Walk;
  readonly entries: readonly LedgerEntry[];
}

async function readLedger(dataDir: string): Promise<LedgerFound | null> {
  try {
    const walk = walkChain(await readFile(`${dataDir}/ledger.jsonl`));
    return { walk, entries: ledgerEntries(walk.content) };
  } catch (error) {
    if (errorCode(error) === 'ENOENT') return null;
    throw new NothingThere(
      `${dataDir}/ledger.jsonl: cannot be read (${errorCode(error)}); it must be a readable file.`,
    );
  }
}

function judgeLedger(ledger: LedgerFound | null): ChainCheck {
  if (!ledger) return bad('The ledger is missing: ledger.jsonl, which names every firing, is not there.');
  const { walk } = ledger;
  const end = { lines: walk.lines, head: walk.head };
  if (walk.broken) return { verdict: 'BAD', ...walk.broken, ...end };
  if (walk.tornBytes > 0) {
    return {
      verdict: 'INCOMPLETE',
      sentence: `Line ${walk.lines + 1} is torn off after ${walk.tornBytes} bytes.`,
      ...end,
    };
  }
  const restart = walk.content.find((line) => line.type === 'restarted');
  if (restart)
    return bad(`It was begun anew because the one before, kept as ${restart.aside}, had been altered.`, 1, end);
  return { verdict: 'OK', sentence: `Its lines stand as they were written.`, ...end };
}

function examine(bytes: Buffer): Examined {
  const walk = walkChain(bytes);
  const [first, second] = walk.content;
  return { check: judgeRecord(walk), firstHead: second?.prev ?? walk.head, follows: followsOf(first) };
}

function followsOf(first: Line | undefined): Examined['follows'] {
  const follows = first?.follows;
  if (!follows || typeof follows !== 'object' || !('firing' in follows)) return null;
  return { firing: String(follows.firing), head: String(follows.head) };
}

function sealsElsewhere(id: string, ledger: LedgerFound | null, records: readonly Examined[]): SealsElsewhere {
  const entry = (type: LedgerEntry['type']): string | undefined =>
    ledger?.entries.find((one) => one.firing === id && one.type === type)?.head;
  const next = records.find(({ follows }) => follows?.firing === id)?.follows?.head;
  return { opened: entry('opened'), closed: entry('closed') ?? next };
}

/** What the seals noted elsewhere add to a record's own verdict. */
function compare(record: Examined, seals: SealsElsewhere, ledger: LedgerFound | null): ChainCheck {
  const { check, firstHead } = record;
  const { lines, head } = check;
  const isNoted = seals.opened !== undefined || seals.closed !== undefined;
  if (check.verdict === 'BAD') return check;
  if (lines === 0) return isNoted ? bad('Its record is missing or empty, though the ledger names the firing.') : check;
  if (seals.opened !== undefined && seals.opened !== firstHead) {
    return bad('Line 1 was changed after it was written: the ledger holds another seal of it.', 1, { lines, head });
  }
  if (seals.closed !== undefined && seals.closed !== head) {
    if (check.verdict === 'OK') {
      const sentence = `Line ${lines}, the last one, was changed after the firing was closed: another seal of it is noted.`;
      return bad(sentence, lines, { lines, head });
    }
    return { ...check, sentence: `The firing was closed once, so lines at its end are lost. ${check.sentence}` };
  }
  if (check.verdict === 'OK' && ledger && !ledger.walk.broken && seals.closed === undefined) {
    // Between a closing line and the ledger's the power may go; a closed firing that was never opened is no such case.
    if (!isNoted) return bad('The ledger does not name this firing, though it is over.', undefined, { lines, head });
    const sentence = 'The firing is closed, but the ledger does not say so yet: the watch adds that when it starts.';
    return { verdict: 'INCOMPLETE', sentence, lines, head };
  }
  return check;
}

function bad(sentence: string, line?: number, end = { lines: 0, head: '' }): ChainCheck {
  return { verdict: 'BAD', sentence, ...end, ...(line === undefined ? {} : { line }) };
}

function sentenceFor(name: string, check: ChainCheck): string {
  const place = check.verdict === 'BAD' && check.line ? ` at line ${check.line}` : '';
  const seal = check.verdict === 'OK' ? ` Seal ${check.head}` : '';
  return `${check.verdict}${place}  ${name}: ${check.sentence}${seal}`;
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

async function readRecord(path: string): Promise<Buffer> {
  try {
    return await readFile(path);
  } catch (error) {
    // Within --all a firing without its record is a finding, judged like an emptied one.
    if (errorCode(error) === 'ENOENT') return Buffer.alloc(0);
    throw new NothingThere(`${path}: cannot be read (${errorCode(error)}); it must be a file that you may read.`);
  }
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
