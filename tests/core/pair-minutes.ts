/** Two couples of one kiln, minute after minute, as their watches see them. */
import { type PairMinute, withMinute } from '../../daemon/core/tracking/parting.ts';

export type Of = (minute: number) => number;

export interface PairWay {
  readonly rulingC: Of;
  /** How far the other is above the ruling one. */
  readonly apartC: Of;
  readonly untilMin: number;
  readonly everyMin?: number;
  readonly isHeated?: boolean;
  readonly isShut?: (minute: number) => boolean;
}

/** The first minute at which something is found in all the minutes so far, and what; null where nothing is. */
export function firstFound<Found>(pair: PairWay, find: (minutes: readonly PairMinute[]) => Found | null) {
  const { rulingC, apartC, untilMin, everyMin = 1, isHeated = true, isShut = () => true } = pair;
  let minutes: readonly PairMinute[] = [];
  for (let minute = 0; minute <= untilMin; minute += everyMin) {
    const own = rulingC(minute);
    const otherC = own + apartC(minute);
    const now = { atMs: minute * 60_000, rulingC: own, otherC, isHeated, isShut: isShut(minute) };
    minutes = withMinute(minutes, now);
    const found = find(minutes);
    if (found !== null) return { minute, found };
  }
  return null;
}
