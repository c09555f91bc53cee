/** A clock that stands still until the test lets time pass; timers run at their moment, in their order. */
import type { Clock } from '../../daemon/runtime/clock.ts';

export interface ManualClock extends Clock {
  /** Lets so many ms pass, real and firing time alike. */
  pass(ms: number): void;
  /** How many timers still run: what was stopped leaves none behind. */
  timerCount(): number;
}

/** 18 November 2026, 06:00 UTC, unless told otherwise. */
export function manualClock(beginMs = Date.UTC(2026, 10, 18, 6)): ManualClock {
  let startMs = beginMs;
  let realMs = 0;
  const timers = new Set<{ dueMs: number; readonly eachMs: number | null; readonly fn: () => void }>();
  const add = (inMs: number, eachMs: number | null, fn: () => void): (() => void) => {
    const timer = { dueMs: realMs + inMs, eachMs, fn };
    timers.add(timer);
    return () => timers.delete(timer);
  };
  return {
    nowMs: () => Math.round(startMs + realMs),
    notBefore: (atMs) => {
      startMs += Math.max(atMs - startMs - realMs, 0);
    },
    realMs: () => realMs,
    every: (ms, fn) => add(ms, ms, fn),
    after: (ms, fn) => add(ms, null, fn),
    pass(ms) {
      const endMs = realMs + ms;
      for (;;) {
        const due = [...timers].filter((timer) => timer.dueMs <= endMs).sort((a, b) => a.dueMs - b.dueMs)[0];
        if (due === undefined) break;
        realMs = Math.max(due.dueMs, realMs);
        if (due.eachMs === null) timers.delete(due);
        else due.dueMs += due.eachMs;
        due.fn();
      }
      realMs = endMs;
    },
    timerCount: () => timers.size,
  };
}
