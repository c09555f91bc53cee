/** One communication fault to a unit number: how each unit's reply comes to the client, if it comes. */
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { exceptionPdu, type Pdu, type Request, rtuFrame, tcpFrame, valuesPdu } from './frames.ts';

/** What goes over the wire, and how many real ms after the request. */
export type Delivery =
  | { readonly kind: 'bytes'; readonly afterRealMs: number; readonly bytes: Uint8Array }
  /** TCP: the connection is closed. */
  | { readonly kind: 'hang-up'; readonly afterRealMs: number };

export interface Asked {
  readonly request: Request;
  /** Requests that this unit was asked before this one. */
  readonly beforeCount: number;
  /** What a healthy instrument answers. */
  readonly answer: Pdu;
  /** The same request answered from the registers as they stood when this unit was last asked. */
  readonly staleAnswer: Pdu;
}

export interface UnitBehaviour {
  readonly unit: number;
  readonly sentence: string;
  deliver(asked: Asked): readonly Delivery[];
}

/** Later than a client usually waits (1 s), so the reply comes into its next request. */
const LATE_REAL_MS = 1500;
/** Far over the 1.5 characters that a frame's bytes may lie apart, far under a client's patience. */
const PAUSE_REAL_MS = 50;
const EACH_TENTH = 10;
const WRONG_UNIT_OFFSET = 28;

/** In the order of their unit numbers, from 1. */
export const unitBehaviours: readonly UnitBehaviour[] = [
  { unit: 1, sentence: 'Healthy: answers at once, and right.', deliver: (asked) => [now(framed(asked))] },
  { unit: 2, sentence: 'Never answers: switched off, or its wire is broken.', deliver: () => [] },
  {
    unit: 3,
    sentence: 'Answers 1.5 s late: the reply comes into the request after it.',
    deliver: (asked) => [after(LATE_REAL_MS, framed(asked))],
  },
  {
    unit: 4,
    sentence: 'Wrong check: the CRC on a serial line, the transaction number on TCP.',
    deliver: (asked) => [now(wronglyChecked(asked))],
  },
  {
    unit: 5,
    sentence: 'Wrong byte count, check sum good: by turns one register too many, and a count its data do not have.',
    deliver: (asked) => [now(framed(asked, wronglyCounted(asked)))],
  },
  {
    unit: 6,
    sentence: 'Exception 2 to everything: no such register.',
    deliver: (asked) => [now(framed(asked, exceptionPdu(functionOf(asked), 2)))],
  },
  {
    unit: 7,
    sentence: 'Exception 6, busy, to every other request, the first one among them.',
    deliver: (asked) => [
      now(framed(asked, asked.beforeCount % 2 === 0 ? exceptionPdu(functionOf(asked), 6) : asked.answer)),
    ],
  },
  {
    unit: 8,
    sentence: `Answers in the name of unit ${8 + WRONG_UNIT_OFFSET}.`,
    deliver: (asked) => [now(framed(asked, asked.answer, asked.request.unit + WRONG_UNIT_OFFSET))],
  },
  {
    unit: 9,
    sentence: 'The reply is cut off half way.',
    deliver: (asked) => [now(halves(framed(asked))[0])],
  },
  {
    unit: 10,
    sentence: 'One to six bytes of noise come before the reply.',
    deliver: (asked) => [now(Uint8Array.of(...noise(asked.beforeCount), ...framed(asked)))],
  },
  {
    unit: 11,
    sentence: 'The reply comes in two pieces with a pause of 50 ms.',
    deliver: (asked) => {
      const [first, second] = halves(framed(asked));
      return [now(first), after(PAUSE_REAL_MS, second)];
    },
  },
  {
    unit: 12,
    sentence: 'Sends the request back before its reply, as a two-wire adapter does that hears itself.',
    deliver: (asked) => [now(Uint8Array.of(...asked.request.frame, ...framed(asked)))],
  },
  {
    unit: 13,
    sentence: 'Stale: answers with the values of the request before.',
    deliver: (asked) => [now(framed(asked, asked.staleAnswer))],
  },
  {
    unit: 14,
    sentence: 'Each tenth request is lost; on TCP the connection is closed over it.',
    deliver: (asked) => {
      if ((asked.beforeCount + 1) % EACH_TENTH !== 0) return [now(framed(asked))];
      return asked.request.transaction === undefined ? [] : [{ kind: 'hang-up', afterRealMs: 0 }];
    },
  },
];

function now(bytes: Uint8Array): Delivery {
  return after(0, bytes);
}

function after(afterRealMs: number, bytes: Uint8Array): Delivery {
  return { kind: 'bytes', afterRealMs, bytes };
}

function functionOf({ request }: Asked): number {
  return request.pdu[0] ?? 0;
}

/** In a frame of the wire that the request came over. */
function framed({ request, answer }: Asked, pdu: Pdu = answer, unit: number = request.unit): Uint8Array {
  return request.transaction === undefined ? rtuFrame(unit, pdu) : tcpFrame(request.transaction, unit, pdu);
}

function wronglyChecked(asked: Asked): Uint8Array {
  const { transaction, unit } = asked.request;
  if (transaction !== undefined) return tcpFrame((transaction + 1) & 0xffff, unit, asked.answer);
  const frame = framed(asked);
  frame[frame.length - 1] = (frame.at(-1) ?? 0) ^ 0x55;
  return frame;
}

function wronglyCounted({ answer, beforeCount }: Asked): Pdu {
  const isException = ((answer[0] ?? 0) & 0x80) !== 0;
  if (isException) return answer;
  const words = (answer[1] ?? 0) / 2;
  if (beforeCount % 2 === 1) return Uint8Array.of(answer[0] ?? 0, words * 2 + 2, ...answer.subarray(2));
  const values = Array.from({ length: words }, (_, i) => (answer[2 + 2 * i] ?? 0) * 256 + (answer[3 + 2 * i] ?? 0));
  return valuesPdu(answer[0] ?? 0, [...values, 0]);
}

function halves(frame: Uint8Array): [Uint8Array, Uint8Array] {
  const middle = Math.floor(frame.length / 2);
  return [frame.subarray(0, middle), frame.subarray(middle)];
}

function noise(seed: number): number[] {
  const random = seededRandom(seed + 1);
  return Array.from({ length: 1 + Math.floor(random.next() * 6) }, () => Math.floor(random.next() * 256));
}
