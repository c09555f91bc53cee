/**
 * The key that signs, in the data folder's `keys/`: made at the first start, for its owner only (0600). `keys.jsonl`
 * tells of every key there was; a new one is signed for by the one before, whose private half is then gone.
 */

import { canonicalLine } from './canonical.ts';
import { createFile, replaceFile } from './chain-file.ts';
import { type Disk, readIfThere } from './disk.ts';
import type { Recordable } from './recorder.ts';
import {
  fingerprintOf,
  type Handover,
  handoverText,
  newPrivatePem,
  publicPem,
  type Signer,
  signerFromPem,
} from './signing.ts';

export interface KeyRing {
  readonly signer: Signer;
  /** What the owner must know of the keys as they were found, or null. */
  readonly trouble: string | null;
}

/** One line of `keys.jsonl`. `why`: the first one; signed for by the last; or the last one's private half was gone. */
interface KeyLine {
  readonly t: number;
  readonly key: string;
  readonly why: 'first' | 'handed over' | 'lost';
  readonly from?: string;
  readonly signature?: string;
}

interface Paths {
  readonly folder: string;
  readonly current: string;
  readonly next: string;
  readonly history: string;
  readonly publicKey: string;
}

function pathsOf(dataDir: string): Paths {
  const folder = `${dataDir}/keys`;
  return {
    folder,
    current: `${folder}/current.pem`,
    next: `${folder}/next.pem`,
    history: `${folder}/keys.jsonl`,
    publicKey: `${folder}/public.pem`,
  };
}

/** Opens the keys of a data folder, or makes the first one. Rejects with the system's own error where the disk refuses. */
export async function openKeys(disk: Disk, dataDir: string, nowMs: number): Promise<KeyRing> {
  const paths = pathsOf(dataDir);
  await disk.mkdir(paths.folder);
  const history = readHistory(await readText(disk, paths.history));
  await finishHandover(disk, paths, history);
  const pem = await readText(disk, paths.current);
  const known = pem === null ? null : signerFromPem(pem, []);
  if (known !== null) return resume(disk, paths, history, known, pem ?? '', nowMs);
  if (pem !== null) await keepBroken(disk, paths);
  const last = history[history.length - 1];
  const signer = await makeKey(disk, paths, history, nowMs);
  const trouble =
    last === undefined
      ? null
      : `The key ${groupedFingerprint(fingerprintOf(last.key))} that signed the records is ${pem === null ? 'gone' : 'unreadable'}; a new one signs from now on. Give its fingerprint to whoever checks them: ${groupedFingerprint(signer.fingerprint)}.`;
  return { signer, trouble };
}

/**
 * Makes a new key, signed for by the present one, which is then removed. The daemon must not run meanwhile.
 *
 * @returns the new key
 */
export async function handOverKey(disk: Disk, dataDir: string, nowMs: number): Promise<Signer> {
  const paths = pathsOf(dataDir);
  const { signer: old } = await openKeys(disk, dataDir, nowMs);
  const pem = newPrivatePem();
  const fresh = readPem(pem, []);
  await disk.remove(paths.next);
  await (await createFile(disk, paths.next, Buffer.from(pem))).close();
  await disk.syncFolder(paths.folder);
  const signature = old.sign(handoverText(old.publicKey, fresh.publicKey, nowMs));
  const line: KeyLine = { t: nowMs, key: fresh.publicKey, why: 'handed over', from: old.publicKey, signature };
  // From here on the new key counts: a power cut before the renaming is made good at the next opening.
  const history = [...readHistory(await readText(disk, paths.history)), line];
  await writeHistory(disk, paths, history);
  await finishHandover(disk, paths, history);
  return readPem(pem, handoversTo(history, fresh.publicKey));
}

/** A fingerprint in groups of four, for the eye. */
export function groupedFingerprint(fingerprint: string): string {
  return fingerprint.match(/.{1,4}/g)?.join(' ') ?? '';
}

async function resume(
  disk: Disk,
  paths: Paths,
  history: readonly KeyLine[],
  known: Signer,
  pem: string,
  nowMs: number,
): Promise<KeyRing> {
  if (!history.some((line) => line.key === known.publicKey)) {
    // Power was lost between the key and the line that tells of it, or the list was removed.
    const why = history.length === 0 ? 'first' : 'lost';
    await writeHistory(disk, paths, [...history, { t: nowMs, key: known.publicKey, why }]);
  }
  if ((await readText(disk, paths.publicKey)) !== publicPem(known.publicKey)) await writePublic(disk, paths, known);
  return { signer: readPem(pem, handoversTo(history, known.publicKey)), trouble: null };
}

async function makeKey(disk: Disk, paths: Paths, history: readonly KeyLine[], nowMs: number): Promise<Signer> {
  const pem = newPrivatePem();
  const signer = readPem(pem, []);
  await (await replaceFile(disk, paths.current, Buffer.from(pem))).close();
  const why = history.length === 0 ? 'first' : 'lost';
  await writeHistory(disk, paths, [...history, { t: nowMs, key: signer.publicKey, why }]);
  await writePublic(disk, paths, signer);
  return signer;
}

/** A key that was signed for becomes the present one; one that was not yet is of no use. */
async function finishHandover(disk: Disk, paths: Paths, history: readonly KeyLine[]): Promise<void> {
  const pem = await readText(disk, paths.next);
  if (pem === null) return;
  const next = signerFromPem(pem, []);
  if (next === null || history[history.length - 1]?.key !== next.publicKey) {
    await disk.remove(paths.next);
    return;
  }
  await disk.rename(paths.next, paths.current);
  await disk.syncFolder(paths.folder);
  await writePublic(disk, paths, next);
}

async function keepBroken(disk: Disk, paths: Paths): Promise<void> {
  const names = new Set(await disk.list(paths.folder));
  let number = 1;
  while (names.has(`broken-${number}.pem`)) number += 1;
  await disk.rename(paths.current, `${paths.folder}/broken-${number}.pem`);
}

/** The signatures that lead to a key from the first that is known to have led to it. */
function handoversTo(history: readonly KeyLine[], key: string): readonly Handover[] {
  const line = history.findLast((one) => one.key === key);
  if (line?.from === undefined || line.signature === undefined) return [];
  const { from, t, signature } = line;
  return [...handoversTo(history.slice(0, history.indexOf(line)), from), { from, to: key, t, signature }];
}

function readHistory(text: string | null): readonly KeyLine[] {
  return (text ?? '').split('\n').flatMap((line) => {
    try {
      const found = JSON.parse(line) as KeyLine;
      return typeof found.key === 'string' ? [found] : [];
    } catch {
      // A torn or strange line names no key; whether a key can be trusted is settled by signatures, not by this list.
      return [];
    }
  });
}

async function writeHistory(disk: Disk, paths: Paths, history: readonly KeyLine[]): Promise<void> {
  const text = history.map((line) => `${canonicalLine(line as unknown as Recordable)}\n`).join('');
  await (await replaceFile(disk, paths.history, Buffer.from(text))).close();
}

async function writePublic(disk: Disk, paths: Paths, signer: Signer): Promise<void> {
  await (await replaceFile(disk, paths.publicKey, Buffer.from(publicPem(signer.publicKey)))).close();
}

async function readText(disk: Disk, path: string): Promise<string | null> {
  return (await readIfThere(disk, path))?.toString('utf8') ?? null;
}

function readPem(pem: string, handovers: readonly Handover[]): Signer {
  const signer = signerFromPem(pem, handovers);
  if (signer === null) throw new Error('a key that was just made cannot be read');
  return signer;
}
