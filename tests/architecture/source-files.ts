import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export interface SourceFile {
  /** From the top of the repository. */
  readonly path: string;
  readonly text: string;
}

const top = fileURLToPath(new URL('../..', import.meta.url));

/** Every file under `folder` with one of these endings. */
export function sourceFiles(folder: string, endings: readonly string[]): SourceFile[] {
  return readdirSync(join(top, folder), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && endings.some((ending) => entry.name.endsWith(ending)))
    .map((entry) => join(entry.parentPath, entry.name))
    .sort()
    .map((path) => ({ path: path.slice(top.length), text: readFileSync(path, 'utf8') }));
}
