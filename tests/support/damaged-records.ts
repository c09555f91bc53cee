/** A data folder with three firings, and thousands of ways to damage or forge it. Numbers are drawn from a fixed seed. */
import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { type SeededRandom, seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { checkpointLine, readCheckpoints } from '../../daemon/recorder/checkpoint.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { linkLines, noLine, sha256, walkChain } from '../../daemon/recorder/hash-chain.ts';
import type { Entry } from '../../daemon/recorder/recorder.ts';
import { newPrivatePem, publicPem, type Signer, signerFromPem } from '../../daemon/recorder/signing.ts';
import { recordInto } from './recorded-scenario.ts';
import { lateHand } from './scenarios.ts';

/** Files by their path in the data folder; null for one that is taken away. */
export type Files = ReadonlyMap<string, Buffer>;
export type Changes = ReadonlyMap<string, Buffer | null>;

export interface Damage {
  readonly kind: string;
  readonly changes: Changes;
}

const FIRST = 'firings/a';
/** The firing that is damaged most: a simulated one, with alerts that can be lived again. */
const REAL = 'firings/b';
const LAST = 'firings/c';

/** Writes the folder that is to be damaged. `older` is a backup of it from before the last firing's end. */
export async function makeWholeFolder(dataDir: string): Promise<{ readonly whole: Files; readonly older: Files }> {
  const scenario = { ...lateHand(), endsAfterS: 2400 };
  const nowMs = (): number => scenario.startedAtMs;
  const store = fileRecordStore(dataDir, { nowMs });
  const small = async (id: string, minutes: number, stopsAt: number): Promise<void> => {
    const recorder = await store.begin({ id, kiln: {}, schedule: null, open: { type: 'open', t: nowMs() } });
    for (let minute = 1; minute <= minutes; minute += 1) {
      await recorder.append([{ type: 'raw', t: nowMs() + minute * 60_000, text: String(minute) }]);
      if (minute === stopsAt) older = await readFiles(dataDir);
    }
    await recorder.close({ type: 'close', t: nowMs() + minutes * 60_000 });
  };
  let older: Files = new Map();
  await small('a', 5, 0);
  await recordInto(store, scenario, {
    id: 'b',
    deeds: [{ afterS: 900, by: 'Hanna', deed: { deed: 'note', text: 'smoke from the port' } }],
  });
  await small('c', 30, 25);
  await store.release();
  return { whole: await readFiles(dataDir), older };
}

export async function readFiles(dir: string): Promise<Files> {
  const found = await readdir(dir, { recursive: true, withFileTypes: true });
  const files = new Map<string, Buffer>();
  for (const entry of found) {
    if (!entry.isFile()) continue;
    const path = join(entry.parentPath, entry.name);
    files.set(path.slice(dir.length + 1), await readFile(path));
  }
  return files;
}

/** Endless damages, each kind in turn. */
export function* damages(whole: Files, older: Files, seed: number): Generator<Damage> {
  const random = seededRandom(seed);
  const thief = otherKey();
  for (;;) {
    for (const [kind, damage] of Object.entries(KINDS)) {
      const changes = damage({ whole, older, random, thief });
      if (changes !== null && [...changes].some(([path, bytes]) => !isSame(whole.get(path), bytes)))
        yield { kind, changes };
    }
  }
}

interface Hand {
  readonly whole: Files;
  readonly older: Files;
  readonly random: SeededRandom;
  /** Whoever forges has a key, but not the workshop's. */
  readonly thief: Signer;
}

type DamageMaker = (hand: Hand) => Changes | null;

const KINDS: Readonly<Record<string, DamageMaker>> = {
  'a bit of a record turned': (hand) => turnBit(hand, pick(hand, records(hand))),
  'a bit of a seal turned': (hand) => turnBit(hand, pick(hand, sealFiles(hand))),
  'a bit of the ledger turned': (hand) => turnBit(hand, 'ledger.jsonl'),
  'some bytes overwritten': (hand) => {
    const [path, bytes] = copyOf(hand, pick(hand, [...records(hand), ...sealFiles(hand), 'ledger.jsonl']));
    const at = below(hand, bytes.length);
    for (let i = at; i < Math.min(at + 1 + below(hand, 200), bytes.length); i += 1) bytes[i] = below(hand, 256);
    return new Map([[path, bytes]]);
  },
  'a record cut anywhere': (hand) => cutAnywhere(hand, pick(hand, records(hand))),
  'seals cut anywhere': (hand) => cutAnywhere(hand, pick(hand, sealFiles(hand))),
  'the ledger cut anywhere': (hand) => cutAnywhere(hand, 'ledger.jsonl'),
  'a record cut at a seal, the later seals dropped': (hand) => {
    const folder = pick(hand, [REAL, LAST]);
    const seals = linesOf(hand, `${folder}/checkpoints.jsonl`);
    const kept = 1 + below(hand, seals.length - 1);
    const { lines } = readCheckpoints(joined(seals.slice(0, kept))).checkpoints[kept - 1] ?? { lines: 0 };
    return new Map([
      [`${folder}/record.jsonl`, joined(linesOf(hand, `${folder}/record.jsonl`).slice(0, lines))],
      [`${folder}/checkpoints.jsonl`, joined(seals.slice(0, kept))],
    ]);
  },
  'a seal dropped': (hand) => {
    const path = pick(hand, sealFiles(hand));
    const seals = linesOf(hand, path);
    return new Map([[path, joined(seals.toSpliced(below(hand, seals.length), 1))]]);
  },
  'all seals of a record dropped': (hand) => new Map([[pick(hand, sealFiles(hand)), null]]),
  'seals swapped': (hand) => swapLines(hand, pick(hand, [`${REAL}/checkpoints.jsonl`, `${LAST}/checkpoints.jsonl`])),
  'a line taken out': (hand) => {
    const path = pick(hand, [...records(hand), 'ledger.jsonl']);
    const lines = linesOf(hand, path);
    return new Map([[path, joined(lines.toSpliced(below(hand, lines.length), 1))]]);
  },
  'a line doubled': (hand) => {
    const path = pick(hand, [...records(hand), 'ledger.jsonl']);
    const lines = linesOf(hand, path);
    const at = below(hand, lines.length);
    return new Map([[path, joined(lines.toSpliced(at, 0, lines[at] ?? ''))]]);
  },
  'two lines swapped': (hand) => swapLines(hand, pick(hand, [...records(hand), 'ledger.jsonl'])),
  'a value changed and the links made to fit': (hand) => {
    const folder = pick(hand, [REAL, LAST]);
    return new Map([[`${folder}/record.jsonl`, relinked(changedEntries(hand, folder))]]);
  },
  'a line taken out and the links made to fit': (hand) => {
    const folder = pick(hand, [REAL, LAST]);
    const entries = entriesOf(hand, `${folder}/record.jsonl`);
    return new Map([[`${folder}/record.jsonl`, relinked(entries.toSpliced(1 + below(hand, entries.length - 1), 1))]]);
  },
  'a record written anew and sealed with another key': (hand) => {
    const folder = pick(hand, [FIRST, REAL, LAST]);
    return new Map(forged(hand, folder));
  },
  'everything written anew and sealed with another key': (hand) => {
    const folder = pick(hand, [FIRST, REAL, LAST]);
    return new Map([...forged(hand, folder), ...forgedLedger(hand, folder)]);
  },
  'a firing removed': (hand) => new Map(folderFiles(hand, pick(hand, [FIRST, REAL, LAST])).map((path) => [path, null])),
  'a firing removed, and its lines in the ledger': (hand) => {
    const folder = pick(hand, [FIRST, REAL, LAST]);
    const id = folder.slice('firings/'.length);
    const kept = entriesOf(hand, 'ledger.jsonl').filter((line) => line.firing !== id);
    return new Map<string, Buffer | null>([
      ...folderFiles(hand, folder).map((path) => [path, null] as const),
      ['ledger.jsonl', relinked(kept)],
    ]);
  },
  'an older copy of a firing put back': (hand) => {
    const files = ['record.jsonl', 'checkpoints.jsonl'].map((name) => `${LAST}/${name}`);
    const kept = 1 + below(hand, 3);
    return new Map(
      files.flatMap((path, i) => ((kept >> i) & 1 ? [[path, hand.older.get(path) ?? null] as const] : [])),
    );
  },
  'an older copy of the ledger put back': (hand) => {
    const files = ['ledger.jsonl', 'ledger.checkpoints.jsonl'];
    const kept = 1 + below(hand, 3);
    return new Map(
      files.flatMap((path, i) => ((kept >> i) & 1 ? [[path, hand.older.get(path) ?? null] as const] : [])),
    );
  },
  'a firing laid in the place of another': (hand) => {
    const [from, to] = pick(hand, [
      [FIRST, LAST],
      [LAST, REAL],
      [REAL, FIRST],
    ] as const);
    return new Map(
      ['record.jsonl', 'checkpoints.jsonl'].map((name) => [`${to}/${name}`, hand.whole.get(`${from}/${name}`) ?? null]),
    );
  },
  'words added behind the close by a stranger': (hand) => {
    const folder = pick(hand, [FIRST, REAL, LAST]);
    const note = { type: 'note', t: Date.UTC(2026, 0, 1 + below(hand, 300)), by: 'nobody', text: 'all was well' };
    const record = relinked([...entriesOf(hand, `${folder}/record.jsonl`), note]);
    const seals = Buffer.concat([
      bytesOf(hand, `${folder}/checkpoints.jsonl`),
      sealOver(hand, folder, record, sealCount(hand, folder) + 1),
    ]);
    return new Map(
      below(hand, 2) === 0
        ? [[`${folder}/record.jsonl`, record]]
        : [
            [`${folder}/record.jsonl`, record],
            [`${folder}/checkpoints.jsonl`, seals],
          ],
    );
  },
};

export const DAMAGE_KINDS = Object.keys(KINDS);

function turnBit(hand: Hand, path: string): Changes {
  const [, bytes] = copyOf(hand, path);
  const at = below(hand, bytes.length);
  bytes[at] = (bytes[at] ?? 0) ^ (1 << below(hand, 8));
  return new Map([[path, bytes]]);
}

function cutAnywhere(hand: Hand, path: string): Changes {
  const bytes = bytesOf(hand, path);
  return new Map([[path, bytes.subarray(0, below(hand, bytes.length))]]);
}

function swapLines(hand: Hand, path: string): Changes {
  const lines = linesOf(hand, path);
  const one = below(hand, lines.length);
  const other = below(hand, lines.length);
  return new Map([[path, joined(lines.with(one, lines[other] ?? '').with(other, lines[one] ?? ''))]]);
}

/** One number somewhere in the record is another. */
function changedEntries(hand: Hand, folder: string): Entry[] {
  const entries = entriesOf(hand, `${folder}/record.jsonl`);
  const at = 1 + below(hand, entries.length - 1);
  const text = JSON.stringify(entries[at]);
  const numbers = [...text.matchAll(/\d+/g)];
  const chosen = numbers[below(hand, numbers.length)];
  if (chosen === undefined) return entries;
  const other = String((Number(chosen[0].slice(-4)) + 1 + below(hand, 900)) % 9000).padStart(1, '0');
  const changed = `${text.slice(0, chosen.index)}${chosen[0].slice(0, -4)}${other}${text.slice(chosen.index + chosen[0].length)}`;
  try {
    return entries.with(at, JSON.parse(changed) as Entry);
  } catch {
    // The number stood within an escaped character: another is changed instead.
    return entries.with(at, { ...(entries[at] as Entry), t: (entries[at]?.t ?? 0) + 1 });
  }
}

function forged(hand: Hand, folder: string): [string, Buffer][] {
  const record = relinked(changedEntries(hand, folder));
  return [
    [`${folder}/record.jsonl`, record],
    [`${folder}/checkpoints.jsonl`, sealOver(hand, folder, record, 1)],
  ];
}

/** The ledger as it would be had the forged record always been there, and the stranger's key in the place of the own. */
function forgedLedger(hand: Hand, folder: string): [string, Buffer][] {
  const id = folder.slice('firings/'.length);
  const walk = walkChain(new Map(forged(hand, folder)).get(`${folder}/record.jsonl`) ?? Buffer.alloc(0));
  const ledger = relinked(
    entriesOf(hand, 'ledger.jsonl').map((line) =>
      line.firing === id && line.type === 'closed' ? { ...line, head: walk.head } : line,
    ),
  );
  const { lines, head } = walkChain(ledger);
  const stand = { lines, head, prefix: sha256(ledger) };
  return [
    ['ledger.jsonl', ledger],
    ['ledger.checkpoints.jsonl', checkpointLine({ origin: 'ledger', stand, atMs: 0, number: 1 }, hand.thief)],
    ['keys/public.pem', Buffer.from(publicPem(hand.thief.publicKey))],
  ];
}

function sealOver(hand: Hand, folder: string, record: Buffer, number: number): Buffer {
  const { lines, head } = walkChain(record);
  const origin = folder.slice('firings/'.length);
  return checkpointLine(
    { origin, stand: { lines, head, prefix: sha256(record) }, atMs: 1_747_000_000_000, number },
    hand.thief,
  );
}

function sealCount(hand: Hand, folder: string): number {
  return linesOf(hand, `${folder}/checkpoints.jsonl`).length;
}

function otherKey(): Signer {
  const signer = signerFromPem(newPrivatePem(), []);
  if (signer === null) throw new Error('no key could be made');
  return signer;
}

const records = (hand: Hand): string[] => [...hand.whole.keys()].filter((path) => path.endsWith('/record.jsonl'));
const sealFiles = (hand: Hand): string[] => [...hand.whole.keys()].filter((path) => path.endsWith('checkpoints.jsonl'));
const folderFiles = (hand: Hand, folder: string): string[] =>
  [...hand.whole.keys()].filter((path) => path.startsWith(`${folder}/`));

function below(hand: Hand, count: number): number {
  return Math.floor(hand.random.next() * count);
}

function pick<T>(hand: Hand, list: readonly T[]): T {
  const chosen = list[below(hand, list.length)];
  if (chosen === undefined) throw new Error('nothing to choose from');
  return chosen;
}

function bytesOf(hand: Hand, path: string): Buffer {
  return hand.whole.get(path) ?? Buffer.alloc(0);
}

function copyOf(hand: Hand, path: string): [string, Buffer] {
  return [path, Buffer.from(bytesOf(hand, path))];
}

function linesOf(hand: Hand, path: string): string[] {
  return bytesOf(hand, path).toString('utf8').split('\n').slice(0, -1);
}

function joined(lines: readonly string[]): Buffer {
  return Buffer.from(lines.map((line) => `${line}\n`).join(''));
}

function entriesOf(hand: Hand, path: string): Entry[] {
  return walkChain(bytesOf(hand, path)).content.map(({ n: _n, prev: _prev, ...entry }) => entry);
}

function relinked(entries: readonly Entry[]): Buffer {
  return linkLines(entries, { lines: 0, head: noLine }).bytes;
}

function isSame(before: Buffer | undefined, after: Buffer | null): boolean {
  return before === undefined || after === null ? before === undefined && after === null : before.equals(after);
}
