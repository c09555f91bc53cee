/**
 * A Modbus slave on a line without transaction numbers whose answers come to later questions than their own. Each register
 * holds its own address, so that a value under the wrong register shows.
 */
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import type { Clock } from '../../daemon/runtime/clock.ts';
import { rtuFrame, rtuReader } from '../../simulators/modbus/frames.ts';
import { answerTo } from '../../simulators/modbus/slave.ts';

/** `questions`: it owes so many answers and gives one for each question. `time`: some answers take too long. */
export type Lag =
  | { readonly kind: 'questions'; readonly most: number }
  | { readonly kind: 'time'; readonly slowestMs: number; readonly slowRatio: number; readonly inTurn: boolean };

export interface LaggingSlave {
  ask(bytes: Uint8Array): void;
  readonly questionCount: number;
}

const PROMPT_MS = 20;

export function wordAt(address: number): number {
  return 0x1000 + address;
}

export function laggingSlave(
  lag: Lag,
  seed: number,
  clock: Pick<Clock, 'after' | 'realMs'>,
  answer: (bytes: Uint8Array) => void,
  registerCount = 64,
): LaggingSlave {
  const random = seededRandom(seed);
  const reader = rtuReader();
  const registers = new Map(Array.from({ length: registerCount }, (_, i) => [i, wordAt(i)]));
  const owed: Uint8Array[] = [];
  let questionCount = 0;
  let freeAtMs = 0;

  function byQuestions(frame: Uint8Array, most: number): Uint8Array[] {
    owed.push(frame);
    // Now and then it misses its turn, or catches up: two answers at once, or forgets what it owes.
    const chance = random.next();
    if (chance < 0.02 && owed.length <= most) return [];
    if (chance < 0.03) return owed.splice(0, 2);
    if (chance < 0.04) owed.splice(0, owed.length - 1);
    return owed.splice(0, 1);
  }

  return {
    get questionCount() {
      return questionCount;
    },
    ask(bytes) {
      for (const request of reader.push(bytes)) {
        questionCount += 1;
        const frame = rtuFrame(request.unit, answerTo(request.pdu, registers));
        if (lag.kind === 'questions') {
          for (const late of byQuestions(frame, lag.most)) clock.after(PROMPT_MS, () => answer(late));
          continue;
        }
        const tookMs = random.next() < lag.slowRatio ? random.next() * lag.slowestMs : PROMPT_MS;
        const fromMs = lag.inTurn ? Math.max(freeAtMs, clock.realMs()) : clock.realMs();
        freeAtMs = fromMs + tookMs;
        clock.after(freeAtMs - clock.realMs(), () => answer(frame));
      }
    },
  };
}
