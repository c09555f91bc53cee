/** Where firings are kept. */
import { homedir } from 'node:os';
import { join, resolve } from 'node:path';

/** `--data` comes first, then `SPYHOLE_DATA`, then the configuration, else the home folder's place for such data (XDG base directories). */
export function dataDir(
  flag: string | undefined,
  env: { readonly SPYHOLE_DATA?: string | undefined },
  configured?: string | undefined,
): string {
  const fromEnv = env.SPYHOLE_DATA;
  return resolve(flag ?? (fromEnv || undefined) ?? configured ?? join(homedir(), '.local', 'share', 'spyhole'));
}
