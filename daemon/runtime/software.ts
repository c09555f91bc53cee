/** Name and version of this program, for the record and the command line. */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

function readVersion(): string {
  // package.json lies two folders up from the source and three from the built code.
  for (let dir = dirname(fileURLToPath(import.meta.url)); dir !== dirname(dir); dir = dirname(dir)) {
    try {
      const found = JSON.parse(readFileSync(join(dir, 'package.json'), 'utf8')) as { name?: string; version?: string };
      if (found.name === 'spyhole' && found.version !== undefined) return found.version;
    } catch {
      // Not in this folder: look one further up.
    }
  }
  return 'unknown';
}

export const VERSION = readVersion();
export const SOFTWARE = `spyhole ${VERSION}`;

/** SHA-256 over the files of core, 16 digits: a record lived again by the same code must give the same alerts. */
function readCoreFingerprint(): string {
  const core = fileURLToPath(new URL('../core/', import.meta.url));
  const files = readdirSync(core, { recursive: true, encoding: 'utf8' }).filter((name) => /\.[jt]s$/.test(name));
  const sum = createHash('sha256');
  for (const name of files.sort()) sum.update(`${name}\n`).update(readFileSync(join(core, name)));
  return sum.digest('hex').slice(0, 16);
}

export const CORE = readCoreFingerprint();
