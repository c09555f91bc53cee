/** Values under the wrong register where a slave on a line without numbers answers late. */
import type { Lag } from '../support/lagging-slave.ts';
import { ALIKE, pollLate, pollTrustingly } from '../support/late-polls.ts';
import { table } from './figures.ts';

const POLLS = 10_000;
const SEED = 2026;

const LAGS: readonly { readonly what: string; readonly lag: Lag }[] = [
  ...[1, 2, 3, 4, 5].map((most) => ({
    what: `up to ${most} questions late`,
    lag: { kind: 'questions', most } as const,
  })),
  { what: 'one in 20 up to 3 s late, in turn', lag: { kind: 'time', slowestMs: 3000, slowRatio: 0.05, inTurn: true } },
  {
    what: 'one in 20 up to 3 s late, each alone',
    lag: { kind: 'time', slowestMs: 3000, slowRatio: 0.05, inTurn: false },
  },
];

export async function benchModbus(): Promise<string> {
  const rows: string[][] = [];
  for (const { what, lag } of LAGS) {
    const { right, wrong, refused } = await pollLate(POLLS, ALIKE, lag, SEED);
    const trusting = await pollTrustingly(POLLS, ALIKE, lag, SEED);
    rows.push([what, `${right}`, `${wrong}`, `${refused}`, `${trusting.wrong}`]);
  }
  return table(
    `modbus: ${POLLS} polls of three registers alike, the slave misses a question or catches up now and then; answers are due in 0.2 s; in virtual time, seed ${SEED}`,
    ['the slave answers', 'right', 'wrong', 'polls refused', 'wrong if the next fitting frame is taken'],
    rows,
  );
}
