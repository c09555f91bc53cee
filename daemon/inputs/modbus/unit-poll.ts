/**
 * One instrument on a line: its blocks of registers, asked for in turn, and whether its answers are proven to be to the
 * questions before them.
 *
 * RTU frames carry no number. An instrument that missed one question may answer each later one with what was asked
 * before: frame, check and length are all right, and the value is another register's. So after each missed answer, and
 * when the wire was just opened, no value is believed until the line was drained and the step proven (requirement C3).
 */
import type { Clock } from '../../runtime/clock.ts';
import { isFinal, isLasting, isPassing } from './exceptions.ts';
import { MAX_REGISTERS, type Question } from './frames.ts';
import type { Master, Outcome } from './master.ts';

export interface UnitNews<Q extends Question> {
  words(question: Q, words: readonly number[]): void;
  exception(question: Q, code: number): void;
}

export type UnitTrouble =
  | Exclude<Outcome, { kind: 'words' }>
  /** It answers, but not what it was asked just now. */
  | { readonly kind: 'out-of-step' }
  /** Something talks on the line without a pause. */
  | { readonly kind: 'babble' }
  /** Nothing that could tell its late answers from its prompt ones is answered. */
  | { readonly kind: 'unprovable' };

export interface UnitPoll {
  /** Asks for each block once; undefined where all is well, an exception to a single block apart. */
  round(master: Master): Promise<UnitTrouble | undefined>;
  /** The wire was opened anew. */
  begin(): void;
}

/** How far behind an instrument may answer and still be found out at once. One more than the requirement's three. Ours. */
const LAG_QUESTIONS = 4;
/**
 * Each proof that fails is followed by a longer one, so that no lag up to the longest can hide in the proofs' own rhythm,
 * one proof's last question being answered in the next one's last place.
 */
const LONGEST_LAG_QUESTIONS = 16;
/** The line is drained for as long as an answer may take; a line that babbles is given up after ten times that. */
const DRAIN_TIMES = 10;
const BUSY_TRIES = 3;

/**
 * An answer may be later than the line was drained for. So while a missed one may still come, each value is read twice, and
 * one that does not come again the same is not believed. The time is ours: ten times what an answer may take, 10 s at least.
 */
const PROBATION_TIMES = 10;
const PROBATION_MS = 10_000;
const AGREEING_TRIES = 3;

