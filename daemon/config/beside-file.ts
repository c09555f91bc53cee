/** A path out of a file: a relative one is taken from that file's own folder, ~ from the user's. */
import { homedir } from 'node:os';
import { dirname, resolve } from 'node:path';

export function besideFile(path: string, file: string): string {
  if (path === '~' || path.startsWith('~/')) return resolve(homedir(), path.slice(2));
  return resolve(dirname(resolve(file)), path);
}
