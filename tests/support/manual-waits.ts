/** A clock on which nothing happens by itself: the test lets time pass, and waits for waits to be asked for. */
import type { Clock } from '../../daemon/runtime/clock.ts';

export interface ManualWaits extends Clock {
  /** The waits that are running, in real ms from when they were asked for, oldest first. */
  readonly asked: readonly number[];
  /** Lets `ms` pass and runs what falls due. */
  pass(ms: number): void;
  /** Runs what is to run again and again, once. */
  repeat(): void;
  /** Waits until a wait is asked for, then lets exactly that much time pass. Resolves with its length. */
  passNextWait(): Promise<number>;
}

export function manualWaits(): ManualWaits {
  let nowRealMs = 0;
  const waits: { dueMs: number; ms: number; fn: () => void }[] = [];
  const asked: number[] = [];
  const repeating = new Set<() => void>();
  let wake: () => void = () => {};
  function pass(ms: number): void {
    nowRealMs += ms;
    for (const wait of waits.filter((w) => w.dueMs <= nowRealMs)) {
      waits.splice(waits.indexOf(wait), 1);
      wait.fn();
    }
  }
  return {
    asked,
    nowMs: () => nowRealMs,
    // No record is opened on this clock.
    notBefore: () => {},
    realMs: () => nowRealMs,
    every(_ms, fn) {
      repeating.add(fn);
      return () => repeating.delete(fn);
    },
    repeat() {
      for (const fn of [...repeating]) fn();
    },
    after(ms, fn) {
      const wait = { dueMs: nowRealMs + ms, ms, fn };
      waits.push(wait);
      asked.push(ms);
      wake();
      return () => {
        const at = waits.indexOf(wait);
        if (at >= 0) waits.splice(at, 1);
      };
    },
    pass,
    async passNextWait() {
      if (waits.length === 0) {
        await new Promise<void>((resolve) => {
          wake = resolve;
        });
      }
      const ms = waits[0]?.ms ?? 0;
      pass(ms);
      return ms;
    },
  };
}