/** @param questions at least one, all of the same unit */
export function unitPoll<Q extends Question>(
  questions: readonly Q[],
  timeoutMs: number,
  clock: Pick<Clock, 'realMs'>,
  news: UnitNews<Q>,
): UnitPoll {
  let isProven = false;
  let missedRealMs = Number.NEGATIVE_INFINITY;
  let lagQuestions = LAG_QUESTIONS;
  /** The probes that were answered with silence are not tried again. */
  let probeIndex = 0;
  /** With which question the next round begins. */
  let firstIndex = 0;
  const probationMs = Math.max(PROBATION_MS, PROBATION_TIMES * timeoutMs);

  async function prove(master: Master): Promise<UnitTrouble | undefined> {
    if (!(await master.quiet(timeoutMs, DRAIN_TIMES * timeoutMs))) return { kind: 'babble' };
    const known = await firstReadable(master);
    if (known.kind !== 'readable') return known.trouble;
    if (!needsProbe(questions)) return again(master, known.question, 1);
    const steady = await again(master, known.question, lagQuestions - 1);
    if (steady !== undefined) return steady;
    return probe(master, known.question);
  }

  /** A question that is answered with values; what is refused outright is passed over. */
  async function firstReadable(
    master: Master,
  ): Promise<{ kind: 'readable'; question: Question } | { kind: 'none'; trouble: UnitTrouble }> {
    let refusal: UnitTrouble = { kind: 'unprovable' };
    for (const question of questions) {
      const outcome = await askPatiently(master, question);
      if (outcome.kind === 'words') return { kind: 'readable', question };
      if (outcome.kind !== 'exception') return { kind: 'none', trouble: outcome };
      news.exception(question, outcome.code);
      refusal = outcome;
    }
    return { kind: 'none', trouble: refusal };
  }

  /** A first good answer after a missed one is confirmed by reading again. */
  async function again(master: Master, question: Question, times: number): Promise<UnitTrouble | undefined> {
    for (let i = 0; i < times; i++) {
      const outcome = await askPatiently(master, question);
      if (outcome.kind === 'misfit') return { kind: 'out-of-step' };
      if (outcome.kind !== 'words') return outcome;
    }
    return undefined;
  }

  /**
   * One question is asked as many times as an instrument may lag, then another whose answer looks different. Only who is in
   * step gives the different answer at once: whoever lags still owes answers to the question before.
   */
  async function probe(master: Master, question: Question): Promise<UnitTrouble | undefined> {
    const asked = probesFor(question)[probeIndex];
    if (asked === undefined) {
      probeIndex = 0;
      return { kind: 'unprovable' };
    }
    const outcome = await askPatiently(master, asked);
    if (outcome.kind === 'words' || (outcome.kind === 'exception' && isLasting(outcome.code))) return undefined;
    if (outcome.kind === 'misfit') return { kind: 'out-of-step' };
    if (outcome.kind === 'silence') probeIndex += 1;
    return outcome;
  }

  /** While a missed answer may still come: the same words twice, one after the other; undefined where they never agree. */
  async function ask(master: Master, question: Question): Promise<Outcome | undefined> {
    let last = await askPatiently(master, question);
    if (last.kind !== 'words' || clock.realMs() - missedRealMs > probationMs) return last;
    for (let i = 1; i < AGREEING_TRIES; i++) {
      const next = await askPatiently(master, question);
      if (next.kind !== 'words' || isSame(next.words, last.words)) return next;
      last = next;
    }
    return undefined;
  }

  function distrust(): void {
    isProven = false;
    missedRealMs = clock.realMs();
  }

  return {
    begin: distrust,
    async round(master) {
      if (!isProven) {
        const trouble = await prove(master);
        if (trouble !== undefined) {
          distrust();
          lagQuestions = Math.min(lagQuestions + 1, LONGEST_LAG_QUESTIONS);
          return trouble;
        }
        isProven = true;
        lagQuestions = LAG_QUESTIONS;
      }
      let refusal: UnitTrouble | undefined;
      let hasValues = false;
      // A round goes on where the last one broke off: an instrument that loses each tenth question is still read whole.
      const turn = [...questions.slice(firstIndex), ...questions.slice(0, firstIndex)];
      for (const question of turn) {
        firstIndex = questions.indexOf(question);
        const outcome = await ask(master, question);
        if (outcome === undefined) continue;
        if (outcome.kind === 'words') {
          hasValues = true;
          news.words(question, outcome.words);
        } else if (outcome.kind === 'exception') {
          news.exception(question, outcome.code);
          refusal = outcome;
          // The answer itself may still come through the gateway, late.
          if (!isFinal(outcome.code)) {
            distrust();
            return outcome;
          }
        } else {
          distrust();
          return outcome;
        }
      }
      firstIndex = 0;
      return hasValues ? undefined : refusal;
    },
  };
}

/** An instrument that says that it is busy is asked again at once. */
async function askPatiently(master: Master, question: Question): Promise<Outcome> {
  for (let i = 1; ; i++) {
    const outcome = await master.ask(question);
    if (i === BUSY_TRIES || outcome.kind !== 'exception' || !isPassing(outcome.code)) return outcome;
  }
}

function isSame(a: readonly number[], b: readonly number[]): boolean {
  return a.length === b.length && a.every((word, i) => word === b[i]);
}

/** Where each question's answer has a length or function of its own, a late one fits no other question. */
function needsProbe(questions: readonly Question[]): boolean {
  const shapes = questions.map((q) => `${q.functionCode} ${q.registerCount}`);
  return new Set(shapes).size < shapes.length;
}

/** Questions whose answers, values or refusal, cannot be taken for an answer to `question`. */
function probesFor(question: Question): readonly Question[] {
  const { address, registerCount, functionCode } = question;
  const probes: Question[] = [];
  if (registerCount < MAX_REGISTERS) {
    probes.push({ ...question, registerCount: registerCount + 1 });
    if (address > 0) probes.push({ ...question, address: address - 1, registerCount: registerCount + 1 });
  }
  if (registerCount > 1) probes.push({ ...question, registerCount: registerCount - 1 });
  probes.push({ ...question, functionCode: functionCode === 3 ? 4 : 3 });
  return probes;
}
