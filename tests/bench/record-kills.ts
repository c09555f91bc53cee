/** The built daemon killed five hundred times at a random sync of its disk, with what was not synced dropped each time. */
import { tryKills } from '../support/kill-trial.ts';

const KILLS = 500;
const SEED = 20261127;

export async function benchKills(): Promise<string> {
  const kills = Number(process.env.KILLS ?? KILLS);
  const trial = await tryKills(kills, SEED);
  const { acknowledged, firings, lost, altered, verifyCode, verifySaid } = trial;
  return [
    '',
    `${kills} kills (seed ${SEED}) over ${firings} firings: ${lost.length} of ${acknowledged} acknowledged readings and notes lost, ${altered.length} records or ledgers found altered.`,
    `spyhole verify --all afterwards: code ${verifyCode}, ${verifySaid.trimEnd().split('\n').at(-1)}`,
    ...[...lost, ...altered].slice(0, 20),
    '',
  ].join('\n');
}
