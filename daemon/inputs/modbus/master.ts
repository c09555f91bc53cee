/**
 * Asks one question at a time over an open wire, and waits for the one answer that is proven to be its own.
 * What a missed answer leaves to be done is in `unit-poll.ts`.
 */
import type { Clock } from '../../runtime/clock.ts';
import type { Found, Framing, Misfit, Question } from './frames.ts';

export type Outcome =
  | { readonly kind: 'words'; readonly words: readonly number[] }
  | { readonly kind: 'exception'; readonly code: number }
  /** Nothing came in time. */
  | { readonly kind: 'silence' }
  /** Something came in time, and no sound frame was in it. */
  | { readonly kind: 'garbled' }
  /** A sound frame came that answers something else, or more than one: a late answer is about. */
  | { readonly kind: 'misfit'; readonly misfit: Misfit }
  /** TCP: what comes is no Modbus; the connection can only be closed. */
  | { readonly kind: 'alien' }
  /** The wire was closed meanwhile. */
  | { readonly kind: 'gone' };

export interface Timing {
  /** The longest that an answer may take to begin. */
  readonly timeoutMs: number;
  /** Silence between two frames. */
  readonly gapMs: number;
  /** What one byte takes on the wire. */
  readonly byteMs: number;
}

export interface Master {
  ask(question: Question): Promise<Outcome>;
  /** True once nothing has come for `silentMs`; false if that does not happen within `atMostMs`, or the wire is gone. */
  quiet(silentMs: number, atMostMs: number): Promise<boolean>;
  /** Lets so many ms pass; false where the wire is gone meanwhile. */
  pause(ms: number): Promise<boolean>;
  heard(bytes: Uint8Array): void;
  /** The wire is gone: whatever is waited for ends. */
  end(): void;
}

/** The last answers that tell how long the instrument takes. */
const REMEMBERED = 16;
/** A program is not woken to the millisecond. */
const WAKING_MS = 10;
/** A line on which another master talks must not fill the memory. */
const MAX_PENDING = 16;

export function modbusMaster(
  framing: Framing,
  send: (bytes: Uint8Array) => void,
  clock: Pick<Clock, 'realMs' | 'after'>,
  timing: Timing,
): Master {
  const reader = framing.reader();
  /** What was found and not yet looked at. */
  const pending: Found[] = [];
  const tookMs: number[] = [];
  let transaction = 0;
  let lastByteRealMs = clock.realMs() - timing.gapMs;
  let hasEnded = false;
  let isAlien = false;
  let wake: (() => void) | undefined;

  /** Until something is found, the wire is gone, or `ms` have passed; not at all where that is so already. */
  function wait(ms: number): Promise<void> {
    if (hasEnded || ms <= 0) return Promise.resolve();
    return new Promise((resolve) => {
      const cancel = clock.after(ms, () => wake?.());
      wake = () => {
        cancel();
        wake = undefined;
        resolve();
      };
    });
  }

  async function quiet(silentMs: number, atMostMs: number): Promise<boolean> {
    const untilRealMs = clock.realMs() + atMostMs;
    for (;;) {
      if (hasEnded) return false;
      const leftMs = lastByteRealMs + silentMs - clock.realMs();
      if (leftMs <= 0) return true;
      if (clock.realMs() >= untilRealMs) return false;
      await wait(Math.min(leftMs, untilRealMs - clock.realMs()));
    }
  }

  async function nextFound(untilRealMs: number): Promise<Found | undefined> {
    for (;;) {
      const found = pending.shift();
      const leftMs = untilRealMs - clock.realMs();
      if (found !== undefined || hasEnded || leftMs <= 0) return found;
      await wait(leftMs);
    }
  }

  /** A misfit does not end the waiting: the right answer may still come, but none is believed beside a misfit. */
  async function answerBy(untilRealMs: number): Promise<Outcome> {
    let misfit: Misfit | undefined;
    for (;;) {
      const found = await nextFound(untilRealMs);
      if (hasEnded) return { kind: 'gone' };
      if (found?.kind === 'alien') return found;
      if (found === undefined) {
        if (misfit !== undefined) return { kind: 'misfit', misfit };
        return reader.restCount > 0 ? { kind: 'garbled' } : { kind: 'silence' };
      }
      if (found.kind === 'misfit') misfit ??= found.misfit;
      // By its number a late answer is known for what it is, and does no harm.
      else return misfit === undefined || misfit === 'number' ? found : { kind: 'misfit', misfit };
    }
  }

  /**
   * Where the answer carries no number, a late one to an earlier question may have come just now. Then the right one
   * follows, as soon as this instrument usually answers: so it is believed only after so long a silence.
   */
  async function believed(answer: Outcome, sentRealMs: number): Promise<Outcome> {
    if (framing.isNumbered || (answer.kind !== 'words' && answer.kind !== 'exception')) return answer;
    const nowRealMs = clock.realMs();
    tookMs.push(nowRealMs - sentRealMs);
    const usualMs = Math.max(...tookMs);
    if (tookMs.length > REMEMBERED) tookMs.shift();
    const untilRealMs = Math.min(sentRealMs + 2 * usualMs + WAKING_MS, nowRealMs + timing.timeoutMs);
    const another = await nextFound(untilRealMs);
    if (hasEnded) return { kind: 'gone' };
    return another === undefined ? answer : { kind: 'misfit', misfit: 'nobody-asked' };
  }

  async function ask(question: Question): Promise<Outcome> {
    if (isAlien) return { kind: 'alien' };
    const isQuiet = await quiet(timing.gapMs, timing.timeoutMs);
    if (hasEnded) return { kind: 'gone' };
    if (!isQuiet) return { kind: 'garbled' };
    // Of no concern where answers are numbered. Elsewhere: who knows what the next one will answer.
    const hasStray = pending.splice(0).length > 0;
    if (hasStray && !framing.isNumbered) return { kind: 'misfit', misfit: 'nobody-asked' };
    transaction = (transaction + 1) & 0xffff;
    reader.expect(question, transaction);
    const frame = framing.frame(question, transaction);
    const onWireMs = (frame.length + 5 + 2 * question.registerCount) * timing.byteMs;
    const sentRealMs = clock.realMs();
    send(frame);
    const answer = await answerBy(sentRealMs + timing.timeoutMs + onWireMs);
    reader.expect(null, transaction);
    return believed(answer, sentRealMs);
  }

  async function pause(ms: number): Promise<boolean> {
    const untilRealMs = clock.realMs() + ms;
    // What is found meanwhile ends a wait early.
    while (!hasEnded && clock.realMs() < untilRealMs) await wait(untilRealMs - clock.realMs());
    return !hasEnded;
  }

  return {
    ask,
    quiet,
    pause,
    heard(bytes) {
      lastByteRealMs = clock.realMs();
      const found = reader.push(bytes);
      if (found.some(({ kind }) => kind === 'alien')) isAlien = true;
      pending.push(...found);
      if (pending.length > MAX_PENDING) pending.splice(0, pending.length - MAX_PENDING);
      if (found.length > 0) wake?.();
    },
    end() {
      hasEnded = true;
      wake?.();
    },
  };
}
