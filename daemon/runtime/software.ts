/** Name and version of this program, for the record and the command line. */
import { readFileSync } from 'node:fs';
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
