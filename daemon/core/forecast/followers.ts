/**
 * A kiln that is steered after its plan, foretold: it makes for the plan in a time of its own, no faster than it can climb
 * or fall, and its pace turns only as fast as body and couple let it. So a corner of the plan is known beforehand, and so
 * is what follows where it cannot keep up.
 */
import { LOOKS_S } from './looks.ts';
import { ROOM_C } from './plan-path.ts';

export interface Steered {
  readonly fromC: number;
  readonly slopePerS: number;
  readonly climbPerS: number;
  readonly fallS: number;
}

/** In about so many seconds a deviation is regained, and a pace turned. From a bicycle-oven controller to a kiln's. Ours. */
const REGAIN_S = [20, 80, 320] as const;
const TURN_S = [10, 60] as const;
/** It makes for the plan, or keeps the distance to it that it has now. */
const KINDS = ['to the plan', 'beside it'] as const;
export const FOLLOWER_COUNT = KINDS.length * REGAIN_S.length * TURN_S.length;

interface Stride {
  readonly lengthS: number;
  readonly endS: number;
  /** Index of the look that ends here, or -1. */
  readonly look: number;
  readonly keepRatio: readonly number[];
}

/** Short strides first; no stride is longer than a tenth of the way so far, or 3 s. */
const STRIDES: readonly Stride[] = LOOKS_S.flatMap((untilS, look) => {
  const fromS = LOOKS_S[look - 1] ?? 0;
  const count = Math.max(2, Math.ceil((untilS - fromS) / Math.max(untilS * 0.12, 3)));
  const lengthS = (untilS - fromS) / count;
  const keepRatio = TURN_S.map((turnS) => Math.exp(-lengthS / turnS));
  return Array.from({ length: count }, (_, i) => ({
    lengthS,
    endS: fromS + lengthS * (i + 1),
    look: i === count - 1 ? look : -1,
    keepRatio,
  }));
});

/**
 * @param plannedC the plan so many seconds ahead, asked forward in time
 * @param put takes what follower `i` foretells at a look
 */
export function foretellFollowers(
  steered: Steered,
  plannedC: (aheadS: number) => number,
  put: (follower: number, look: number, celsius: number) => void,
): void {
  const planC = [plannedC(0), ...STRIDES.map((stride) => plannedC(stride.endS))];
  const besideC = steered.fromC - (planC[0] ?? steered.fromC);
  let follower = 0;
  for (const kind of KINDS) {
    const offC = kind === 'beside it' ? besideC : 0;
    for (const regainS of REGAIN_S) {
      for (let turn = 0; turn < TURN_S.length; turn++) {
        follow(steered, planC, offC, regainS, turn, follower, put);
        follower++;
      }
    }
  }
}

function follow(
  { fromC, slopePerS, climbPerS, fallS }: Steered,
  planC: readonly number[],
  offC: number,
  regainS: number,
  turn: number,
  follower: number,
  put: (follower: number, look: number, celsius: number) => void,
): void {
  const turnS = TURN_S[turn] ?? 1;
  let celsius = fromC;
  let pacePerS = slopePerS;
  for (let i = 0; i < STRIDES.length; i++) {
    const stride = STRIDES[i];
    if (stride === undefined) return;
    const { lengthS } = stride;
    const atC = (planC[i] ?? fromC) + offC;
    const nextC = (planC[i + 1] ?? fromC) + offC;
    const wantedPerS = (nextC - atC) / lengthS + (atC - celsius) / Math.max(regainS, lengthS);
    const lowestPerS = (ROOM_C - celsius) / fallS;
    const givenPerS = wantedPerS > climbPerS ? climbPerS : Math.max(wantedPerS, lowestPerS);
    const keepRatio = stride.keepRatio[turn] ?? 0;
    celsius += givenPerS * lengthS + (pacePerS - givenPerS) * turnS * (1 - keepRatio);
    pacePerS = givenPerS + (pacePerS - givenPerS) * keepRatio;
    if (stride.look >= 0) put(follower, stride.look, celsius);
  }
}
