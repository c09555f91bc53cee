/** Time for the shell. Real time for freshness and timers; firing time may run faster where every source is simulated. */
import { performance } from 'node:perf_hooks';

export interface Clock {
  /** UTC ms of the firing's time. It never steps: it grows with the monotonic clock. */
  nowMs(): number;
  /** From now on `nowMs` is at least this: a record's last line may lie ahead of a machine's wrong clock. */
  notBefore(atMs: number): void;
  /** Monotonic real milliseconds, for freshness. */
  realMs(): number;
  /** Runs `fn` each `realMs` of real time until the returned function is called. */
  every(realMs: number, fn: () => void): () => void;
  /** Runs `fn` once after `realMs` of real time unless the returned function is called first. */
  after(realMs: number, fn: () => void): () => void;
}

function every(realMs: number, fn: () => void): () => void {
  const timer = setInterval(fn, realMs);
  return () => clearInterval(timer);
}

function after(realMs: number, fn: () => void): () => void {
  const timer = setTimeout(fn, realMs);
  return () => clearTimeout(timer);
}

/** The machine's clock, read once: later steps of the wall clock do not move it (see `wallStepS`). */
export function systemClock(): Clock & { wallStepS(): number } {
  const startedRealMs = performance.now();
  let startedAtMs = Date.now();
  const nowMs = (): number => Math.round(startedAtMs + performance.now() - startedRealMs);
  return {
    nowMs,
    notBefore: (atMs) => {
      startedAtMs += Math.max(atMs - nowMs(), 0);
    },
    realMs: () => performance.now(),
    every,
    after,
    /** How far the wall clock has been set away from ours, in seconds. */
    wallStepS: () => (Date.now() - nowMs()) / 1000,
  };
}

/** A clock for simulated kilns, whose speed can be changed while it runs. */
export function simulatedClock(speed: number): Clock & { setSpeed(speed: number): void } {
  let rate = speed;
  let anchorReal = performance.now();
  let anchorMs = Date.now();
  const nowMs = (): number => Math.round(anchorMs + (performance.now() - anchorReal) * rate);
  return {
    nowMs,
    notBefore: (atMs) => {
      anchorMs += Math.max(atMs - nowMs(), 0);
    },
    realMs: () => performance.now(),
    every,
    after,
    setSpeed(next) {
      const at = nowMs();
      anchorReal = performance.now();
      anchorMs = at;
      rate = next;
    },
  };
}
