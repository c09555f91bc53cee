/** A clock that a test turns by hand: timers run as it passes them, in their order. */
import type { Clock } from '../../daemon/runtime/clock.ts';

export interface HandClock extends Clock {
  turn(ms: number): void;
  timerCount(): number;
}

export function handClock(beginMs = Date.UTC(2026, 10, 18, 12, 58)): HandClock {
  let startMs = beginMs;
  let realMs = 0;
  const timers = new Set<{ dueMs: number; readonly eachMs: number | null; readonly fn: () => void }>();
  const add = (inMs: number, eachMs: number | null, fn: () => void): (() => void) => {
    const timer = { dueMs: realMs + inMs, eachMs, fn };
    timers.add(timer);
    return () => timers.delete(timer);
  };
  return {
    nowMs: () => startMs + realMs,
    notBefore: (atMs) => {
      startMs += Math.max(atMs - startMs - realMs, 0);
    },
    realMs: () => realMs,
    every: (ms, fn) => add(ms, ms, fn),
    after: (ms, fn) => add(ms, null, fn),
    turn(ms) {
      const endMs = realMs + ms;
      for (;;) {
        const due = [...timers].filter((timer) => timer.dueMs <= endMs).sort((a, b) => a.dueMs - b.dueMs)[0];
        if (due === undefined) break;
        realMs = due.dueMs;
        if (due.eachMs === null) timers.delete(due);
        else due.dueMs += due.eachMs;
        due.fn();
      }
      realMs = endMs;
    },
    timerCount: () => timers.size,
  };
}
