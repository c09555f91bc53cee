/**
 * Tells what an instrument says now from what it, or the network, kept back and brings later (requirement C12). Behind a
 * pause comes either what is measured now, at the instrument's own pace, or what was kept back: faster than it was
 * measured, all at once or little by little, and of that only the last is of now. What the rest was measured at nobody knows.
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
/** So many times between two messages are kept; the middle one is the usual one. */
const STEPS = 5;
/** Where some are shorter than this share of it, several messages come in a go, and no pace can be told. Ours. */
const EVEN_RATIO = 0.5;
/** What comes so much earlier than usual, or than the earliest of late by this share, is more than jitter. Ours. */
const LEAST_EARLY_RATIO = 0.2;
const JITTER_RATIO = 1.25;
/** Of an instrument without a pace only what follows sooner than this share of the usual time came in one go. Ours. */
const BURST_RATIO = 1 / 3;
/** How long a word behind a pause waits for others that come too soon; longer, once some did. Real time. Ours. */
const LEAST_WAIT_REAL_MS = 250;
const MOST_WAIT_REAL_MS = 10_000;
/** So many messages behind a pause are looked at; one that is slower than the usual by a twentieth is not told apart. */
const WATCHED = 5;
/** Nobody keeps back more than this; an instrument that has become faster meanwhile is believed again after it. Ours. */
const MOST_BEHIND_MS = 1_800_000;
/** What is no older than so many times the usual step is of now. */
const NOW_RATIO = 1.5;
/** More came than by this share of the pause can have been kept back: the instrument has become faster. Ours. */
const SPARE_RATIO = 0.1;
/** What was kept back is over where so many in a row were not followed too soon. Ours. */
const EVEN_COUNT = 2;

interface Channel {
  lastMs: number;
  readonly stepsMs: number[];
  waiting: { readonly message: Heard; readonly cancel: () => void } | null;
  behind: Behind | null;
}

/** Behind a pause. */
interface Behind {
  readonly usualMs: number;
  /** So much sooner than usual is too soon. */
  readonly earlyMs: number;
  /** How old the newest message is, if the first one behind the pause was the oldest that was kept back. */
  lagMs: number;
  readonly mostLagMs: number;
  /** By how much they came faster than usual. */
  gainedMs: number;
  count: number;
  isBacklog: boolean;
  evenCount: number;
}

export function arrivals(clock: Clock, hand: (message: Arrived) => void): Arrivals {
  const channels = new Map<string, Channel>();

  function hold(channel: Channel, behind: Behind, message: Heard): void {
    const mostMs = behind.isBacklog ? Number.POSITIVE_INFINITY : MOST_WAIT_REAL_MS;
    const waitRealMs = Math.min(Math.max(behind.usualMs - tooSoonMs(behind), LEAST_WAIT_REAL_MS), mostMs);
    channel.waiting = { message, cancel: clock.after(waitRealMs, () => release(channel, false)) };
  }

  /** @param isOvertaken a newer one came too soon for an instrument that measures now */
  function release(channel: Channel, isOvertaken: boolean): void {
    const { waiting, behind } = channel;
    if (waiting === null) return;
    channel.waiting = null;
    waiting.cancel();
    const isLate = behind !== null && isOld(behind, isOvertaken);
    if (behind?.isBacklog === true && !isLate) channel.behind = isNearlyNow(behind) ? null : watchedAgain(behind);
    hand(isLate ? { ...waiting.message, keptBack: true } : waiting.message);
  }

  function heardAtPace(channel: Channel, behind: Behind, message: Heard, stepMs: number): void {
    behind.gainedMs += behind.usualMs - stepMs;
    behind.count += 1;
    const gainMs = behind.isBacklog ? behind.usualMs - stepMs : behind.gainedMs;
    const isTooSoon = gainMs > tooSoonMs(behind);
    release(channel, isTooSoon);
    behind.lagMs += stepMs - behind.usualMs;
    if (isTooSoon) behind.isBacklog = true;
    if (behind.isBacklog && channel.behind === behind) {
      hold(channel, behind, message);
      return;
    }
    if (behind.count >= WATCHED && channel.behind === behind) channel.behind = null;
    hand(message);
  }

  return {
    heard(message) {
      const nowMs = clock.nowMs();
      // What the broker kept from earlier is no word of the instrument.
      if (message.retained === true) return hand(message);
      const key = message.channel ?? '';
      const channel = channels.get(key);
      if (channel === undefined) {
        channels.set(key, { lastMs: nowMs, stepsMs: [], waiting: null, behind: null });
        return hand(message);
      }
      const stepMs = nowMs - channel.lastMs;
      channel.lastMs = nowMs;
      const usualMs = middleOf(channel.stepsMs);
      if (usualMs !== undefined && stepMs > Math.max(PAUSE_MS, PAUSE_RATIO * usualMs)) {
        release(channel, false);
        const { behind } = channel;
        const goesOnMs = behind?.isBacklog === true ? Math.max(behind.lagMs, 0) : 0;
        channel.behind = behindPause(channel.stepsMs, usualMs, stepMs + goesOnMs);
        return hold(channel, channel.behind, message);
      }
      if (channel.behind !== null) return heardAtPace(channel, channel.behind, message, stepMs);
      channel.stepsMs.push(stepMs);
      if (channel.stepsMs.length > STEPS) channel.stepsMs.shift();
      hand(message);
    },
    stop() {
      for (const channel of channels.values()) release(channel, false);
    },
  };
}

function behindPause(stepsMs: readonly number[], usualMs: number, pauseMs: number): Behind {
  const leastMs = Math.min(...stepsMs);
  const earlyMs =
    leastMs < EVEN_RATIO * usualMs
      ? (1 - BURST_RATIO) * usualMs
      : Math.max(LEAST_EARLY_RATIO * usualMs, JITTER_RATIO * (usualMs - leastMs));
  const lagMs = Math.min(pauseMs - usualMs, MOST_BEHIND_MS);
  return { usualMs, earlyMs, lagMs, mostLagMs: lagMs, gainedMs: 0, count: 0, isBacklog: false, evenCount: 0 };
}

/** Once it is known that there is a backlog, half of that tells that it goes on. */
function tooSoonMs({ earlyMs, isBacklog }: Behind): number {
  return isBacklog ? earlyMs / 2 : earlyMs;
}

/** Whether the one that waits is of earlier. */
function isOld(behind: Behind, isOvertaken: boolean): boolean {
  const { lagMs, usualMs, isBacklog } = behind;
  if (isOvertaken) {
    behind.evenCount = 0;
    return lagMs > -Math.max(usualMs, SPARE_RATIO * behind.mostLagMs);
  }
  behind.evenCount += 1;
  return isBacklog && !isNearlyNow(behind) && behind.evenCount < EVEN_COUNT;
}

function isNearlyNow({ lagMs, usualMs }: Behind): boolean {
  return lagMs <= NOW_RATIO * usualMs;
}

/** It seems to be over, though less came than could have been kept: that may have been chance. */
function watchedAgain(behind: Behind): Behind {
  return { ...behind, gainedMs: 0, count: 0, isBacklog: false, evenCount: 0 };
}

function middleOf(stepsMs: readonly number[]): number | undefined {
  return [...stepsMs].sort((a, b) => a - b)[stepsMs.length >> 1];
}
