/** Text lines from a serial port. */
import { statSync } from 'node:fs';
import { SerialPort } from 'serialport';
import type { Clock } from '../runtime/clock.ts';
import type { Input, Listener } from './input.ts';
import { lineSplitter } from './line-splitter.ts';
import { onceRunning, type Running } from './once-running.ts';
import { type Reconnect, reconnect } from './reconnect.ts';
import { whyNotOpened } from './serial-trouble.ts';
import { statusTeller } from './status-teller.ts';

export interface SerialOptions {
  readonly name: string;
  /** Best as /dev/serial/by-id/…, which stays the same whatever else is plugged in. */
  readonly port: string;
  readonly baud: number;
}

/** An unplugged port is told of within 2 s (requirement C9). */
const LOOK_EACH_MS = 1000;

/** @param chance 0 to 1, for the jitter of the waits between two tries */
export function serialLines(options: SerialOptions, clock: Clock, chance: () => number = Math.random): Input {
  return onceRunning(options.name, (listener) => listenTo(options, clock, chance, listener));
}

function listenTo(options: SerialOptions, clock: Clock, chance: () => number, listener: Listener): Running {
  const tell = statusTeller(listener);
  let open: SerialPort | undefined;
  let openDevice: string | undefined;
  let isStopped = false;
  let whenForgotten: (() => void) | undefined;
  const again: Reconnect = reconnect(clock, chance, tryOpen);

  /** Each try has a port object of its own, and the old one is left without listeners: nothing grows with the years. */
  function tryOpen(): void {
    const port = new SerialPort({ path: options.port, baudRate: options.baud, autoOpen: false });
    const lines = lineSplitter();
    open = port;
    // Node ends the process over an 'error' that nobody hears. What it tells, 'close' tells too.
    port.on('error', () => {});
    port.on('data', (bytes: Uint8Array) => {
      for (const text of lines.push(bytes)) listener.heard({ text });
    });
    port.once('close', () => {
      forget(port);
      if (isStopped) return;
      tell('lost', `${options.port} was unplugged. Push its plug in again; it is tried again by itself.`);
      again.later();
    });
    port.open((error) => {
      if (error === null) return opened(port);
      forget(port);
      if (isStopped) return;
      tell('lost', whyNotOpened(options.port, error));
      again.later();
    });
  }

  function opened(port: SerialPort): void {
    if (isStopped) {
      close(port);
      return;
    }
    again.connected();
    openDevice = deviceAt(options.port);
    tell('connected', `Listening to ${options.port} at ${options.baud} baud.`);
  }

  function forget(port: SerialPort): void {
    port.removeAllListeners();
    port.on('error', () => {});
    if (open === port) open = undefined;
    whenForgotten?.();
  }

  function close(port: SerialPort): void {
    port.close((error) => {
      // It vanished as it was being closed: it is closed all the same, though no 'close' follows.
      if (error) forget(port);
    });
  }

  /**
   * A port that is unplugged while a read is under way is not always reported: the library reads "no bytes" over and
   * over (about once in 500 pulls of a pseudo-terminal). So whether the device is still there is looked at as well.
   */
  function look(): void {
    if (open?.isOpen && !open.closing && openDevice !== undefined && deviceAt(options.port) !== openDevice) close(open);
  }

  const stopLooking = clock.every(LOOK_EACH_MS, look);
  tell('connecting', `Opening ${options.port}.`);
  tryOpen();
  return {
    async stop() {
      isStopped = true;
      stopLooking();
      again.stop();
      const port = open;
      if (port === undefined) return;
      await new Promise<void>((resolve) => {
        whenForgotten = resolve;
        // One that is still being opened is closed as soon as it is open.
        if (port.isOpen) close(port);
      });
    },
  };
}

/** Tells a device from one that was plugged in later under the same name; undefined where there is none. */
function deviceAt(port: string): string | undefined {
  const stats = statSync(port, { throwIfNoEntry: false });
  return stats === undefined ? undefined : `${stats.dev}:${stats.ino}:${stats.rdev}`;
}
