/** Ten thousand damaged and forged copies of a data folder before the checker: none may be accepted. */
import { tryDamages } from '../support/damage-trial.ts';
import type { Built } from './built.ts';
import { table } from './figures.ts';

const COPIES = 10_000;
const SEED = 20261126;

export async function benchDamage(built: Built): Promise<string> {
  const { codes, accepted, tried } = await tryDamages(built.verify.verify, COPIES, SEED);
  const rows = [...codes].map(([kind, ofKind]) => {
    const count = (code: number): string => String(ofKind.get(code) ?? 0);
    return [kind, count(1), count(3), count(0), count(2)];
  });
  const title = `Damaged copies, checked with the known key and the ledger (${tried}, seed ${SEED}): ${accepted.length} accepted.`;
  return [table(title, ['', 'BAD', 'INCOMPLETE', 'OK', 'no record'], rows), ...accepted.slice(0, 20)].join('\n');
}
