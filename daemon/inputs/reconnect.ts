/** Tries again for ever, each time after a longer wait. */
import type { Clock } from '../runtime/clock.ts';

/** Requirement C9: from 1 to 30 s, doubling. */
export const FIRST_WAIT_S = 1;
export const LONGEST_WAIT_S = 30;

/** A share of each wait is left to chance, so that six kilns do not knock at a broker in step. Ours. */
const JITTER_SHARE = 0.2;

/** How long to wait after `failures` failures in a row (0 = the first). `chance` is from 0 to 1. */
export function waitS(failures: number, chance: number): number {
  const wholeS = Math.min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** Math.min(failures, 10));
  return wholeS * (1 - JITTER_SHARE * chance);
}

export interface Reconnect {
  /** Tries after the next wait; a try that waits already is kept. Returns the wait in seconds. */
  later(): number;
  /** Tries after the longest wait, where trying often does harm: a wrong password. */
  muchLater(): number;
  /** The connection stands. Once it has stood as long as the longest wait, the next loss begins at the shortest. */
  connected(): void;
  stop(): void;
}

/** @param chance 0 to 1, for the jitter */
export function reconnect(clock: Clock, chance: () => number, attempt: () => void): Reconnect {
  let failures = 0;
  let connectedAtRealMs: number | undefined;
  let cancel: (() => void) | undefined;

  function wait(seconds: number): number {
    if (cancel === undefined) {
      cancel = clock.after(seconds * 1000, () => {
        cancel = undefined;
        attempt();
      });
    }
    return seconds;
  }

  return {
    later() {
      const stoodS = connectedAtRealMs === undefined ? 0 : (clock.realMs() - connectedAtRealMs) / 1000;
      connectedAtRealMs = undefined;
      failures = stoodS >= LONGEST_WAIT_S ? 1 : failures + 1;
      return wait(waitS(failures - 1, chance()));
    },
    muchLater() {
      connectedAtRealMs = undefined;
      return wait(LONGEST_WAIT_S);
    },
    connected() {
      connectedAtRealMs = clock.realMs();
    },
    stop() {
      cancel?.();
      cancel = undefined;
    },
  };
}
