import { expect, test } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { tryDamages } from '../support/damage-trial.ts';
import { DAMAGE_KINDS } from '../support/damaged-records.ts';

const SEED = 20261125;
const COPIES = 260;

test(`none of ${COPIES} damaged copies is accepted by whoever knows the key and has the ledger (seed ${SEED})`, async () => {
  const { accepted, codes, tried } = await tryDamages(verify, COPIES, SEED);
  expect(accepted).toEqual([]);
  expect(tried).toBe(COPIES);
  expect([...codes.keys()].sort()).toEqual([...DAMAGE_KINDS].sort());
});
