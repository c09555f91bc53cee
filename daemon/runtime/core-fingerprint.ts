/** Which code of core this is, for the record; of no use to commands that write and judge none. */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** SHA-256 over the files of core, 16 digits: a record lived again by the same code must give the same alerts. */
function readCoreFingerprint(): string {
  const core = fileURLToPath(new URL('../core/', import.meta.url));
  const files = readdirSync(core, { recursive: true, encoding: 'utf8' }).filter((name) => /\.[jt]s$/.test(name));
  const sum = createHash('sha256');
  for (const name of files.sort()) sum.update(`${name}\n`).update(readFileSync(join(core, name)));
  return sum.digest('hex').slice(0, 16);
}

export const CORE = readCoreFingerprint();
