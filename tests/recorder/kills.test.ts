import { describe, expect, test } from 'vitest';
import { needs } from '../support/debian.ts';
import { tryKills } from '../support/kill-trial.ts';

const SEED = 20261125;
const KILLS = 25;

describe.runIf(needs('gcc', 'socat'))('the power goes at any sync of the disk', () => {
  test(`nothing that was acknowledged is lost by ${KILLS} kills, and no record is broken (seed ${SEED})`, async () => {
    const { acknowledged, lost, altered, verifyCode, verifySaid } = await tryKills(KILLS, SEED);
    expect(lost).toEqual([]);
    expect(altered).toEqual([]);
    expect(acknowledged).toBeGreaterThan(KILLS);
    // The last firing goes on.
    expect(verifyCode, verifySaid).toBe(3);
    expect(verifySaid).toMatch(/ 0 BAD, 1 INCOMPLETE\./);
  });
});
