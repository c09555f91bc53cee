/**
 * Tells what an instrument says now from what it, or the network, kept back and brings all at once (requirement C12):
 * of a burst behind a pause only the newest is of now. What the rest was measured at nobody knows.
 */
import type { Heard } from '../inputs/input.ts';
import type { Clock } from './clock.ts';

export interface Arrived extends Heard {
  readonly keptBack?: boolean;
}

export interface Arrivals {
  heard(message: Heard): void;
  /** Hands on what still waits. */
  stop(): void;
}

/** A pause is longer than so many times what is usual, and than this. Ours: one lost reading is no pause. */
const PAUSE_RATIO = 3;
const PAUSE_MS = 3000;
/** What follows sooner than this share of the usual time came in one go with what was before it. Ours. */
const BURST_RATIO = 1 / 3;
/** How long the first word behind a pause waits for others: they come within moments, if they come. Real time. Ours. */
const LEAST_WAIT_REAL_MS = 250;
const MOST_WAIT_REAL_MS = 4000;
/** The middle one of so many times between two messages is the usual one. */
const STEPS = 5;

interface Channel {
  lastMs: number;
  readonly stepsMs: number[];
  waiting: { readonly message: Heard; readonly cancel: () => void } | null;
}

export function arrivals(clock: Clock, hand: (message: Arrived) => void): Arrivals {
  const channels = new Map<string, Channel>();

  function release(channel: Channel, isKeptBack: boolean): void {
    if (channel.waiting === null) return;
    const { message, cancel } = channel.waiting;
    channel.waiting = null;
    cancel();
    hand(isKeptBack ? { ...message, keptBack: true } : message);
  }

  function hold(channel: Channel, message: Heard, usualMs: number): void {
    const waitRealMs = Math.min(Math.max(usualMs * BURST_RATIO, LEAST_WAIT_REAL_MS), MOST_WAIT_REAL_MS);
    channel.waiting = { message, cancel: clock.after(waitRealMs, () => release(channel, false)) };
  }

  return {
    heard(message) {
      const nowMs = clock.nowMs();
      // What the broker kept from earlier is no word of the instrument.
      if (message.retained === true) return hand(message);
      const key = message.channel ?? '';
      const channel = channels.get(key);
      if (channel === undefined) {
        channels.set(key, { lastMs: nowMs, stepsMs: [], waiting: null });
        return hand(message);
      }
      const stepMs = nowMs - channel.lastMs;
      channel.lastMs = nowMs;
      const usualMs = middleOf(channel.stepsMs);
      if (usualMs === undefined) {
        channel.stepsMs.push(stepMs);
        return hand(message);
      }
      const isBurst = channel.waiting !== null && stepMs < usualMs * BURST_RATIO;
      release(channel, isBurst);
      if (isBurst || stepMs > Math.max(PAUSE_MS, PAUSE_RATIO * usualMs)) return hold(channel, message, usualMs);
      channel.stepsMs.push(stepMs);
      if (channel.stepsMs.length > STEPS) channel.stepsMs.shift();
      hand(message);
    },
    stop() {
      for (const channel of channels.values()) release(channel, false);
    },
  };
}

function middleOf(stepsMs: readonly number[]): number | undefined {
  return [...stepsMs].sort((a, b) => a - b)[stepsMs.length >> 1];
}
