/** `spyhole keys`: the key that signs the records, to be told to whoever shall check them; and a new one in its place. */
import { createPublicKey, randomUUID } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { RecordError } from '../errors.ts';
import { lockData } from '../recorder/data-lock.ts';
import { realDisk } from '../recorder/disk.ts';
import { groupedFingerprint, handOverKey } from '../recorder/key-ring.ts';
import { fingerprintOf } from '../recorder/signing.ts';

/** @throws RecordError where there is no key yet, or the watch runs while a new one is wanted */
export async function keys(dataDir: string, isNew: boolean, print: (line: string) => void): Promise<void> {
  const old = await presentFingerprint(dataDir);
  if (!isNew) {
    print(`The records in ${dataDir} are signed with key ${groupedFingerprint(old)}`);
    return;
  }
  const unlock = await lockData(realDisk, dataDir, randomUUID());
  try {
    const signer = await handOverKey(realDisk, dataDir, Date.now());
    print(
      `From now on key ${groupedFingerprint(signer.fingerprint)} signs. The old one, ${groupedFingerprint(old)}, has signed for it: whoever knows that one can go on checking.`,
    );
  } finally {
    await unlock();
  }
}

async function presentFingerprint(dataDir: string): Promise<string> {
  try {
    const pem = await readFile(`${dataDir}/keys/public.pem`, 'utf8');
    const der = createPublicKey(pem).export({ type: 'spki', format: 'der' });
    return fingerprintOf(der.toString('base64'));
  } catch (cause) {
    const sentence = `${dataDir}/keys: there is no key that can be read; the watch makes one when it starts with --data.`;
    throw new RecordError('no-key', sentence, { cause });
  }
}
