/** Polls a slave that answers late, in virtual time, and counts the values that stood under the wrong register. */
import { type Question, rtuFraming } from '../../daemon/inputs/modbus/frames.ts';
import { modbusMaster } from '../../daemon/inputs/modbus/master.ts';
import { unitPoll } from '../../daemon/inputs/modbus/unit-poll.ts';
import type { Clock } from '../../daemon/runtime/clock.ts';
import { type Lag, laggingSlave, wordAt } from './lagging-slave.ts';
import { virtualClock } from './virtual-clock.ts';

const TIMING = { timeoutMs: 200, gapMs: 4, byteMs: 1 };

export interface Polls {
  readonly right: number;
  readonly wrong: number;
  /** Rounds in which the slave was not believed. */
  readonly refused: number;
}

export const holding = (address: number, registerCount = 1): Question => ({
  unit: 1,
  functionCode: 3,
  address,
  registerCount,
});
/** Questions whose answers look alike. */
export const ALIKE: readonly Question[] = [holding(0), holding(10), holding(20)];

/** As the watch polls: with the step proven after each missed answer. */
export function pollLate(rounds: number, questions: readonly Question[], lag: Lag, seed: number): Promise<Polls> {
  return polling(rounds, lag, seed, (master, count, clock) => {
    const poll = unitPoll(questions, TIMING.timeoutMs, clock, { words: count, exception: () => undefined });
    return async () => {
      const trouble = await poll.round(master);
      await master.pause(1000);
      return trouble === undefined;
    };
  });
}

/** As one polls who takes the next frame that fits. */
export function pollTrustingly(rounds: number, questions: readonly Question[], lag: Lag, seed: number): Promise<Polls> {
  return polling(rounds, lag, seed, (master, count) => async () => {
    let isGood = true;
    for (const question of questions) {
      const outcome = await master.ask(question);
      if (outcome.kind === 'words') count(question, outcome.words);
      else isGood = false;
    }
    return isGood;
  });
}

type Master = ReturnType<typeof modbusMaster>;
type Count = (question: Question, words: readonly number[]) => void;

async function polling(
  rounds: number,
  lag: Lag,
  seed: number,
  begin: (master: Master, count: Count, clock: Clock) => () => Promise<boolean>,
): Promise<Polls> {
  const clock = virtualClock();
  let right = 0;
  let wrong = 0;
  let refused = 0;
  const slave = laggingSlave(lag, seed, clock, (bytes) => master.heard(bytes));
  const master = modbusMaster(rtuFraming, slave.ask, clock, TIMING);
  const round = begin(
    master,
    (question, words) => {
      if (words.every((word, i) => word === wordAt(question.address + i))) right += 1;
      else wrong += 1;
    },
    clock,
  );
  let isDone = false;
  const asking = (async () => {
    for (let i = 0; i < rounds; i++) if (!(await round())) refused += 1;
    isDone = true;
  })();
  await clock.run(Number.MAX_SAFE_INTEGER, () => isDone);
  await asking;
  return { right, wrong, refused };
}
