/** A clock that runs as fast as the work allows: time passes only while everything waits. */
import { setImmediate as idle } from 'node:timers/promises';
import type { Clock } from '../../daemon/runtime/clock.ts';
import { manualClock } from './manual-clock.ts';

export interface VirtualClock extends Clock {
  /** Lets time pass, from timer to timer, until `isDone` or for so many ms. Between two timers all promises settle. */
  run(ms: number, isDone?: () => boolean): Promise<void>;
  timerCount(): number;
}

export function virtualClock(): VirtualClock {
  const clock = manualClock();
  const dues: number[] = [];
  const after = (ms: number, fn: () => void): (() => void) => {
    dues.push(clock.realMs() + ms);
    return clock.after(ms, fn);
  };
  return {
    ...clock,
    after,
    async run(ms, isDone = () => false) {
      const untilMs = clock.realMs() + ms;
      for (;;) {
        await idle();
        if (isDone()) return;
        const nextMs = Math.min(untilMs, ...dues);
        for (let i = dues.length - 1; i >= 0; i--) if ((dues[i] ?? 0) <= nextMs) dues.splice(i, 1);
        clock.pass(Math.max(nextMs - clock.realMs(), 0));
        if (clock.realMs() >= untilMs) return;
      }
    },
  };
}
