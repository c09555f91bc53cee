/** The sentences with which a configuration is refused. */
import { ConfigError } from '../../daemon/errors.ts';

/** `where: what; right` of each fault that `work` meets; none where it is taken. Any other error is thrown on. */
export function faultsOf(work: () => unknown): string[] {
  try {
    work();
  } catch (error) {
    if (error instanceof ConfigError) return error.faults.map((f) => `${f.where}: ${f.what}; ${f.right}`);
    throw error;
  }
  return [];
}
