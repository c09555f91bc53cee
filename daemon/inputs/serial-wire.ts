/** A serial port, opened once. */
import { statSync } from 'node:fs';
import { SerialPort } from 'serialport';
import type { Clock } from '../runtime/clock.ts';
import { BY_ID_DIR } from './serial-ports.ts';
import { whyNotOpened } from './serial-trouble.ts';
import type { OpenWire, Wire, WireEvents } from './wire.ts';

export interface SerialPortOptions {
  /** Best as /dev/serial/by-id/…, which stays the same whatever else is plugged in. */
  readonly port: string;
  readonly baud: number;
  readonly parity?: 'none' | 'even' | 'odd' | undefined;
  readonly stopBits?: 1 | 2 | undefined;
}

/**
 * On Node 26 what a port says is handed on only when something else wakes the process: measured on a pseudo-terminal,
 * seven lines 0.3 s apart came together with the eighth, and with a beat of 20 ms each within 5 ms. Node 20 needs no beat.
 * A frame of Modbus has to be answered within some tens of milliseconds, so no slower one will do.
 */
const WAKE_EACH_MS = 10;
/** An unplugged port is told of within 2 s (requirement C9). */
const LOOK_EACH_MS = 1000;

/** @param byIdDir where the ports that are plugged in are listed, to be named where this one is not there */
export function serialWire(options: SerialPortOptions, clock: Pick<Clock, 'every'>, byIdDir = BY_ID_DIR): Wire {
  return {
    where: `${options.port} at ${options.baud} baud`,
    open: (events) => openPort(options, clock, events, byIdDir),
  };
}

/** Each try has a port object of its own, and the old one is left without listeners: nothing grows with the years. */
function openPort(
  options: SerialPortOptions,
  clock: Pick<Clock, 'every'>,
  events: WireEvents,
  byIdDir: string,
): OpenWire {
  const { port: path, baud: baudRate, parity = 'none', stopBits = 1 } = options;
  const port = new SerialPort({ path, baudRate, parity, stopBits, autoOpen: false });
  const beat = setInterval(() => {}, WAKE_EACH_MS);
  let openDevice: string | undefined;
  let isClosing = false;
  let isForgotten = false;
  let whenForgotten: (() => void) | undefined;

  // Node ends the process over an 'error' that nobody hears. What it tells, 'close' tells too.
  port.on('error', () => {});
  port.on('data', (bytes: Uint8Array) => {
    if (!isClosing) events.bytes(bytes);
  });
  port.once('close', () => forget(`${path} was unplugged. Push its plug in again; it is tried again by itself.`));
  port.open((error) => {
    if (error !== null) forget(whyNotOpened(path, error, byIdDir));
    else if (isClosing) closePort();
    else {
      openDevice = deviceAt(path);
      events.opened();
    }
  });

  function forget(sentence: string): void {
    if (isForgotten) return;
    isForgotten = true;
    clearInterval(beat);
    stopLooking();
    port.removeAllListeners();
    port.on('error', () => {});
    if (!isClosing) events.gone(sentence);
    whenForgotten?.();
  }

  function closePort(): void {
    port.close((error) => {
      // It vanished as it was being closed: it is closed all the same, though no 'close' follows.
      if (error) forget(`${path} has gone.`);
    });
  }

  /**
   * A port that is unplugged while a read is under way is not always reported: the library reads "no bytes" over and
   * over (about once in 500 pulls of a pseudo-terminal). So whether the device is still there is looked at as well.
   */
  const stopLooking = clock.every(LOOK_EACH_MS, () => {
    if (port.isOpen && !port.closing && openDevice !== undefined && deviceAt(path) !== openDevice) closePort();
  });

  return {
    write(bytes) {
      if (port.isOpen && !port.closing) port.write(bytes);
    },
    async close() {
      isClosing = true;
      if (isForgotten) return;
      await new Promise<void>((resolve) => {
        whenForgotten = resolve;
        // One that is still being opened is closed as soon as it is open.
        if (port.isOpen && !port.closing) closePort();
      });
    },
  };
}

/** Tells a device from one that was plugged in later under the same name; undefined where there is none. */
function deviceAt(port: string): string | undefined {
  const stats = statSync(port, { throwIfNoEntry: false });
  return stats === undefined ? undefined : `${stats.dev}:${stats.ino}:${stats.rdev}`;
}
