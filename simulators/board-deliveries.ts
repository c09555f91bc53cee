/** What a bad network makes of a board's messages: late, twice, in the wrong order. Pure; repeatable by seed. */
import { seededRandom } from '../daemon/core/numbers/seeded-random.ts';

export interface Deliveries {
  readonly seed: number;
  /** Share of the messages that stay behind, 0 to 1. */
  readonly lateRatio?: number;
  /** How long they stay behind, in the kiln's time. */
  readonly lateByS?: number;
  /** Share that comes twice. */
  readonly doubledRatio?: number;
  /** Share that changes places with the message after it. */
  readonly swappedRatio?: number;
}

export interface Network<Message> {
  /** Takes what was sent, gives what arrives by then, in the order of its arrival. */
  carry(messages: readonly Message[]): Message[];
  /** All that is still on its way. */
  rest(): Message[];
}

export function network<Message extends { readonly atMs: number }>(how: Deliveries): Network<Message> {
  const random = seededRandom(how.seed);
  const lateByMs = (how.lateByS ?? 60) * 1000;
  let late: { readonly dueMs: number; readonly message: Message }[] = [];
  let swapped: Message[] = [];

  function arrivedBy(atMs: number): Message[] {
    const due = late.filter((l) => l.dueMs <= atMs);
    late = late.filter((l) => l.dueMs > atMs);
    return due.map((l) => l.message);
  }

  function carryOne(message: Message): Message[] {
    // Always three random numbers, so that one chance changed leaves the others as they were.
    const isLate = random.next() < (how.lateRatio ?? 0);
    const isDoubled = random.next() < (how.doubledRatio ?? 0);
    const isSwapped = random.next() < (how.swappedRatio ?? 0);
    const arrived = arrivedBy(message.atMs);
    if (isLate) {
      late.push({ dueMs: message.atMs + lateByMs, message });
      return arrived;
    }
    const copies = isDoubled ? [message, message] : [message];
    if (isSwapped && swapped.length === 0) {
      swapped = copies;
      return arrived;
    }
    arrived.push(...copies, ...swapped);
    swapped = [];
    return arrived;
  }

  return {
    carry: (messages) => messages.flatMap(carryOne),
    rest() {
      const left = [...swapped, ...late.map((l) => l.message)];
      swapped = [];
      late = [];
      return left;
    },
  };
}
