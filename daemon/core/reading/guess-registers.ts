/** Registers that nobody has described yet -> every figure that they may hold, for a person to pick the kiln's (requirement C6). */
import type { ByteOrder, RegisterType } from '../plan/kiln.ts';
import { isSentinel, rawNumberAt, registerCountOf } from './register-map.ts';

export interface RegisterWay {
  readonly type: RegisterType;
  readonly order: ByteOrder;
  readonly scale: 1 | 0.1 | 0.01;
  readonly figure: number;
}

const TYPES = ['int16', 'uint16', 'int32', 'uint32', 'float32'] as const satisfies readonly RegisterType[];
const ORDERS = ['ABCD', 'CDAB', 'BADC', 'DCBA'] as const satisfies readonly ByteOrder[];
const SCALES = [1, 0.1, 0.01] as const;

/** What a kiln, a room or a cold day may show, in °C, °F or K. Ours. */
const COLDEST = -60;
const HOTTEST = 3300;

/**
 * Every way to read the registers from `place` on that gives what a kiln may show; the plainest first. Ways that give the
 * same figure are named once, by the first of them.
 * @param words as they came, 0 to 65,535
 */
export function registerWays(words: readonly number[], place: number): readonly RegisterWay[] {
  const ways: RegisterWay[] = [];
  for (const scale of SCALES) {
    for (const type of TYPES) {
      for (const order of ORDERS) {
        const figure = figureBy(words, place, type, order, scale);
        if (figure === undefined || ways.some((way) => way.figure === figure && sizeOf(way.type) === sizeOf(type))) {
          continue;
        }
        ways.push({ type, order, scale, figure });
      }
    }
  }
  return ways;
}

function figureBy(
  words: readonly number[],
  place: number,
  type: RegisterType,
  order: ByteOrder,
  scale: RegisterWay['scale'],
): number | undefined {
  // A float needs no scale, and 16 bits have but two orders.
  if (type === 'float32' && scale !== 1) return undefined;
  if (sizeOf(type) === 1 && (order === 'CDAB' || order === 'DCBA')) return undefined;
  const rawNumber = rawNumberAt(words, place, type, order);
  if (rawNumber === undefined || isSentinel(rawNumber, type)) return undefined;
  const figure = Number((rawNumber * scale).toFixed(4));
  // Next to nothing, but not nothing, is what another type's bytes look like.
  const isNothing = type === 'float32' && rawNumber !== 0 && Math.abs(rawNumber) < 1e-3;
  return figure >= COLDEST && figure <= HOTTEST && !isNothing ? figure : undefined;
}

const sizeOf = registerCountOf;
