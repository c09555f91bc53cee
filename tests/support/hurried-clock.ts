/** Real time that runs faster, so that a wait of a minute is one of seconds; it knows what is waited for. */
import { performance } from 'node:perf_hooks';
import type { Clock } from '../../daemon/runtime/clock.ts';

export interface HurriedClock extends Clock {
  /** Each single wait that was asked for, in ms of this clock, oldest first. */
  readonly asked: readonly number[];
  /** What still runs: single waits, and what is done again and again. */
  timerCount(): number;
}

export function hurriedClock(times: number): HurriedClock {
  const startMs = performance.now();
  const asked: number[] = [];
  const running = new Set<NodeJS.Timeout>();
  const realMs = (): number => (performance.now() - startMs) * times;
  return {
    asked,
    timerCount: () => running.size,
    nowMs: () => Math.round(realMs()),
    notBefore: () => {},
    realMs,
    every(ms, fn) {
      const timer = setInterval(fn, ms / times);
      running.add(timer);
      return () => {
        clearInterval(timer);
        running.delete(timer);
      };
    },
    after(ms, fn) {
      asked.push(ms);
      const timer = setTimeout(() => {
        running.delete(timer);
        fn();
      }, ms / times);
      running.add(timer);
      return () => {
        clearTimeout(timer);
        running.delete(timer);
      };
    },
  };
}
