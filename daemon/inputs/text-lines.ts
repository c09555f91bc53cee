/** Text lines from a serial port, or from a serial-to-network box. */
import type { Clock } from '../runtime/clock.ts';
import type { Input, Listener } from './input.ts';
import { lineSplitter } from './line-splitter.ts';
import { onceRunning, type Running } from './once-running.ts';
import { type Reconnect, reconnect } from './reconnect.ts';
import { BY_ID_DIR } from './serial-ports.ts';
import { type SerialPortOptions, serialWire } from './serial-wire.ts';
import { statusTeller } from './status-teller.ts';
import { type TcpAddress, tcpWire } from './tcp-wire.ts';
import type { OpenWire, Wire } from './wire.ts';

export interface SerialOptions extends SerialPortOptions {
  readonly name: string;
}

export interface NetworkOptions extends TcpAddress {
  readonly name: string;
}

/**
 * A wire on which nothing comes any more is opened anew: a connection may be dead at the other end, an adapter hung. It
 * must have been silent for five times its longest pause, and for a minute at the least. Ours.
 */
const SHORTEST_SILENCE_MS = 60_000;
const SILENT_PAUSES = 5;
/** Before two lines were heard nobody knows how often it speaks. */
const UNKNOWN_SILENCE_MS = 600_000;
const LOOK_EACH_MS = 5000;

/**
 * @param chance 0 to 1, for the jitter of the waits between two tries
 * @param byIdDir where the ports that are plugged in are listed
 */
export function serialLines(
  options: SerialOptions,
  clock: Clock,
  chance: () => number = Math.random,
  byIdDir = BY_ID_DIR,
): Input {
  return textLines(options.name, serialWire(options, clock, byIdDir), clock, chance);
}

/** As `serialLines`. */
export function networkLines(options: NetworkOptions, clock: Clock, chance: () => number = Math.random): Input {
  return textLines(options.name, tcpWire(options, clock), clock, chance);
}

function textLines(name: string, wire: Wire, clock: Clock, chance: () => number): Input {
  return onceRunning(name, (listener) => listenTo(wire, clock, chance, listener));
}

function listenTo(wire: Wire, clock: Clock, chance: () => number, listener: Listener): Running {
  const tell = statusTeller(listener);
  let isStopped = false;
  let open: OpenWire | undefined;
  /** The port of a wire that fell silent is free again once this is done. */
  let closing: Promise<void> = Promise.resolve();
  let pauses = pauseWatch(clock.realMs());
  const again: Reconnect = reconnect(clock, chance, tryOpen);

  function tryOpen(): void {
    const lines = lineSplitter();
    open = wire.open({
      opened() {
        pauses = pauseWatch(clock.realMs());
        again.connected();
        tell('connected', `Listening to ${wire.where}.`);
      },
      bytes(bytes) {
        for (const text of lines.push(bytes)) {
          pauses.heard(clock.realMs());
          listener.heard({ text });
        }
      },
      gone(sentence) {
        open = undefined;
        if (isStopped) return;
        tell('lost', sentence);
        again.later();
      },
    });
  }

  function lookForSilence(): void {
    const dead = open;
    if (dead === undefined || !pauses.isTooLong(clock.realMs())) return;
    open = undefined;
    tell('lost', `${wire.where} has fallen silent. Check the instrument and its cable; it is opened anew by itself.`);
    closing = dead.close();
    void closing.then(() => {
      if (!isStopped) again.later();
    });
  }

  const stopLooking = clock.every(LOOK_EACH_MS, lookForSilence);
  tell('connecting', `Opening ${wire.where}.`);
  tryOpen();
  return {
    async stop() {
      isStopped = true;
      stopLooking();
      again.stop();
      await Promise.all([open?.close(), closing]);
    },
  };
}

interface PauseWatch {
  heard(realMs: number): void;
  isTooLong(realMs: number): boolean;
}

function pauseWatch(openedRealMs: number): PauseWatch {
  let lastRealMs = openedRealMs;
  let longestMs = 0;
  let lineCount = 0;
  return {
    heard(realMs) {
      if (lineCount > 0) longestMs = Math.max(longestMs, realMs - lastRealMs);
      lastRealMs = realMs;
      lineCount += 1;
    },
    isTooLong(realMs) {
      const limitMs = lineCount < 2 ? UNKNOWN_SILENCE_MS : Math.max(SHORTEST_SILENCE_MS, SILENT_PAUSES * longestMs);
      return realMs - lastRealMs > limitMs;
    },
  };
}
