/** By which plain limits a couple's figures are no temperature, or none to believe. Ours, set once. */

export interface CoupleState {
  readonly firstC: number | null;
  /** The last figure that was believed, and since when it has been the same. */
  readonly lastC: number | null;
  readonly lastS: number;
  readonly sameSinceS: number;
  /** Since when the figures have been far from it; null while they are not. */
  readonly oddSinceS: number | null;
  /** It believes the figures again after a leap. */
  readonly hasJumped: boolean;
}

export const NEW_COUPLE: CoupleState = {
  firstC: null,
  lastC: null,
  lastS: 0,
  sameSinceS: 0,
  oddSinceS: null,
  hasJumped: false,
};

/** Codes by which instruments say that they have no value. */
const SENTINELS: readonly number[] = [0, 999, 9999];
const LOWEST_C = -10;
const HIGHEST_C = 1300;
const JUMP_C = 50;
const JUMP_WITHIN_S = 120;
const JUMP_STANDS_S = 30;
const FROZEN_S = 600;
/** A kiln that is nearly cold may show one figure for long. */
const FROZEN_FROM_C = 100;
/** A couple the wrong way round falls as the kiln climbs. */
const REVERSED_C = 10;

/** What is no temperature at all; null where it is one. */
export function whyNoTemperature(celsius: number | null): string | null {
  if (celsius === null) return 'open-circuit';
  if (SENTINELS.includes(celsius)) return 'sentinel';
  return celsius < LOWEST_C || celsius > HIGHEST_C ? 'out-of-range' : null;
}

/** A figure far from the last one is not believed before such figures have stood for a while. */
export function hearCouple(before: CoupleState, atS: number, celsius: number): CoupleState {
  const { lastC, lastS } = before;
  const isOdd = lastC !== null && atS - lastS < JUMP_WITHIN_S && Math.abs(celsius - lastC) > JUMP_C;
  const oddSinceS = isOdd ? (before.oddSinceS ?? atS) : null;
  if (oddSinceS !== null && atS - oddSinceS < JUMP_STANDS_S) return { ...before, oddSinceS, hasJumped: false };
  const sameSinceS = celsius === lastC ? before.sameSinceS : atS;
  const firstC = before.firstC ?? celsius;
  return { firstC, lastC: celsius, lastS: atS, sameSinceS, oddSinceS: null, hasJumped: isOdd };
}

/** What is the matter with a couple that shows temperatures, as `cause` of an alert names it; null where nothing is. */
export function coupleTrouble(couple: CoupleState, isFirstClimb: boolean): string | null {
  const { firstC, lastC, lastS, sameSinceS } = couple;
  if (firstC === null || lastC === null) return null;
  if (couple.hasJumped) return 'jump';
  if (lastC > FROZEN_FROM_C && lastS - sameSinceS > FROZEN_S) return 'frozen';
  return isFirstClimb && lastC < firstC - REVERSED_C ? 'reversed' : null;
}
